"""Designs drawn from the declarations of the model, on purpose where mistakes live.

A case maps input names to what is typed into their cells. Whole batches come from a seed: plausible designs, some
moved onto bounds, edges of table rows and exact ties, some blank or junk. Single cases come from hypothesis, which
also shrinks them.
"""

from __future__ import annotations

import math
import os
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple, TypeVar
from zlib import crc32

import numpy as np
from hypothesis import strategies as st

from tests.answers import Answers
from tests.engines import Entry, Formula
from tests.support import evaluation, example_inputs, model
from workbook_builder.evaluation.evaluation import Evaluation
from workbook_builder.evaluation.model import Model
from workbook_builder.language.inputs import REQUIRED, Input

Case = dict[str, Entry]

PROFILES = ("nec-2023", "nec-2020", "iec-62548", "iec-60364-7-712")
# so many times more is drawn in a thorough run, which takes an hour: bash tests/run thorough
TIMES = 10 if os.environ.get("WORKBOOK_TESTS") == "thorough" else 1
T = TypeVar("T")


def some(whole: Sequence[T], of: int) -> Sequence[T]:
    """One of so many; in a thorough run all."""
    return whole if TIMES > 1 else whole[::of]


NUDGES = (0.0, 1e-10, -1e-10, 1e-6, -1e-6)
# what a formula typed by a person shows, as the reference is told of it
SHOWN: dict[str, Any] = {
    "=1/0": "#DIV/0!",
    "=NA()": "#N/A",
    '="abc"': "abc",
    '="18"': "18",
    "=9*2": 18.0,
    '=""': "",
    "=1=1": True,
}
JUNK: dict[str, Entry] = {
    "blank": None,
    "letters": "abc",
    "decimal comma": "18,2",
    "with a unit": "18 V",
    "digits as text": "18",
    "a space": " ",
    "spaces": "   ",
    "a tab": "\t",
    "a hard space": "\u00a0",
    "a space of no width": "\u200b",
    "negative": -1.0,
    "zero": 0.0,
    "huge": 1e9,
    "larger than large": 1e308,
    "large negative": -1e308,
    "tiny": 1e-9,
    "less than tiny": 1e-300,
    "TRUE": True,
    "FALSE": False,
    "a date": 46024.0,
    "a date as text": "2026-01-02",
    "an error": Formula("=1/0"),
    "not available": Formula("=NA()"),
    "a formula giving text": Formula('="abc"'),
    "a formula giving digits as text": Formula('="18"'),
    "a formula giving a number": Formula("=9*2"),
    "a formula giving nothing": Formula('=""'),
    "a formula giving TRUE": Formula("=1=1"),
    "text like a formula": "=1+1",
    "a wildcard": "*",
    "a question mark": "?",
    "a pattern": ".*",
    "a dash": "-",
    "another script": "१२",
    "an apostrophe": "'18",
    "a long text": "long " * 60,
    "an infinity in words": "inf",
    "not a number in words": "nan",
}
# The cells of names are formatted as text: a spreadsheet keeps TRUE there as four letters. And programs write out a
# number of hundreds of digits each in their own way when it is joined to a text.
NOT_FOR_TEXTS = ("TRUE", "FALSE", "a formula giving TRUE", "larger than large", "large negative")
_ROW_LOOKUP = re.compile(r"MATCH\(ROUND\((\w+),(\d)\),(\w+),1\)")
_COMPARED = re.compile(r"ROUND\((\w+),6\)[<>=]+ROUND\((\w+),6\)")
_NEXT_SIZE = re.compile(r'COUNTIF\((\w+),"<"&ROUND\((\w+),(\d)\)\)')


def as_reference(case: Mapping[str, Entry]) -> dict[str, Any]:
    """The same case as the reference is given it: what a typed formula shows, and nothing for a blank."""
    kinds = {entry.name: entry.kind for entry in model().inputs}
    read = {name: shown(kinds[name], value) for name, value in case.items()}
    return {name: value for name, value in read.items() if value is not None}


