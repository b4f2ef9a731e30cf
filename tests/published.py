"""The published examples of ``tests/cases`` as data.

A case has ``title``, ``source``, ``mark`` and ``profiles``. ``inputs`` are the published ones, ``filled`` neutral
invented ones that a whole design needs besides, ``blank`` inputs that are left empty; everything else is the invented
example's. ``each`` repeats the case with every value of one input. ``expect`` says what must come out:

- ``{ printed = "54.18" }``: as the source prints it, within half a unit of its last digit;
- ``{ exact = 1.25 }``: a table's entry or plain arithmetic, to the accuracy of the computer;
- ``{ near = 14.970, by = 0.03 }``: another method's figure, with the deviation that the source of the case explains;
- ``"PASS"``: this text, and ``"nothing"``: no answer.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from tests.support import example

FOLDER = Path(__file__).with_name("cases")
MARKS = ("checked", "common practice", "from memory", "own case")
KEYS = {"title", "source", "mark", "profiles", "inputs", "filled", "blank", "each", "expect"}
ARITHMETIC = 1e-9
"""Relative; what remains of doubles after a few multiplications is a thousand times smaller."""


@dataclass(frozen=True)
class Case:
    """One example in one profile, with all inputs of a whole design."""

    title: str
    source: str
    mark: str
    profile: str
    inputs: dict[str, Any]
    expect: dict[str, Any]
    first: bool
    """Whether it is the first of those that differ in one value only."""

    def failures(self, values: Mapping[str, Any]) -> list[str]:
        """What came out otherwise than published, from the values of ``evaluate``."""
        return [
            f"{name}: got {values[name]!r}, expected {wanted}" for name, wanted in self.expect.items() if not _meets(values[name], wanted)
        ]


def _meets(got: Any, wanted: Any) -> bool:
    if wanted == "nothing":
        return got is None
    if isinstance(wanted, str) or not isinstance(got, float):
        return bool(got == wanted)
    if "exact" in wanted:
        return bool(abs(got - wanted["exact"]) <= ARITHMETIC * max(1.0, abs(wanted["exact"])))
    if "near" in wanted:
        return bool(abs(got - wanted["near"]) <= wanted["by"])
    printed = Decimal(wanted["printed"])
    half = Decimal(5).scaleb(int(printed.as_tuple().exponent) - 1)
    return abs(Decimal(got) - printed) <= half


def raw_cases() -> list[tuple[Path, dict[str, Any]]]:
    """Every case as it stands in the files."""
    files = sorted(FOLDER.glob("*.toml"))
    return [(file, case) for file in files for case in tomllib.loads(file.read_text(encoding="utf-8"))["case"]]


@cache
def cases() -> tuple[Case, ...]:
    """Every case in every profile and with every value that it is repeated with."""
    return tuple(one for _, raw in raw_cases() for one in _spread(raw))


def _without_other_loads(given: dict[str, Any]) -> dict[str, None]:
    """The load rows of the example left blank, if the case has loads of its own."""
    rows = [name for name in example() if re.match(r"load[0-9]+_", name)]
    return dict.fromkeys(rows) if any(re.match(r"load[0-9]+_", name) for name in given) else {}


def _spread(raw: dict[str, Any]) -> Iterator[Case]:
    given = raw.get("inputs", {}) | raw.get("filled", {}) | dict.fromkeys(raw.get("blank", ()))
    repeated = [{name: value} for name, values in raw.get("each", {}).items() for value in values] or [{}]
    for profile in raw["profiles"]:
        for place, change in enumerate(repeated):
            told = "".join(f", {name} = {value}" for name, value in change.items())
            yield Case(
                f"{raw['title']}{told} ({profile})",
                raw["source"],
                raw["mark"],
                profile,
                example(**_without_other_loads(given | change) | given | change),
                raw["expect"],
                place == 0,
            )
