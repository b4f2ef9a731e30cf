"""What a workbook that came back is worth: its entries judged anew, and no better than what was found in it allows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from workbook_builder.file.contents import VERDICTS
from workbook_builder.file.findings import Finding
from workbook_builder.file.reading import Reading
from workbook_builder.language.verdicts import INCOMPLETE, PASS

LISTED = 5  # findings of a kind that are printed


class Worth(NamedTuple):
    """The verdicts of the match and of the whole design, and all that was found."""

    verdicts: dict[str, str]
    findings: tuple[Finding, ...]


def worth(reading: Reading, values: Mapping[str, Any]) -> Worth:
    """Judge a workbook by the values recomputed from its entries; what is stored in it is compared and never believed.

    A workbook in which something is not as it was built is INCOMPLETE at best.
    """
    recomputed = {name: str(values[name]) for name in VERDICTS}
    differ = [
        Finding("verdict-differs", name, recomputed[name], reading.stored[name])
        for name in VERDICTS
        if reading.stored.get(name) and reading.stored[name] != recomputed[name]
    ]
    best = recomputed if reading.trusted else {name: at_best_incomplete(verdict) for name, verdict in recomputed.items()}
    return Worth(best, (*reading.findings, *differ))


def at_best_incomplete(verdict: str) -> str:
    """Return a verdict, or INCOMPLETE in place of one that passes."""
    return INCOMPLETE if verdict.startswith(PASS) else verdict


def lines_of(reading: Reading, found: Worth) -> list[str]:
    """Return what there is to say of the file, as lines to print."""
    stored = ", ".join(f"{name} {reading.stored.get(name) or 'none'}" for name in VERDICTS)
    said = [f"stored in the file: {stored}"]
    for code in dict.fromkeys(one.code for one in found.findings):
        alike = [one for one in found.findings if one.code == code]
        said += [f"{one.severity}: {one}" for one in alike[:LISTED]]
        said += [f"{alike[0].severity}: and {len(alike) - LISTED} more of this kind; --json lists all"] if len(alike) > LISTED else []
    if not reading.trusted:
        said.append("The workbook is not as it was built. Whatever its entries say, the design does not pass by it.")
    return [*said, *(f"{name} of this workbook: {found.verdicts[name]}" for name in VERDICTS)] if found.findings else said


def as_data(reading: Reading, found: Worth) -> dict[str, Any]:
    """Return the same as plain data, for ``--json``; the verdicts take the place of those recomputed."""
    return found.verdicts | {"findings": [one.as_data() for one in found.findings], "stored": dict(reading.stored)}
