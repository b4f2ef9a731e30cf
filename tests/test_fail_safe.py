"""Whatever is typed: no error value anywhere, never a PASS on a rejected or missing entry, and a status that says why."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from zlib import crc32

import numpy as np
import pytest

from tests.answers import Answers, resting_on
from tests.compared import differences, differences_in, places
from tests.engines import Book, Engine, Entry, engine
from tests.strategies import TIMES, Case, as_entries, junk_for, shown, spellings
from tests.support import evaluation, model, whole_example, write_stale
from workbook_builder.evaluation.entries import ECHOES
from workbook_builder.language.inputs import OPTIONAL, REQUIRED, Input

VERDICTS = {"PASS", "PASS WITH NOTES", "FAIL", "INCOMPLETE"}
ACCEPTED = {"entered", "default"}
# of the entry tables the first and the last row: the rows between are built in the same loop
EDGE_ROWS = {item for table in model().entry_tables for item, _ in (table.items[0], table.items[-1])}
INPUTS = {entry.name: entry for entry in model().inputs if not entry.table or entry.name.partition("_")[0] in EDGE_ROWS}
MANY = ("libreoffice", "ironcalc")
# readings of the installed system never sway the verdict of the design: tests/test_diagnosis.py holds that they do not
OF_DESIGN = {entry.name for entry in model().design_inputs}


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_stale(tmp_path_factory.mktemp("fail_safe") / "workbook.xlsx")


@pytest.fixture(scope="module", params=MANY)
def chosen(request: pytest.FixtureRequest) -> Engine:
    return engine(request.param)


@pytest.fixture(scope="module")
def book(chosen: Engine, workbook: Path) -> Iterator[Book]:
    with chosen.open(workbook) as opened:
        yield opened


def example_with(**typed: Entry) -> Case:
    """The whole example, which passes, with something else typed."""
    return {**whole_example(), **typed}


def expected_statuses(entry: Input, typed: Entry) -> set[str]:
    """What the declaration says of a typed value; written from the requirement, not from the reader's code."""
    value = shown(entry.kind, typed)
    if value is None or value == "":
        return {"missing"} if entry.blank == REQUIRED else {"default"}
    if entry.kind == "text":
        return _expected_of_text(entry, value)
    if entry.kind == "choice":
        known = any(
            type(value) is type(option) and value.casefold() == option.casefold()
            if isinstance(option, str)
            else not isinstance(value, str | bool) and value == option
            for option in entry.options
        )
        return {"entered"} if known else {"not in the list"}
    if isinstance(value, str | bool):
        return {"not a number"}
    within = 0.5e-9  # bounds are compared after rounding to nine digits
    if not entry.low - within <= value <= entry.high + within:
        return {"out of range"}
    if entry.whole and abs(value - round(value)) > within:
        return {"out of range"}
    return {"entered", "out of range"} if entry.relations else {"entered"}


def _expected_of_text(entry: Input, value: object) -> set[str]:
    if isinstance(value, str) and value.startswith("#"):
        return {"not in the list"}
    if isinstance(value, str) and not value.strip(" \t\u00a0\u200b\ufeff"):
        return {"missing"} if entry.blank == REQUIRED else {"default"}
    return {"entered"}


# always tried; of the others each input meets some
ALWAYS = (
    "blank",
    "letters",
    "decimal comma",
    "with a unit",
    "a space",
    "negative",
    "zero",
    "huge",
    "larger than large",
    "tiny",
    "TRUE",
    "a date",
    "a date as text",
    "an error",
    "not available",
    "a formula giving text",
)
OTHERS = 1 if TIMES == 1 else 9


def _alike(entry: Input) -> tuple[object, ...]:
    return (
        entry.kind,
        entry.whole,
        str(entry.blank)[:1] == "=",
        entry.has_default,
        entry.blank == REQUIRED,
        bool(entry.relations),
        bool(entry.factor),
        bool(entry.table),
    )


REPRESENTATIVES = {entry.name for entry in {_alike(entry): entry for entry in reversed(INPUTS.values())}.values()}


