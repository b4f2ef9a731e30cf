"""Reading a workbook that came back: what was typed, for which profile, and what was done to it. The only way into such a file.

Entries are found as the workbook itself finds them: in the row of their key. The names of the entry cells are held against
that, and what disagrees is a finding. Results in the file are not believed; its verdicts are read to be compared.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import workbook_builder
from workbook_builder.evaluation.evaluation import evaluation_for
from workbook_builder.evaluation.model import Model
from workbook_builder.file.archive import Archive
from workbook_builder.file.areas import Area
from workbook_builder.file.contents import FIGURES, LAYOUT, LINES, PROFILE, SCHEMA, SHEETS, VERDICTS, VERSION
from workbook_builder.file.entry_names import Names, is_entry, of_names
from workbook_builder.file.findings import ERROR, SHOWN, Finding
from workbook_builder.file.markup import MOST_CELLS, Book, Found, book_of, cells_of, texts_of
from workbook_builder.language.profiles import Profile, built_in, load_profile
from workbook_builder.language.texts import LONGEST

COLUMNS = ("entry_column", "key_column")
FACTS = (PROFILE, VERSION, SCHEMA, FIGURES, *VERDICTS)


@dataclass(frozen=True)
class Reading:
    """What a workbook holds: typed entries by input name, its profile, what was done to it, the verdicts stored in it."""

    inputs: dict[str, Any]
    profile: str
    findings: tuple[Finding, ...] = ()
    stored: dict[str, str] = field(default_factory=dict)

    @property
    def trusted(self) -> bool:
        """Whether nothing was found for which a design must not pass."""
        return all(finding.severity != ERROR for finding in self.findings)


def read_workbook(path: str | Path, profile: str | Path | None = None) -> Reading:
    """Read the entries of a workbook that this package wrote, whichever program saved it since.

    The workbook names its profile; only a built-in one is taken from a file. ``profile`` takes precedence.

    Raises
    ------
    WorkbookError
        if the file is no such workbook, or is not safe to open.
    ProfileError
        if there is no such profile.

    """
    file = Path(path)
    with Archive(file) as archive:
        book = book_of(archive)
        named = Names(book)
        if PROFILE not in named.areas:
            advice = "send the .xlsx file that workbook-builder wrote"
            raise archive.refused("is not a workbook of this package", f"no name {PROFILE}", advice=advice)
        needed = [name for name in named.areas if name in FACTS or is_entry(name) or name.endswith((*COLUMNS, "_entries", "_keys"))]
        for name in needed:
            if named.areas[name].size > MOST_CELLS:
                raise archive.refused("holds a name that leads to far too many cells", name[:SHOWN], f"at most {MOST_CELLS}")
        columns = list(_columns(named.areas))
        facts = {name: named.areas[name] for name in FACTS if name in named.areas}
        cells = _cells(archive, book, [*facts.values(), *(area for one in columns for area in (one.entries, one.keys)), *named.entries()])
        stated = {name: _text_of(cells.get((area.sheet, area.top, area.left))) for name, area in facts.items()}
        if profile is None and stated[PROFILE] not in built_in():
            advice = "give the folder of that profile with --profile"
            raise archive.refused("names a profile that is not built in", stated[PROFILE][:SHOWN], ", ".join(built_in()), advice)
    chosen = str(stated[PROFILE] if profile is None else profile)
    loaded = load_profile(chosen)
    model = evaluation_for(loaded).model
    known = [entry.name for entry in model.inputs]
    keyed = _by_key(columns, cells, known)
    astray = [*_missing_columns(model, columns)]
    # without its column, no entry has a key: that is one fault, and not one for each of them
    findings = [*_of_the_whole(book, stated, loaded), *(astray or keyed.findings), *of_names(named, keyed.places, known)]
    inputs, strange = _typed(named, keyed.places, cells, known)
    return Reading(inputs, chosen, (*findings, *strange), {name: stated.get(name, "") for name in VERDICTS})


class _Column(NamedTuple):
    """A column of entries and that of its keys; in a table the key of a row and the field make the name of an input."""

    name: str
    entries: Area
    keys: Area
    field: str


def _columns(areas: Mapping[str, Area]) -> Iterator[_Column]:
    """Yield the columns in which entries are typed, by the names of the workbook; those that lead astray are left out."""
    for name, area in areas.items():
        keys = field = ""
        if name.endswith("entry_column"):
            keys = f"{name.removesuffix('entry_column')}key_column"
        elif name.endswith("_entries"):
            table, _, field = name.removesuffix("_entries").partition("_")
            keys = f"{table}_keys"
        key = areas.get(keys)
        if key and (key.sheet, key.top, key.bottom) == (area.sheet, area.top, area.bottom) and area.left == area.right:
            yield _Column(name, area, key, field)


def _missing_columns(model: Model, columns: Iterable[_Column]) -> Iterator[Finding]:
    """Yield the columns of entries that are not found, or not beside their keys."""
    there = {column.name for column in columns}
    wanted = [f"{prefix}{COLUMNS[0]}" for prefix in LINES]
    wanted += [f"{table.name}_{field}_entries" for table in model.entry_tables for field, _ in table.fields]
    for name in wanted:
        if name not in there:
            yield Finding("column-missing", name)


Cells = dict[tuple[str, int, int], Found]


def _cells(archive: Archive, book: Book, areas: Iterable[Area]) -> Cells:
    """Return what stands in areas; each sheet is read once."""
    wanted: dict[str, set[tuple[int, int]]] = {}
    for area in areas:
        places = wanted.setdefault(area.sheet, set())
        places |= {(row, column) for row in range(area.top, area.bottom + 1) for column in range(area.left, area.right + 1)}
    texts = texts_of(archive, book)
    found: Cells = {}
    for sheet, places in wanted.items():
        cells = cells_of(archive, book.sheets[sheet], texts, lambda row, column, places=places: (row, column) in places)  # type: ignore[misc]
        found |= {(sheet, *place): cell for place, cell in cells.items()}
    return found


class _Keyed(NamedTuple):
    """Where each input is typed, by its key, and what is wrong with the keys."""

    places: dict[str, Area]
    findings: list[Finding]


def _by_key(columns: Iterable[_Column], cells: Cells, known: Iterable[str]) -> _Keyed:
    places: dict[str, list[Area]] = {}
    for _, entries, keys, part in columns:
        for row in range(keys.top, keys.bottom + 1):
            found = cells.get((keys.sheet, row, keys.left))
            if found is not None and isinstance(found.value, str):
                name = f"{found.value}_{part}" if part else found.value
                places.setdefault(name.lower(), []).append(Area(entries.sheet, row, entries.left, row, entries.left))
    findings = []
    for name in known:
        there = places.get(name, [])
        if not there:
            findings.append(Finding("key-missing", name))
        elif len(there) > 1:
            findings.append(Finding("key-doubled", there[1].where, name))
    return _Keyed({name: places[name][0] for name in known if name in places}, findings)


def _of_the_whole(book: Book, stated: Mapping[str, str], profile: Profile) -> Iterator[Finding]:
    """Yield what is found of the sheets, and of the rules by which the workbook was made."""
    for sheet in SHEETS:
        if sheet not in book.sheets:
            yield Finding("sheet-missing", sheet)
    for sheet in book.sheets:
        if sheet not in SHEETS:
            yield Finding("sheet-added", sheet[:SHOWN])
    if stated.get(SCHEMA) != LAYOUT:
        yield Finding("other-layout", SCHEMA, LAYOUT, stated.get(SCHEMA, "none")[:SHOWN])
    if stated.get(FIGURES) != profile.fingerprint:
        yield Finding("other-figures", FIGURES, profile.fingerprint, stated.get(FIGURES, "none")[:SHOWN])
    if stated.get(VERSION) != workbook_builder.__version__:
        yield Finding("other-version", VERSION, workbook_builder.__version__, stated.get(VERSION, "none")[:SHOWN])
    if not any(stated.get(name) for name in VERDICTS):
        yield Finding("not-calculated", ", ".join(VERDICTS))


def _typed(named: Names, keyed: Mapping[str, Area], cells: Cells, known: list[str]) -> tuple[dict[str, Any], list[Finding]]:
    """Return what is typed, by input, and what of it is no plain figure or text."""
    inputs: dict[str, Any] = {}
    findings = []
    for name in known:
        area = keyed.get(name) or named.areas.get(f"entry_{name}")
        found = cells.get((area.sheet, area.top, area.left)) if area else None
        if area is None or found is None:
            continue
        inputs[name] = found.value
        if found.formula is not None:
            inputs[name] = f"={found.formula}" if found.formula else "=a formula that other cells share"
            findings.append(Finding("formula-in-entry", area.where, "a figure", inputs[name][:SHOWN]))
        elif isinstance(found.value, str) and len(found.value) > LONGEST:
            inputs[name] = found.value[:LONGEST]
            findings.append(Finding("text-too-long", area.where, f"at most {LONGEST} signs"))
    return inputs, findings


def _text_of(found: Found | None) -> str:
    return "" if found is None or found.value is None else str(found.value)