def shown(kind: str, value: Entry) -> Any:
    """What an entry cell shows; a formula that gives an empty text fills a number's cell with a text, not with a blank."""
    if not isinstance(value, Formula):
        return value
    return "an empty text" if kind == "number" and SHOWN[value.text] == "" else SHOWN[value.text]


def as_entries(case: Mapping[str, Entry]) -> dict[str, Entry]:
    return {f"entry_{name}": value for name, value in case.items() if value is not None}


def edges(chosen: Model) -> dict[str, list[float]]:
    """For each input the numbers at which something changes: its bounds and the rows of the tables it is looked up in."""
    columns = {f"{table.name}_{column.name}": column.values for table in chosen.tables for column in table.columns}
    found: dict[str, list[float]] = {}
    for entry in chosen.inputs:
        if entry.kind == "number":
            found[entry.name] = [entry.low, entry.high, *_ulps(entry.low), *_ulps(entry.high)]
            found[entry.name] += [bound + nudge for bound in (entry.low, entry.high) for nudge in NUDGES]
    for quantity in chosen.quantities:
        looked_up = _ROW_LOOKUP.findall(quantity.formula)
        looked_up += [(name, digits, column) for column, name, digits in _NEXT_SIZE.findall(quantity.formula)]
        for name, digits, column in looked_up:
            if name in found:
                last = 10 ** -int(digits)  # the least that moves an entry to another row
                found[name] += [float(row) + nudge for row in columns[column] for nudge in (*NUDGES, last, -last)]
    return found


def _ulps(value: float) -> list[float]:
    return [math.nextafter(value, -math.inf), math.nextafter(value, math.inf)]


def junk_for(entry: Input) -> dict[str, Entry]:
    """Every kind of junk that can stand in the cell of an input."""
    return {kind: value for kind, value in JUNK.items() if entry.kind != "text" or kind not in NOT_FOR_TEXTS}


@cache
def _edges_of(profile: str) -> dict[str, list[float]]:
    return edges(model(profile))


# ---- single cases, drawn and shrunk by hypothesis


def typed(entry: Input, profile: str) -> st.SearchStrategy[Entry]:
    """Anything that may be typed for one input: accepted values first, so that shrinking ends there."""
    junk = st.sampled_from(list(junk_for(entry).values()))
    if entry.kind == "choice":
        return st.one_of(st.sampled_from(entry.options), st.sampled_from(spellings(entry)), junk)
    if entry.kind == "text":
        return st.one_of(st.sampled_from(("name", "Ελλάδα 5", "=1+1", "@home", "+5", "-3")), junk)
    inside = st.integers(int(entry.low), int(entry.high)) if entry.whole else st.floats(entry.low, entry.high)
    near = st.floats(entry.low - 10, entry.high * 2 + 10)
    return st.one_of(inside.map(float), st.sampled_from(_edges_of(profile)[entry.name]), near, junk)


def spellings(entry: Input) -> list[Entry]:
    """Ways in which a person may type the options of a choice; the first ones are accepted."""
    texts = [option for option in entry.options if isinstance(option, str)]
    variants: list[Entry] = [spelling for text in texts for spelling in (text.upper(), text.lower(), text.title())]
    variants += [spelling for text in texts for spelling in (f" {text}", f"{text} ", text[:-1])]
    return variants + [spelling for o in entry.options if not isinstance(o, str) for spelling in (f"{o}", o + 1e-6, -o)]


def changes(profile: str = "nec-2023", most: int = 6) -> st.SearchStrategy[Case]:
    """A few inputs of the example typed anew."""
    one = st.sampled_from(model(profile).inputs).flatmap(lambda entry: st.tuples(st.just(entry.name), typed(entry, profile)))
    return st.lists(one, min_size=1, max_size=most).map(dict)


# ---- batches from a seed