def some_wrong_for(entry: Input) -> dict[str, Entry]:
    """The kinds of junk that an input meets: the others go round, so that each kind is met somewhere."""
    every, turn = everything_wrong_for(entry), list(INPUTS).index(entry.name)
    if entry.name not in REPRESENTATIVES:  # of inputs declared alike the first meets all kinds, the others go round
        return {kind: every[kind] for kind in around(list(every), turn * OTHERS, OTHERS)}
    others = [kind for kind in every if kind not in ALWAYS]
    kinds = [kind for kind in every if kind in ALWAYS] + around(others, turn * OTHERS, OTHERS)
    return {kind: every[kind] for kind in kinds}


def around(kinds: list[str], start: int, count: int) -> list[str]:
    """So many kinds from a place on, beginning again at the end of the list."""
    return [kinds[(start + step) % len(kinds)] for step in range(count)]


def everything_wrong_for(entry: Input) -> dict[str, Entry]:
    """Every kind of junk, and for a choice also near misses of its options."""
    misses = {f"spelt {value!r}": value for value in spellings(entry)} if entry.kind == "choice" else {}
    if entry.kind == "number":
        misses = {"just below": entry.low - 1e-6 - abs(entry.low) * 1e-6, "just above": entry.high * (1 + 1e-6) + 1e-6}
    return junk_for(entry) | misses


def complaints(entry: Input, typed: Entry, cells: dict[str, object]) -> list[str]:
    """Everything that an answer must not do, from the cells that a person reads."""
    status, verdict, echo = cells[f"status_{entry.name}"], cells["verdict"], str(cells[f"echo_{entry.name}"])
    found = []
    if verdict not in VERDICTS:
        found.append(f"verdict {verdict!r}")
    if status not in expected_statuses(entry, typed):
        found.append(f"status {status!r}, expected {expected_statuses(entry, typed)}")
    if entry.name in OF_DESIGN and status not in ACCEPTED and verdict not in {"INCOMPLETE", "FAIL"}:
        found.append(f"verdict {verdict!r} on an entry that is {status!r}")
    if not echo.startswith(ECHOES.get(str(status), "no such status")):
        found.append(f"echo {echo!r} does not explain {status!r}")
    if status not in ACCEPTED and cells[entry.name] not in ("", None):
        found.append(f"value used {cells[entry.name]!r} of an entry that is {status!r}")
    return found


def looked_at(entry: Input, found: Mapping[str, object], book: Book) -> dict[str, object]:
    names = [f"status_{entry.name}", f"echo_{entry.name}", entry.name, "verdict"]
    return {name: found[str(cell)] for name, cell in zip(names, book.map.cells(names), strict=True)}


@pytest.mark.parametrize("name", list(INPUTS))
def test_no_junk_in_an_entry_makes_an_error_or_a_pass(chosen: Engine, book: Book, name: str) -> None:
    entry = INPUTS[name]
    kinds = some_wrong_for(entry)
    if chosen.name == "ironcalc" and name not in REPRESENTATIVES:
        kinds = dict(list(kinds.items())[:1])  # what differs between programs lies in how entries of a kind are read
    rows = spoilt(book, [{name: typed} for typed in kinds.values()])
    wrong = []
    for (kind, typed), found in zip(kinds.items(), rows, strict=True):
        lines = complaints(entry, typed, looked_at(entry, found, book)) + unlike_the_reference(chosen, found, {name: typed})[:3]
        wrong += [f"{kind}: {line}" for line in lines]
    assert not wrong, "\n".join(wrong)


@cache
def as_it_is() -> Answers:
    """The whole example; what does not rest on an entry is worked once."""
    return Answers(evaluation(), whole_example()).worked_out()


@cache
def resting(names: tuple[str, ...]) -> dict[str, str]:
    """The formula cells that rest on some entries, with their keys; whatever is typed there, all others stay as they are."""
    keys = frozenset[str]().union(*(resting_on(evaluation(), f"entry_{name}") for name in names))
    return {place: key for place, key in places("nec-2023") if key in keys}


def spoilt(book: Book, changes: list[dict[str, Entry]]) -> list[dict[str, object]]:
    """What the cells show that rest on the same entries of the whole example, as each of the changes spoils them."""
    read = [*resting(tuple(changes[0])), *(str(cell) for cell in book.map.cells(["verdict"]))]
    return [dict(row) for row in book.recalculate_many([as_entries(example_with(**change)) for change in changes], read)]


