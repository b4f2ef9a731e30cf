"""A fault put into a formula is noticed by some design, or is of a kind that changes nothing, for a reason that is tested."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.aimed import Aim, aims, at_its_limits, solved, turned
from tests.equal_faults import KINDS, kind_of
from tests.faulty import FaultyBook, Twin, declared, faults
from tests.faulty_designs import OTHER_PROFILE, PROFILE, broad, further, of_another_code, special
from tests.roof import every_case
from tests.support import model, whole_example


class Tried(NamedTuple):
    """What became of the faults: those that no design shows, and those that one shows in this profile."""

    left: tuple[Twin, ...]
    shown: tuple[Twin, ...]


def half(number: int) -> list[Twin]:
    """Every second formula's faults."""
    kinds = list(dict.fromkeys(kind for kind, _ in faults(PROFILE)))
    mine = set(kinds[number::2])
    return [twin for twin in faults(PROFILE) if twin[0] in mine]


@pytest.fixture(scope="module", params=(0, 1), ids=("first half", "second half"))
def tried(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Tried:
    mine, folder = half(request.param), tmp_path_factory.mktemp("mutation")
    first = FaultyBook(folder / "all.xlsx", PROFILE, mine, 2).try_all(broad())
    # what is left is put into more cells of each loop
    second = FaultyBook(folder / "left.xlsx", PROFILE, first.alive).try_all(further())
    second.try_all(aimed(second))
    shown = tuple(twin for twin in mine if twin not in second.alive)
    other = FaultyBook(folder / "other.xlsx", OTHER_PROFILE, second.alive).try_all(of_another_code())
    alive = [twin for twin in second.alive if twin in other.alive or twin not in faults(OTHER_PROFILE)]
    # in what order a list is searched each program decides in its own way
    in_calc = FaultyBook(folder / "calc.xlsx", PROFILE, unexplained(alive), program="libreoffice").try_all(broad())
    return Tried(tuple(twin for twin in alive if kind_of(twin) or twin in in_calc.alive), shown)


def unexplained(twins: Iterator[Twin] | list[Twin]) -> list[Twin]:
    return [twin for twin in twins if not kind_of(twin)]


@cache
def bases() -> tuple[dict[str, Any], ...]:
    """Designs from which aimed ones differ in one entry."""
    roof = [every_case()[name] for name in ("bulk", "idle", "backward", "dark", "the example", "true RMS", "MPPT limiting", "full")]
    parts = ("MPPT", "a module with more volts", "a hot box", "much compensation in the cold")
    return (*roof, whole_example(), *(special()[name] for name in parts))


def aimed(book: FaultyBook) -> Iterator[dict[str, Any]]:
    """Designs for the faults that are left, as long as they are: first for comparisons, then for entries, then for words."""
    for base in bases():
        yield from at_ties(book, base, 1)
    for base in bases():
        yield from at_ties(book, base, 6)
    yield from at_limits(book)
    for base in (whole_example(), every_case()["full"]):
        yield from turned_otherwise(book, base)


def at_ties(book: FaultyBook, base: dict[str, Any], each: int) -> Iterator[dict[str, Any]]:
    wanted: dict[Aim, list[Twin]] = defaultdict(list)
    for twin in unexplained(list(book.alive)):
        for one in faults(PROFILE)[twin][:3]:
            for aim in aims(PROFILE, declared(PROFILE)[one.key], one) if one.key in declared(PROFILE) else ():
                wanted[aim].append(twin)
    for aim, design in solved(PROFILE, base, list(wanted), each):
        if any(twin in book.alive for twin in wanted[aim]):
            yield design


def at_limits(book: FaultyBook) -> Iterator[dict[str, Any]]:
    numbers = {entry.name for entry in model(PROFILE).inputs if entry.kind == "number"}
    for twin in unexplained(list(book.alive)):
        names = dict.fromkeys(one.key.partition("_")[2] for one in faults(PROFILE)[twin])
        for design in (one for name in names if name in numbers for one in at_its_limits(PROFILE, whole_example(), name)):
            if twin in book.alive:
                yield design


def turned_otherwise(book: FaultyBook, base: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for twin in unexplained(list(book.alive)):
        one = faults(PROFILE)[twin][0]
        for design in turned(PROFILE, declared(PROFILE)[one.key], one, base) if one.key in declared(PROFILE) else ():
            if twin in book.alive:
                yield design


def told(twins: list[Twin]) -> str:
    lines = [f"{one.place} {one.key}: {one.fault} {kind_of(twin)}" for twin in twins for one in faults(PROFILE)[twin][:1]]
    return f"{len(twins)} of {len(faults(PROFILE))} faults:\n" + "\n".join(lines)


def test_every_fault_is_noticed_or_of_a_kind_that_changes_nothing(tried: Tried) -> None:
    unseen = unexplained(list(tried.left))
    assert not unseen, told(unseen)


def test_no_kind_would_excuse_a_fault_that_a_design_shows(tried: Tried) -> None:
    excused = [twin for twin in tried.shown if kind_of(twin)]
    assert not excused, told(excused)
