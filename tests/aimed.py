"""Designs aimed at what drawn ones seldom meet: every entry alike, and numbers of which two expressions come out equal."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple, TypeGuard

import numpy as np

from tests.engines import Entry, Formula
from tests.formula_values import CALLED, evaluated, written
from tests.known import Known
from tests.mutation import Mutant, argument_of, call_of
from tests.support import evaluation, model
from workbook_builder.language.inputs import Input
from workbook_builder.language.steps import Given
from workbook_builder.language.xl import Token, names_in, tokens

CLOSE = 1e-12  # the last step towards a tie, far within the rounding of limits
STEPS = 12
BESIDE = ("+1/100", "-1/100")  # just above and just below, in the unit of what is compared
Case = dict[str, Entry]
JUNK: tuple[Entry, ...] = ("x", 1e9, 0.123456, True, Formula("=1/0"), Formula("=1=1"), " ")
SHARES = (0.123457, 0.7654321, 0.012347, 0.333333)


def every_entry_alike(profile: str) -> Iterator[Case]:
    """Designs in which all entries are of one kind: the first options, the next ones, and each kind of junk."""
    for turn in range(len(SHARES)):
        yield {entry.name: _filled(entry, turn) for entry in model(profile).inputs}
    for junk in JUNK:
        yield {entry.name: junk for entry in model(profile).inputs}


def _filled(entry: Input, turn: int) -> Entry:
    if entry.kind == "text":
        return "a name"
    if entry.kind == "choice":
        return entry.options[turn % len(entry.options)]
    # five digits, since an echo rounds to four
    number = entry.low + (entry.high - entry.low) * SHARES[turn]
    return float(round(number)) if entry.whole else round(number, 5)


def at_its_limits(profile: str, base: Mapping[str, Any], name: str) -> Iterator[dict[str, Any]]:
    """The design with one number on each of its limits, a little beyond them, and, where it must be whole, between two."""
    entry = next(one for one in model(profile).inputs if one.name == name)
    values = evaluation(profile).all_values(base)
    factor = values[entry.factor] if entry.factor else 1.0
    bounds = [entry.low, entry.high]
    for relation in entry.relations:
        bounds += [float(values[relation.other]) * share for share in (relation.lowest, relation.highest) if share is not None]
    beside = (0, 0.01, -0.01) if not entry.whole else (0,)
    numbers = [(bound + step) / factor for bound in bounds if not math.isnan(bound) for step in beside]
    for number in (*numbers, *((2.04, 2.5) if entry.whole else ())):
        yield {**base, name: number}
    for bound in (entry.low, entry.high):  # with what is related to it as far away
        shares = [share for relation in entry.relations for share in (relation.lowest, relation.highest) if share is not None]
        others = [relation.other for relation in entry.relations if isinstance(model(profile).nodes[relation.other], Input)]
        yield {**base, name: bound / factor} | {other: bound / np.mean(shares) for other in others}


class Aim(NamedTuple):
    """Two expressions of a formula that are to be equal, and the keys of the values that stand in them."""

    left: str
    right: str
    uses: tuple[tuple[str, str | float], ...]


def aims(profile: str, formula: str, mutant: Mutant) -> list[Aim]:
    """Where a design could notice a fault in a declared formula: at a tie, between the sound and the faulty number, or beside."""
    pieces, changed = list(tokens(formula)), mutant.position - mutant.guard
    sides = [
        (sign, *argument_of(pieces, sign))
        for sign, piece in enumerate(pieces)
        if piece.kind == "operator" and piece.text in ("<", "<=", ">", ">=", "=", "<>")
    ]
    found = []
    for sign, first, last in sides:
        between = [_between(piece, mutant.other) if n == changed and piece.kind == "number" else piece for n, piece in enumerate(pieces)]
        left, right = between[first:sign], between[sign + 1 : last]
        if _is_arithmetic([*left, *right]):
            ends = ("", *BESIDE) if mutant.piece.kind in ("text", "function") else ("",)
            found += [(written(left), f"{written(right)}{end}") for end in ends]
    function, arguments = call_of(pieces, changed)
    if mutant.piece.kind == "number" and function in ("MAX", "MIN") and (changed, changed + 1) in arguments:
        for first, last in arguments:
            if first != changed and _is_arithmetic(pieces[first:last]):
                found.append((written(pieces[first:last]), _between(mutant.piece, mutant.other).text))
    uses = tuple(_uses(profile, mutant.key, formula).items())
    return [Aim(left, right, uses) for left, right in dict.fromkeys(found)]


def _between(piece: Token, other: str) -> Token:
    return Token(piece.kind, f"(({piece.text})+({other}))/2")


def _is_arithmetic(side: Sequence[Token]) -> bool:
    known = {"operator", "name", "number"}
    return all(one.text in CALLED if one.kind == "function" else one.kind in known and one.text not in "&=<>" for one in side)


def turned(profile: str, formula: str, mutant: Mutant, base: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """The design with one entry left blank or chosen otherwise, of those on which a formula and its own operands rest."""
    chosen = model(profile)
    entries = {entry.name: entry for entry in chosen.inputs}
    keys = [key for key in _uses(profile, mutant.key, formula).values() if isinstance(key, str)]
    behind = [name for key in keys if key not in entries and key in chosen.by_key for name in chosen.by_key[key].needs]
    for name in dict.fromkeys(name for name in (*keys, *behind) if name in entries):
        for other in (None, *entries[name].options):
            if other != base.get(name):
                yield {key: value for key, value in {**base, name: other}.items() if value is not None}


def _uses(profile: str, key: str, formula: str) -> dict[str, str | float]:
    names: dict[str, str | float] = {name: name for name in names_in(formula)}
    bound = evaluation(profile).calculations[key].bound if key in evaluation(profile).calculations else {}
    given = {name: one.value for name, one in bound.items() if isinstance(one, Given) and not isinstance(one.value, str)}
    return names | {name: one for name, one in bound.items() if isinstance(one, str)} | given


def solved(profile: str, base: Mapping[str, Any], wanted: Sequence[Aim], each: int = 2) -> list[tuple[Aim, Case]]:
    """For each aim the design ``base`` with one number changed so that both sides are equal, where there is one.

    The change is found by secants, for all aims at once: an array of designs is evaluated in one go. ``each`` is how
    many numbers are tried for an aim, those first that change least of what they may.
    """
    family = _Family(profile, base)
    with np.errstate(all="ignore"):
        trials = family.trials(wanted, each)
        return family.solved(trials) if trials else []


class _Family:
    """A design and all those that differ from it in one number."""

    def __init__(self, profile: str, base: Mapping[str, Any]) -> None:
        self.profile, self.base = profile, base
        values = evaluation(profile).all_values(base)
        self.start: dict[Input, float] = {}
        for entry in model(profile).inputs:
            number = base.get(entry.name) if entry.factor else values[entry.name]
            if entry.kind == "number" and not entry.whole and _is_number(number):
                self.start[entry] = float(number)

    def apart(self, wanted: Sequence[Aim], changed: Sequence[Input], to: Any, *, rounded: bool = False) -> list[Any]:
        """How far the sides of each aim are apart in designs of which the n-th has the n-th of ``changed`` changed."""
        arrays = {entry.name: np.where([one is entry for one in changed], to, self.start[entry]) for entry in dict.fromkeys(changed)}
        known = Known(self.profile, {**self.base, **arrays})
        return [np.broadcast_to(_apart(one, known, rounded), len(changed)) for one in wanted]

    def trials(self, wanted: Sequence[Aim], each: int) -> list[tuple[Aim, Input, float]]:
        """For each aim the numbers that move its sides, and where a straight line would let them meet."""
        inputs, at = list(self.start), np.array(list(self.start.values()))
        step = np.maximum(np.abs(at) * 1e-3, 1e-3) * [1 if x + 1e-3 < entry.high else -1 for entry, x in self.start.items()]
        sound = self.apart(wanted, inputs, at)
        found = []
        for one, before, after in zip(wanted, sound, self.apart(wanted, inputs, at + step), strict=True):
            goal = at - before * step / (after - before)
            moved = [abs(to - x) / (e.high - e.low) if e.low <= to <= e.high else np.inf for e, x, to in zip(inputs, at, goal, strict=True)]
            near = [(share, n) for n, share in enumerate(moved) if share < np.inf]
            found += [(one, inputs[n], float(goal[n])) for _, n in sorted(near)[:each]]
        return found

    def solved(self, trials: Sequence[tuple[Aim, Input, float]]) -> list[tuple[Aim, Case]]:
        wanted, inputs, goals = (list(part) for part in zip(*trials, strict=True))
        low, high = (np.array([getattr(entry, side) for entry in inputs]) for side in ("low", "high"))
        before, now = np.array([self.start[entry] for entry in inputs]), np.array(goals)
        own = np.arange(len(trials))
        error_before, error = (np.array(self.apart(wanted, inputs, at))[own, own] for at in (before, now))
        for _ in range(STEPS):
            step = np.nan_to_num(error * (now - before) / (error - error_before), posinf=0, neginf=0)
            if not np.any(np.abs(step) > CLOSE):
                break
            before, now, error_before = now, np.clip(now - step, low, high), error
            error = np.array(self.apart(wanted, inputs, now))[own, own]
        plain = np.round(now, 9)  # a person's number, where that is a tie as well
        tie, plain_tie = (np.abs(np.array(self.apart(wanted, inputs, at, rounded=True))[own, own]) < CLOSE for at in (now, plain))
        numbers = np.where(plain_tie, plain, np.where(tie, now, np.nan))
        return [(one, {**self.base, e.name: float(x)}) for one, e, x in zip(wanted, inputs, numbers, strict=True) if not np.isnan(x)]


def _is_number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and not math.isnan(value)


def _apart(one: Aim, values: Known, rounded: bool) -> Any:
    """Left less right side; nothing where a text stands in one of them."""
    uses = dict(one.uses)
    keys = {name: uses[name] for name in names_in(f"{one.left},{one.right}")}
    known = {name: key if isinstance(key, float | int) else values.get(key) for name, key in keys.items()}
    if any(np.asarray(value).dtype.kind not in "fiub" for value in known.values()):
        return np.nan
    return evaluated(one.left, known, rounded=rounded) - evaluated(one.right, known, rounded=rounded)