def unlike_the_reference(chosen: Engine, found: Mapping[str, object], change: dict[str, Entry]) -> list[str]:
    """Where a cell that rests on what was changed shows an error, or not what the reference says."""
    answer = as_it_is().with_other({name: shown(INPUTS[name].kind, typed) for name, typed in change.items()}).worked_out()
    return differences_in(chosen, found, {place: answer[key] for place, key in resting(tuple(change)).items()})


@pytest.mark.parametrize("name", list(INPUTS))
def test_the_reference_refuses_junk_for_the_same_reason(name: str) -> None:
    entry, kinds = INPUTS[name], everything_wrong_for(INPUTS[name])
    typed = np.empty(len(kinds), dtype=object)
    typed[:] = [shown(entry.kind, value) for value in kinds.values()]
    answer = as_it_is().with_other({name: typed})
    wrong = []
    for kind, value, status, verdict in zip(
        kinds, kinds.values(), answer[f"status_{name}"], np.broadcast_to(answer["verdict"], len(kinds)), strict=True
    ):
        if status not in expected_statuses(entry, value):
            wrong.append(f"{kind}: status {status!r}, expected {expected_statuses(entry, value)}")
        refused = name in OF_DESIGN and status not in ACCEPTED
        if verdict not in VERDICTS or (refused and verdict not in {"INCOMPLETE", "FAIL"}):
            wrong.append(f"{kind}: verdict {verdict!r} on an entry that is {status!r}")
    assert not wrong, "\n".join(wrong)


def test_two_entries_spoilt_at_once_make_no_error_and_no_pass(chosen: Engine, book: Book) -> None:
    # by a number that rests on their names alone: a new input takes the place of few pairs and moves no others
    pairs = sorted(itertools.combinations(sorted(INPUTS), 2), key=lambda pair: crc32(" ".join(pair).encode()))[: 40 * TIMES]
    junk = {name: list(junk_for(entry).values()) for name, entry in INPUTS.items()}
    wrong = []
    for pair in pairs:
        change = {name: junk[name][crc32(f"{name} of {pair}".encode()) % len(junk[name])] for name in pair}
        found = spoilt(book, [change])[0]
        read = [looked_at(INPUTS[name], found, book) for name in pair]
        rejected = [one for name, one in zip(pair, read, strict=True) if name in OF_DESIGN and one[f"status_{name}"] not in ACCEPTED]
        if rejected and read[0]["verdict"] not in {"INCOMPLETE", "FAIL"}:
            wrong.append(f"{change}: verdict {read[0]['verdict']!r}")
        wrong += unlike_the_reference(chosen, found, change)[:3]
    assert not wrong, "\n".join(wrong[:12])


def test_an_empty_workbook_is_incomplete_and_shows_no_error(chosen: Engine, book: Book) -> None:
    found = book.formula_values({})
    assert not differences(chosen, found, {})
    assert found[str(book.map.cells(["verdict"])[0])] == "INCOMPLETE"


def test_one_required_entry_alone_missing_never_passes(book: Book) -> None:
    required = [entry.name for entry in model().inputs if entry.blank == REQUIRED]
    rows = book.recalculate_many(
        [as_entries(example_with(**{name: None})) for name in required],
        ["verdict", *(f"status_{name}" for name in required)],
    )
    for name, row in zip(required, rows, strict=True):
        assert (name, row[f"status_{name}"]) == (name, "missing")
        assert row["verdict"] in {"INCOMPLETE", "FAIL"}, name


def test_an_optional_entry_alone_missing_is_shown_as_not_given(book: Book) -> None:
    optional = [entry.name for entry in model().inputs if entry.blank == OPTIONAL]
    rows = book.recalculate_many([as_entries(example_with(**{name: None})) for name in optional], [f"echo_{name}" for name in optional])
    echoes = {name: row[f"echo_{name}"] for name, row in zip(optional, rows, strict=True)}
    assert echoes == dict.fromkeys(optional, "blank, taken as not given")
