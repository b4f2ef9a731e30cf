"""Code profiles: one published edition's values and tables, read from a folder of data.

A profile is a folder with ``profile.toml`` and one CSV file per table. Those shipped are in ``templates/profiles``;
dropping a folder in there, or naming a path, adds one. A correction is a new folder, never an edit.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbook_builder.declare import Constant
from workbook_builder.errors import Problem, ProfileError, WorkbookBuilderError
from workbook_builder.locations import TEMPLATES
from workbook_builder.names import fault
from workbook_builder.sources import Citation, cite, common_practice, own_rule
from workbook_builder.tables import Table, ascending_faults, read_table
from workbook_builder.units import UNITS

FOLDER = TEMPLATES / "profiles"
DEFAULT = "nec-2023"


@dataclass(frozen=True)
class Profile:
    """The rules of one code edition."""

    key: str
    title: str
    edition: str
    note: str
    values: tuple[Constant, ...]
    tables: tuple[Table, ...]

    def source_of(self, name: str) -> Citation:
        """Return the citation of one of this profile's values or tables, by its name."""
        found: dict[str, Citation] = {value.name: value.source for value in self.values}
        found |= {table.name: table.source for table in self.tables}
        return found[name]


def built_in() -> list[str]:
    """Return the keys of the profiles that come with the project."""
    return sorted(folder.name for folder in FOLDER.iterdir() if (folder / "profile.toml").is_file())


def load_profile(key_or_path: str | Path) -> Profile:
    """Return a profile by its key, or from the folder at a path.

    Raises
    ------
    ProfileError
        listing every problem of the folder, or the profiles there are if there is no such one.

    """
    folder = FOLDER / str(key_or_path)
    if str(key_or_path) not in built_in():
        folder = Path(key_or_path)
        if not (folder / "profile.toml").is_file():
            accepted = f"{', '.join(built_in())}, or a folder that holds profile.toml"
            raise ProfileError([Problem("profile", "there is no such profile", str(key_or_path), accepted)])
    return _read(folder.resolve())


@lru_cache(maxsize=8)
def _read(folder: Path) -> Profile:
    file = folder / "profile.toml"
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ProfileError([Problem(f"{folder.name}/profile.toml", "is not TOML", str(error))]) from error
    problems: list[Problem] = []
    values = [_value(folder.name, name, entry, problems) for name, entry in data.get("values", {}).items()]
    tables = [_table(folder, name, entry, problems) for name, entry in data.get("tables", {}).items()]
    for word in ("title", "edition", "note"):
        if not isinstance(data.get(word), str):
            problems.append(Problem(f"{folder.name}/profile.toml", f"has no {word}", accepted="a text"))
    problems += _missing(folder.name, {value.name for value in values if value}, {t.name for t in tables if t})
    if problems:
        raise ProfileError(problems)
    return Profile(
        folder.name, data["title"], data["edition"], data["note"],
        tuple(value for value in values if value), tuple(table for table in tables if table),
    )  # fmt: skip


def _value(place: str, name: str, entry: dict[str, Any], problems: list[Problem]) -> Constant | None:
    where = f"{place}/profile.toml [values.{name}]"
    missing = [key for key in ("value", "unit", "label", "mark") if key not in entry]
    found = [Problem(where, f"has no {key}", accepted="value, unit, label, mark, source, clause") for key in missing]
    if fault(name):
        found.append(Problem(where, "is not a name", name, advice=fault(name)))
    if not isinstance(entry.get("value", 0.0), int | float) or isinstance(entry.get("value"), bool):
        found.append(Problem(where, "is not a number", repr(entry["value"]), "a plain number"))
    if entry.get("unit", "") not in UNITS:
        found.append(Problem(where, "unknown unit", entry["unit"], ", ".join(unit for unit in UNITS if unit)))
    source = _citation(where, entry, found)
    problems += found
    if found or source is None:
        return None
    return Constant(name, entry["label"], entry.get("symbol", ""), float(entry["value"]), entry["unit"], source)


def _table(folder: Path, name: str, entry: dict[str, Any], problems: list[Problem]) -> Table | None:
    where = f"{folder.name}/profile.toml [tables.{name}]"
    found: list[Problem] = []
    source = _citation(where, entry, found)
    path = folder / entry.get("file", f"{name}.csv")
    if not path.is_file():
        found.append(Problem(where, "its file is not there", path.name, "a CSV file in the same folder"))
    table = None
    if not found and source is not None:
        try:
            table = read_table(path, name, entry.get("title", name), source, entry.get("note", ""))
            found += ascending_faults(table, entry["ascending"]) if "ascending" in entry else []
        except ProfileError as error:
            found += error.problems
    problems += found
    return table


def _citation(where: str, entry: dict[str, Any], found: list[Problem]) -> Citation | None:
    mark = entry.get("mark", "")
    try:
        if mark == "common practice":
            return common_practice(entry.get("clause", ""))
        if mark == "rule of this workbook":
            return own_rule(entry.get("clause", ""))
        return cite(entry.get("source", ""), entry.get("clause", ""), mark)
    except WorkbookBuilderError as error:
        found += [Problem(where, problem.fault, problem.got, problem.accepted) for problem in error.problems]
        return None


# what every profile must give, so that a formula never meets a hole
REQUIRED_VALUES = {
    "code_current_factor", "code_continuous_factor", "code_conductor_t", "code_conductor_alpha", "code_terminal_t",
    "code_string_free", "code_string_current", "code_string_rating", "code_fuse_low", "code_fuse_high", "code_battery_fuse",
}  # fmt: skip
REQUIRED_TABLES = {
    "voltage_correction", "voltage_limit", "conductors", "ampacity", "ambient_bands", "ambient_factors", "grouping",
    "insulations", "small_conductors", "standard_ratings", "thresholds",
}  # fmt: skip


def _missing(place: str, values: set[str], tables: set[str]) -> list[Problem]:
    lacking = sorted(REQUIRED_VALUES - values) + sorted(REQUIRED_TABLES - tables)
    return [Problem(f"{place}/profile.toml", "lacks a value or table", name, "every profile gives it") for name in lacking]
