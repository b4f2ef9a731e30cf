"""The defined names of a workbook that came back, and what happened to those of its entry cells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from workbook_builder.file.areas import Area, area_of
from workbook_builder.file.findings import SHOWN, Finding
from workbook_builder.file.markup import Book, DefinedName


class Names:
    """The defined names of a book: where each leads, by its name in small letters; spreadsheets tell no capitals apart."""

    def __init__(self, book: Book) -> None:
        self.all: dict[str, list[DefinedName]] = {}
        for one in book.names:
            self.all.setdefault(one.name.lower(), []).append(one)
        self.areas: dict[str, Area] = {}
        for name, given in self.all.items():
            area = area_of(given[0].text)
            if area is not None and area.sheet in book.sheets:
                self.areas[name] = area

    def entries(self) -> Iterator[Area]:
        """Yield where the names of entry cells lead, if to single cells."""
        for name, area in self.areas.items():
            if is_entry(name) and area.single:
                yield area


def is_entry(name: str) -> bool:
    """Whether a name is that of an entry cell."""
    return name.startswith("entry_") and name != "entry_column"


def of_names(named: Names, keyed: Mapping[str, Area], known: list[str]) -> Iterator[Finding]:
    """Yield where the name of an entry is not what it was: missing, doubled, elsewhere, or leading to what is no cell."""
    inputs = set(known)
    leads: dict[Area, str] = {}
    for name in known:
        given, place = named.all.get(f"entry_{name}", []), keyed.get(name)
        expected = place.where if place else ""
        finding = _of_a_name(name, given, place, expected)
        if finding is not None:
            yield finding
        area = area_of(given[0].text) if given else None
        if area is not None and area in leads:
            yield Finding("name-shared", area.where, f"entry_{name} alone", f"entry_{leads[area]} as well")
        elif area is not None:
            leads[area] = name
    for name in sorted(named.all):
        if is_entry(name) and name.removeprefix("entry_") not in inputs:
            yield Finding("name-unknown", name[:SHOWN], "", named.all[name][0].text[:SHOWN])


def _of_a_name(name: str, given: list[DefinedName], place: Area | None, expected: str) -> Finding | None:
    if not given:
        return Finding("name-missing", f"entry_{name}", expected)
    text = given[0].text[:SHOWN]
    if len(given) > 1:
        return Finding("name-doubled", f"entry_{name}", expected, ", ".join(one.text[:SHOWN] for one in given[:3]))
    if given[0].scope:
        return Finding("name-of-one-sheet", f"entry_{name}", expected, text)
    area = area_of(given[0].text)
    if area is None:
        return Finding("name-broken", f"entry_{name}", expected, text)
    if not area.single:
        return Finding("name-of-a-range", f"entry_{name}", expected, area.where)
    if place is None or area == place:
        return None
    return Finding("name-moved" if area.sheet == place.sheet else "name-on-another-sheet", f"entry_{name}", expected, area.where)
