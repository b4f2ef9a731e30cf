"""Entries that may stay blank, but without which some check says NOT JUDGED: which of them are blank, and are waited for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

import numpy as np

from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.declare import Check
from workbook_builder.language.inputs import Input
from workbook_builder.language.steps import Argument, Given, Range, Step, taking
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.verdicts import NOT_JUDGED, NOT_KNOWN


def asked_for(checks: Sequence[Check], inputs: Sequence[Input]) -> list[Input]:
    """Return the inputs for which some check asks, in the order in which they are entered."""
    names = {name for check in checks for name in check.asks}
    return [entry for entry in inputs if entry.name in names]


def asking(entry: Input, checks: Sequence[Check]) -> list[Check]:
    """Return the checks that ask for an input."""
    return [check for check in checks if entry.name in check.asks]


def waits(checks: Sequence[Check], inputs: Sequence[Input]) -> Iterator[Instance]:
    """Yield for each input that some check asks for whether it is blank, and whether a safety check waits for it."""
    for entry in asked_for(checks, inputs):
        bound: dict[str, Argument] = {"value": entry.name, "label": Given(entry.label, f"label_{entry.name}")}
        safety = [check.name for check in asking(entry, checks) if check.safety]
        bound |= {f"verdict{number}": name for number, name in enumerate(safety, 1)}
        names = {"blank": blank(entry.name), "waited_for": f"waited_for_{entry.name}"}
        yield Instance(f"wait_for_{entry.name}", _wait(len(safety)), bound, entry.label, names=names)


def blank(entry: str) -> str:
    """Return the key of the text that names an input while it is blank."""
    return f"blank_{entry}"


@cache
def _wait(safety_checks: int) -> Template:
    template = Template(f"an entry for which {safety_checks} safety checks ask", guarded=False, single=True)

    @template.step(
        name="blank",
        kind="text",
        words="The name of the entry while it is blank, or answers that it is not known.",
        formula=f'IF(OR(value="",value="{NOT_KNOWN}"),label&".","")',
    )
    def _blank(value: Any, label: str) -> str:
        return f"{label}." if is_missing(value) or value == NOT_KNOWN else ""

    verdicts = [f"verdict{number}" for number in range(1, safety_checks + 1)]
    if verdicts:
        judged = [f'{name}="{NOT_JUDGED}"' for name in verdicts]
        some = f"OR({','.join(judged)})" if len(judged) > 1 else judged[0]
        template.add(
            Step(
                name="waited_for",
                words="1 while the entry is blank and a safety check that asks for it is not judged.",
                formula=f'IF(AND(blank<>"",{some}),1,0)',
                function=taking(["blank", *verdicts], _waited_for),
                guarded=False,
                single=True,
            )
        )
    return template


def _waited_for(blank: str, **verdicts: str) -> float:
    return 1.0 if blank and NOT_JUDGED in verdicts.values() else 0.0


def list_of(asks: Sequence[str]) -> Step:
    """Return the step that lists the entries which are asked for and blank; its open names are the keys in ``blanks``."""
    names = [f"blank{number}" for number in range(1, len(asks) + 1)]
    joined = '&" "&'.join(names)
    return Step(
        name="wanted",
        words="The entries that are asked for and are blank.",
        formula=f"TRIM({joined})" if len(names) > 1 else names[0],
        function=taking(names, _listed),
        kind="text",
        guarded=False,
        single=True,
    )


def _listed(**blanks: str) -> str:
    return " ".join(one for one in blanks.values() if one)


def waited_for(checks: Sequence[Check], inputs: Sequence[Input]) -> Range:
    """Return the range of the inputs for which safety checks can wait."""
    asked = [entry for entry in asked_for(checks, inputs) if any(check.safety for check in asking(entry, checks))]
    return Range("waited_for", keys=tuple(f"waited_for_{entry.name}" for entry in asked))


def number_waited_for(waited_for: Any) -> Any:
    """Return how many entries safety checks wait for."""
    return float(np.nansum(np.asarray(waited_for, float)))
