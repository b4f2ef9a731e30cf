"""Code profiles: one published edition's values and tables, read from a folder of data.

A profile is a folder with ``profile.toml`` and one CSV file per table. Those shipped are in ``templates/profiles``;
dropping a folder in there, or naming a path, adds one. A correction is a new folder, never an edit.
"""

from __future__ import annotations

import hashlib
import math
import tomllib
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

from workbook_builder.language import profile_rules
from workbook_builder.language.errors import Problem, ProfileError, WorkbookBuilderError
from workbook_builder.language.inputs import Constant
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.names import fault
from workbook_builder.language.sources import Citation, cite, cited, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table, text_of
from workbook_builder.language.texts import writable
from workbook_builder.language.units import UNITS

FOLDER = TEMPLATES / "profiles"
DEFAULT = "nec-2023"
LONGEST_TITLE = 120


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

    @cached_property
    def fingerprint(self) -> str:
        """Twelve signs that stand for this profile and its figures: another figure anywhere gives others."""
        figures: list[Any] = [self.key, self.edition]
        figures += [(value.name, value.value, value.unit) for value in self.values]
        figures += [(table.name, column.name, column.unit, column.values) for table in self.tables for column in table.columns]
        return hashlib.sha256(repr(figures).encode()).hexdigest()[:12]

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
        data = tomllib.loads(text_of(file))
    except (ValueError, RecursionError) as error:
        raise ProfileError([Problem(f"{folder.name}/profile.toml", "is not TOML", str(error))]) from error
    problems: list[Problem] = []
    sections = {section: _section(folder.name, data, section, problems) for section in ("values", "tables", "clauses")}
    values = [_value(folder.name, name, entry, problems) for name, entry in sections["values"].items()]
    tables = [_table(folder, name, entry, problems) for name, entry in sections["tables"].items()]
    clauses = [_clause(folder.name, key, entry, problems) for key, entry in sections["clauses"].items()]
    for word in ("title", "edition", "note"):
        if not isinstance(data.get(word), str):
            problems.append(Problem(f"{folder.name}/profile.toml", f"has no {word}", accepted="a text"))
        elif writable(data[word]) != data[word]:
            problems.append(Problem(f"{folder.name}/profile.toml, {word}", "holds signs that no cell can hold", repr(data[word])[:60]))
    if len(str(data.get("title", ""))) > LONGEST_TITLE:  # it stands in the footer of each page
        fault, accepted = "is too long", f"at most {LONGEST_TITLE} signs"
        problems.append(Problem(f"{folder.name}/profile.toml, title", fault, f"{len(data['title'])} signs", accepted))
    given = [value for value in values if value], [table for table in tables if table]
    problems += profile_rules.faults(folder.name, *given, set(sections["clauses"]), {*sections["values"], *sections["tables"]})
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


def _section(place: str, data: dict[str, Any], section: str, problems: list[Problem]) -> dict[str, dict[str, Any]]:
    """Return a section of the file: tables by their names; in each, whatever is written of it is a text, but for its value."""
    found = data.get(section, {})
    where = f"{place}/profile.toml [{section}]"
    if not isinstance(found, dict):
        problems.append(Problem(where, "is not a section", type(found).__name__, f"[{section}.name] and lines below it"))
        return {}
    entries = {}
    for name, entry in found.items():
        if not isinstance(entry, dict):
            problems.append(Problem(f"{where} {name}", "is not a section", type(entry).__name__, f"[{section}.{name}] and lines below it"))
            continue
        strange = [key for key, said in entry.items() if key != "value" and not isinstance(said, str)]
        problems += [Problem(f"{where} {name}, {key}", "is not a text", repr(entry[key])[:60], "a text in quotes") for key in strange]
        unwritable = [key for key, said in entry.items() if isinstance(said, str) and writable(said) != said]
        problems += [Problem(f"{where} {name}, {key}", "holds signs that no cell can hold", repr(entry[key])[:60]) for key in unwritable]
        strange += unwritable
        if not strange:
            entries[name] = entry
    return entries


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