def stream(chosen: Model, seed: int, name: str) -> np.random.Generator:
    """Draws that rest on the profile, the seed and the name alone: what is declared beside it moves none of them."""
    return np.random.default_rng([PROFILES.index(chosen.profile.key), seed, crc32(name.encode())])


def plausible(profile: str, seed: int, count: int) -> dict[str, Any]:
    """Many designs at once, one array for each input: every entry accepted, some optional ones blank."""
    return plausible_for(evaluation(profile), seed, count)


def plausible_for(chosen: Evaluation, seed: int, count: int) -> dict[str, Any]:
    """The same for a model, which need not be the project's."""
    entries = {entry.name: entry for entry in chosen.model.inputs}
    drawn: dict[str, Any] = {}
    known = Answers(chosen, {})
    for name in (one.key for one in chosen.model.declared):  # each after those on which it rests
        if name in entries:
            entry, random = entries[name], stream(chosen.model, seed, name)
            blank = _left_blank(chosen.model, entry, seed, count)
            drawn[name] = (_numbers if entry.kind == "number" else _words)(entry, known, random, blank)
            known = known.with_other({name: drawn[name]})
    return drawn


def _left_blank(chosen: Model, entry: Input, seed: int, count: int) -> np.ndarray:
    """In which designs an entry is left blank: one of a table mostly with its row, since half a row is worth nothing."""
    alone, table, row = (
        stream(chosen, seed, f"{name} blank").random(count) for name in (entry.name, entry.table, entry.name.partition("_")[0])
    )
    if entry.blank == REQUIRED or not entry.table:
        return (alone < 0.3) & (entry.blank != REQUIRED)
    # all rows typed, some rows, none, and some entries of each row
    return np.select([table < 0.35, table < 0.65, table < 0.75], [False, row < 0.5, True], alone < 0.3)


def _numbers(entry: Input, known: Mapping[str, Any], random: np.random.Generator, blank: np.ndarray) -> Any:
    count = len(blank)
    factor = np.broadcast_to(known[entry.factor] if entry.factor else 1.0, count)
    low, high = entry.low / factor, entry.high / factor
    for relation in entry.relations:
        other = np.broadcast_to(known[relation.other], count)
        margin = 1e-4 if relation.strict else 1e-7
        if relation.lowest is not None:
            low = np.fmax(low, relation.lowest * other + margin * np.abs(other))
        if relation.highest is not None:
            high = np.fmin(high, relation.highest * other - margin * np.abs(other))
    usual = example_inputs().get(entry.name, entry.blank)
    usual = np.broadcast_to(usual if isinstance(usual, int | float) else (low + high) / 2, count) / factor
    near = usual * random.uniform(0.75, 1.3, count) + entry.whole * random.integers(-1, 2, count)
    numbers = np.where(random.random(count) < 0.8, near, random.uniform(low, np.maximum(low, high)))
    numbers = np.clip(np.where(random.random(count) < 0.5, np.round(numbers, 2), numbers), low, np.maximum(low, high))
    numbers = np.round(numbers) if entry.whole else numbers
    return np.where(blank, np.nan, numbers)


def _words(entry: Input, _known: Mapping[str, Any], random: np.random.Generator, blank: np.ndarray) -> Any:
    options: Sequence[Any] = entry.options or ("a name", "Name 2")
    usual = example_inputs().get(entry.name, options[0])
    words = np.empty(len(blank), dtype=object)
    for place, nothing in enumerate(blank):
        other = options[int(random.integers(len(options)))]
        words[place] = "" if nothing else usual if random.random() < 0.6 else other
    return words


def designs(profile: str, seed: int, count: int) -> list[Case]:
    """Plausible designs, most of them moved onto an edge, an exact tie, or spoilt."""
    return designs_for(evaluation(profile), seed, count)


