"""Code profiles: one published edition's values and tables, read from a folder of data.

A profile is a folder with ``profile.toml`` and one CSV file per table. Those shipped are in ``templates/profiles``;
dropping a folder in there, or naming a path, adds one. A correction is a new folder, never an edit.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbook_builder.language.errors import Problem, ProfileError, WorkbookBuilderError
from workbook_builder.language.inputs import Constant
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.names import fault
from workbook_builder.language.sources import Citation, cite, cited, common_practice, own_rule
from workbook_builder.language.tables import Table, ascending_faults, read_table
from workbook_builder.language.units import UNITS

FOLDER = TEMPLATES / "profiles"
DEFAULT = "nec-2023"
PLACES = ("dwelling", "other building", "not on a building")
# duties by voltage, current and place: the questions are the same in every profile, what each code asks is in its own table
DUTIES = read_table(
    TEMPLATES / "duties.csv",
    "duty_questions",
    "If a duty of the code is not met",
    own_rule("hazard and nearest change of each duty"),
    "Rows in the order of the questions on the sheet Entries.",
)
DUTY_KEYS = tuple(str(key) for key in DUTIES.column("key").values)
DUTY_PLACES = ("everywhere", "on a building", "inside a building", "dwelling", "nowhere")


@dataclass(frozen=True)
class Clause:
    """Where a code edition says what a declaration cites by this key."""

    key: str
    source: Citation


@dataclass(frozen=True)
class Profile:
    """The rules of one code edition."""

    key: str
    title: str
    edition: str
    note: str
    values: tuple[Constant, ...]
    tables: tuple[Table, ...]
    clauses: tuple[Clause, ...]

    def sources(self) -> dict[str, Citation]:
        """Return what declarations may name as their source: the values, tables and clauses, by their names, with their citations."""
        found = {value.name: cited(value.source) for value in self.values}
        found |= {table.name: table.source for table in self.tables}
        return found | {clause.key: clause.source for clause in self.clauses}


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
    return _read(profile_folder(key_or_path).resolve())


def profile_folder(key_or_path: str | Path) -> Path:
    """Return the folder of a profile by its key, or the folder at a path.

    Raises
    ------
    ProfileError
        if there is no such profile.

    """
    if str(key_or_path) in built_in():
        return FOLDER / str(key_or_path)
    folder = Path(key_or_path)
    if not (folder / "profile.toml").is_file():
        accepted = f"{', '.join(built_in())}, or a folder that holds profile.toml"
        raise ProfileError([Problem("profile", "there is no such profile", str(key_or_path), accepted)])
    return folder


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
    clauses = [_clause(folder.name, key, entry, problems) for key, entry in data.get("clauses", {}).items()]
    for word in ("title", "edition", "note"):
        if not isinstance(data.get(word), str):
            problems.append(Problem(f"{folder.name}/profile.toml", f"has no {word}", accepted="a text"))
    problems += _missing(folder.name, {value.name for value in values if value}, [table for table in tables if table])
    problems += _missing_clauses(folder.name, set(data.get("clauses", {})), set(data.get("values", {})) | set(data.get("tables", {})))
    if problems:
        raise ProfileError(problems)
    return Profile(
        folder.name,
        data["title"],
        data["edition"],
        data["note"],
        tuple(value for value in values if value),
        tuple(table for table in tables if table),
        tuple(clause for clause in clauses if clause),
    )


def _value(place: str, name: str, entry: dict[str, Any], problems: list[Problem]) -> Constant | None:
    where = f"{place}/profile.toml [values.{name}]"
    missing = [key for key in ("value", "unit", "label", "mark") if key not in entry]
    found = [Problem(where, f"has no {key}", accepted="value, unit, label, mark, source, clause") for key in missing]
    if fault(name):
        found.append(Problem(where, "is not a name", name, advice=fault(name)))
    value = entry.get("value", 0.0)
    if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value):
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
        except ProfileError as error:
            found += error.problems
    problems += found
    return table


def _clause(place: str, key: str, entry: dict[str, Any], problems: list[Problem]) -> Clause | None:
    where = f"{place}/profile.toml [clauses.{key}]"
    found = [Problem(where, f"has no {part}", accepted="source, clause, mark") for part in ("clause", "mark") if part not in entry]
    source = _citation(where, entry, found)
    problems += found
    return None if found or source is None else Clause(key, source)


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
    "code_current_factor",
    "code_continuous_factor",
    "code_conductor_t",
    "code_conductor_alpha",
    "code_terminal_t",
    "code_string_free",
    "code_string_current",
    "code_string_rating",
    "code_fuse_low",
    "code_fuse_high",
    "code_battery_fuse",
    "code_string_device",
    "code_earth_by_area",
}
# table → its columns (a star marks texts), the first one ascending where it is a number that steps
REQUIRED_TABLES = {
    "voltage_correction": ("t_min", "factor"),
    "voltage_limit": ("place*", "limit"),
    "conductors": ("size*", "area", "ohm_km"),
    "ampacity": ("key*", "amps"),
    "ambient_bands": ("t_to",),
    "ambient_factors": ("key*", "factor"),
    "grouping": ("conductors_to", "factor"),
    "insulations": ("name*", "t_rated"),
    "small_conductors": ("size*", "amps"),
    "standard_ratings": ("amps",),
    "thresholds": ("volts", "rule*", "clause*"),
    "earth_conductors": ("up_to", "size*"),
    "duties": ("key*", "volts", "amps", "place*", "rule*"),
}
ASCENDING = {"insulations": "t_rated"}


# what declarations cite by a key of their own; values and tables above carry their clauses with them
REQUIRED_CLAUSES = {
    "cold_voltage",
    "voltage_method",
    "voltage_by_coefficient",
    "voltage_rating",
    "maker_instructions",
    "array_current",
    "conductor_ampacity",
    "overcurrent",
    "roof_heat",
    *(f"duty_{key}" for key in DUTY_KEYS),
}


def _missing_clauses(place: str, clauses: set[str], others: set[str]) -> list[Problem]:
    where = f"{place}/profile.toml"
    found = [Problem(where, "lacks a clause", key, "every profile gives it") for key in sorted(REQUIRED_CLAUSES - clauses)]
    return found + [Problem(where, "a clause has the name of a value or table", key) for key in sorted(clauses & others)]


def _missing(place: str, values: set[str], tables: list[Table]) -> list[Problem]:
    where, known = f"{place}/profile.toml", {table.name: table for table in tables}
    lacking = sorted(REQUIRED_VALUES - values) + [name for name in REQUIRED_TABLES if name not in known]
    found = [Problem(where, "lacks a value or table", name, "every profile gives it") for name in lacking]
    for name, columns in REQUIRED_TABLES.items():
        if name in known:
            found += _column_faults(place, known[name], columns)
    places = {str(value) for table in tables if table.name == "voltage_limit" for value in table.columns[0].values}
    if "voltage_limit" in known and not found:
        found += [
            Problem(f"{place}/voltage_limit.csv", "lacks a row", option, ", ".join(PLACES)) for option in PLACES if option not in places
        ]
    return found + (_duty_faults(place, known["duties"]) if "duties" in known and not found else [])


def _duty_faults(place: str, duties: Table) -> list[Problem]:
    where = f"{place}/duties.csv"
    keys = tuple(str(key) for key in duties.column("key").values)
    found = [] if keys == DUTY_KEYS else [Problem(where, "has other rows than it should", ", ".join(keys), ", ".join(DUTY_KEYS))]
    strange = [str(one) for one in duties.column("place").values if one not in DUTY_PLACES]
    return found + [Problem(where, "names a place that is not known", one, ", ".join(DUTY_PLACES)) for one in strange]


def _column_faults(place: str, table: Table, wanted: tuple[str, ...]) -> list[Problem]:
    where = f"{place}/{table.name}.csv"
    expected = tuple(column.rstrip("*") for column in wanted)
    names = tuple(column.name for column in table.columns)
    if names != expected:
        return [Problem(where, "has other columns than it should", ", ".join(names), ", ".join(expected))]
    found = []
    for column, name in zip(table.columns, wanted, strict=True):
        if column.unit not in UNITS:
            found.append(Problem(f"{where}, column {column.name}", "unknown unit", column.unit, ", ".join(u for u in UNITS if u)))
        if not name.endswith("*"):
            bad = [str(value) for value in column.values if isinstance(value, str) or not math.isfinite(value)]
            found += [Problem(f"{where}, column {column.name}", "is not a number", value, "plain numbers") for value in bad]
    stepped = ASCENDING.get(table.name, "" if wanted[0].endswith("*") else expected[0])
    return found + (ascending_faults(table, stepped) if stepped else [])
