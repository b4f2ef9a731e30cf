"""A fault put into a formula is noticed by some design, or is of a kind that changes nothing, for a reason that is tested."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

from tests.aimed import Aim, aims, at_its_limits, solved, turned
from tests.changed import former_formulas
from tests.equal_faults import KINDS, TIE, kind_of
from tests.equal_parts import worked_otherwise
from tests.faulty import FaultyBook, Twin, declared, faults
from tests.faulty_designs import OTHER_PROFILE, PROFILE, broad, further, of_another_code, special
from tests.roof import every_case
from tests.support import model, whole_example


class Tried(NamedTuple):
    """What became of the faults: those that no design shows, and those that one shows in this profile."""

    left: tuple[Twin, ...]
    shown: tuple[Twin, ...]


def new_faults() -> list[Twin]:
    """The faults of those formulas that are not as they were at an earlier revision (see changed.py)."""
    former = former_formulas(PROFILE)
    return [twin for twin, ones in faults(PROFILE).items() if any(former.get(one.key) != one.sound for one in ones)]


def tried(mine: list[Twin], folder: Path) -> Tried:
    """Try faults in many designs, then in those aimed at what is left, then under another code and in another program."""
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


def unexplained(twins: Iterable[Twin]) -> list[Twin]:
    return [twin for twin in twins if not kind_of(twin)]


@cache
def bases() -> dict[str, dict[str, Any]]:
    """Designs from which aimed ones differ in one entry."""
    names = ("bulk", "idle", "backward", "dark", "the example", "MPPT limiting")
    parts = ("MPPT", "a module with more volts", "a hot box", "much compensation in the cold")
    return {name: every_case()[name] for name in names} | {name: special()[name] for name in parts}


def aimed(book: FaultyBook) -> Iterator[dict[str, Any]]:
    """Designs for the faults that are left, as long as they are: first for comparisons, then for entries, then for words."""
    for base in bases().values():
        yield from at_ties(book, base, ("", TIE), 1)
    for name in ("bulk", "MPPT limiting"):
        yield from at_ties(book, bases()[name], ("",), 6)
    yield from at_limits(book)
    yield from turned_otherwise(book, whole_example())


def at_ties(book: FaultyBook, base: dict[str, Any], kinds: tuple[str, ...], each: int) -> Iterator[dict[str, Any]]:
    """The base with one of a few entries changed, so that two sides of a comparison that is left are equal."""
    wanted: dict[Aim, list[Twin]] = defaultdict(list)
    for twin in (twin for twin in book.alive if kind_of(twin) in kinds):
        for one in faults(PROFILE)[twin][:3]:
            for aim in aims(PROFILE, declared(PROFILE)[one.key], one) if one.key in declared(PROFILE) else ():
                wanted[aim].append(twin)
    for aim, design in solved(PROFILE, base, list(wanted), each):
        if any(twin in book.alive for twin in wanted[aim]):
            yield design


def at_limits(book: FaultyBook) -> Iterator[dict[str, Any]]:
    """Entries of which a fault is left, on and beside their limits."""
    numbers = {entry.name for entry in model(PROFILE).inputs if entry.kind == "number"}
    for twin in unexplained(book.alive):
        names = dict.fromkeys(one.key.partition("_")[2] for one in faults(PROFILE)[twin])
        for design in (one for name in names if name in numbers for one in at_its_limits(PROFILE, whole_example(), name)):
            if twin in book.alive:
                yield design


def turned_otherwise(book: FaultyBook, base: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The base with one entry blank or chosen otherwise, of those on which a fault that is left rests."""
    for twin in unexplained(book.alive):
        one = faults(PROFILE)[twin][0]
        for design in turned(PROFILE, declared(PROFILE)[one.key], one, base) if one.key in declared(PROFILE) else ():
            if twin in book.alive:
                yield design


def told(twins: list[Twin]) -> str:
    lines = [f"{one.place} {one.key}: {one.fault} {kind_of(twin)}" for twin in twins for one in faults(PROFILE)[twin][:1]]
    return f"{len(twins)} of {len(faults(PROFILE))} faults:\n" + "\n".join(lines)


def test_every_fault_is_noticed_or_of_a_kind_that_changes_nothing() -> None:
    """Nor would a kind excuse a fault that a design shows: in one test, since the trials are made once."""
    mine = new_faults()
    with TemporaryDirectory() as folder:
        left, shown = tried(mine, Path(folder))
    unseen = unexplained(left)
    assert not unseen, told(unseen)
    # but for ties, at each of which designs are aimed
    excused = [twin for twin in shown if kind_of(twin) not in ("", TIE)]
    assert not excused, f"noticed, and yet of a kind: {told(excused)}"
    # what the kinds are judged by: the formulas as they are worked beside the programs
    one_of_each = {twin[0]: twin for twin in mine}.values()
    wrong = [twin for twin in one_of_each if worked_otherwise(faults(PROFILE)[twin][0])]
    assert not wrong, f"worked otherwise than by the reference: {told(wrong)}"
    assert former_formulas(PROFILE) or {kind_of(twin) for twin in faults(PROFILE)} - {""} == set(KINDS)