def designs_for(chosen: Evaluation, seed: int, count: int) -> list[Case]:
    """The same for a model, which need not be the project's."""
    arrays = plausible_for(chosen, seed, count)
    values = chosen.all_values(arrays)
    cases = [{name: _one(array, place) for name, array in arrays.items()} for place in range(count)]
    for change in changes_of(chosen.model):
        random = stream(chosen.model, seed, change.name)
        happens, which = random.random(count) < change.share, random.random(count)
        for place in np.flatnonzero(happens):
            cases[place] |= change.typed(values, int(place), float(which[place]))
    return cases


def _one(array: Any, place: int) -> Any:
    """One element as a plain value; nothing is None."""
    value = array[place] if np.ndim(array) else array
    value = value.item() if isinstance(value, np.generic) else value
    return None if value == "" or value != value else value  # noqa: PLR0124 - NaN is "nothing"


def ties(chosen: Model) -> list[tuple[str, str, float]]:
    """The input, what it may equal, and the factor between them: limits, what formulas compare, and bounds of relations."""
    numbers = {entry.name for entry in chosen.inputs if entry.kind == "number"}
    found = []
    for check in chosen.checks:
        for limit in filter(None, (check.at_least, check.at_most)):
            found += [(a, b, 1.0) for a, b in ((limit, check.value), (check.value, limit)) if a in numbers]
    for judged in (*chosen.checks, *chosen.quantities):
        for pair in _COMPARED.findall(judged.formula):
            found += [(a, b, 1.0) for a, b in (pair, pair[::-1]) if a in numbers]
    for entry in chosen.inputs:
        for relation in entry.relations:
            bounds = [bound for bound in (relation.lowest, relation.highest) if bound is not None]
            found += [(entry.name, relation.other, bound) for bound in bounds]
    return list(dict.fromkeys(found))


Typed = Callable[[Mapping[str, Any], int, float], Case]
"""What is typed, by the values of all designs, which of them it is, and a number below 1 that was drawn for it."""


class Change(NamedTuple):
    """One way in which an entry of a drawn design may be typed anew, which happens in a share of the designs.

    Each has a share and a stream of its own, instead of one way being chosen among all of them: a choice among more ways
    falls otherwise, and with a new input every design would be another one.
    """

    name: str
    share: float
    typed: Typed


def changes_of(chosen: Model) -> list[Change]:
    """Every change that may happen to a design; together a little more than one in each, by 200 numbers, 60 ties, 60 choices."""
    known = edges(chosen)
    found = [Change(f"edge {name}", 1 / 720, _one_of(name, numbers)) for name, numbers in known.items()]
    found += [Change(f"tie {name} {other} {factor}", 1 / 155, _equal(name, other, factor)) for name, other, factor in ties(chosen)]
    for entry in chosen.inputs:
        found.append(Change(f"junk {entry.name}", 1 / 2180, _one_of(entry.name, list(junk_for(entry).values()))))
        if entry.kind == "choice":
            found.append(Change(f"spelling {entry.name}", 1 / 440, _one_of(entry.name, [*entry.options, *spellings(entry)])))
    return found


def _one_of(name: str, known: Sequence[Entry]) -> Typed:
    return lambda _values, _place, drawn: {name: known[int(drawn * len(known))]}


def _equal(name: str, other: str, factor: float) -> Typed:
    def typed(values: Mapping[str, Any], place: int, drawn: float) -> Case:
        value = _one(values[other], place)
        return {} if value is None else {name: value * factor + NUDGES[int(drawn * len(NUDGES))]}

    return typed


def shrunk(case: Case, fails: Callable[[Case], bool]) -> Case:
    """The case with as many entries as possible put back to the example's, as long as it still fails."""
    usual = dict(example_inputs())
    for _ in range(2):
        for name in list(case):
            simpler = {**case, name: usual.get(name)}
            if simpler != case and fails(simpler):
                case = simpler
    return case


def unlike_the_example(case: Case) -> dict[str, Any]:
    """What a reader of a failure needs: only the entries that differ from the example's."""
    usual = example_inputs()
    return {name: value for name, value in case.items() if value != usual.get(name)}
