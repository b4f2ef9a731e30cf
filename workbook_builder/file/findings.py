"""What is found in a workbook that came back: data with stable codes; the sentences stand here once."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import NamedTuple

ERROR, REMARK = "error", "remark"
SHOWN = 60  # signs of a stranger's text in a finding


class Kind(NamedTuple):
    """A kind of finding: an error keeps the design from passing, a remark does not."""

    severity: str
    words: str
    advice: str


KEY_DECIDES = "the workbook and this program read the cell in the row of the entry's key; send a fresh copy to fill in"
FRESH = "send a fresh copy to fill in, and copy the entries into it"
KINDS = {
    "sheet-missing": Kind(ERROR, "a sheet of the workbook is missing or has another name", FRESH),
    "sheet-added": Kind(REMARK, "a sheet was added; nothing on it is read", ""),
    "column-missing": Kind(ERROR, "the name of a column of entries or keys is missing or leads astray", FRESH),
    "key-missing": Kind(ERROR, "no row has the key of this entry", FRESH),
    "key-doubled": Kind(ERROR, "more than one row has the key of this entry; the first is read", FRESH),
    "name-missing": Kind(ERROR, "the name of an entry cell is missing", KEY_DECIDES),
    "name-doubled": Kind(ERROR, "the name of an entry cell is given more than once", KEY_DECIDES),
    "name-of-one-sheet": Kind(ERROR, "the name of an entry cell holds on one sheet only", KEY_DECIDES),
    "name-shared": Kind(ERROR, "the names of two entries lead to one cell", KEY_DECIDES),
    "name-moved": Kind(ERROR, "the name of an entry leads to another cell, as happens where cells are cut and pasted", KEY_DECIDES),
    "name-on-another-sheet": Kind(ERROR, "the name of an entry leads to another sheet", KEY_DECIDES),
    "name-of-a-range": Kind(ERROR, "the name of an entry leads to more than one cell", KEY_DECIDES),
    "name-broken": Kind(ERROR, "the name of an entry leads nowhere", KEY_DECIDES),
    "name-unknown": Kind(ERROR, "a name looks like that of an entry, but there is no such entry", "was it made by another version?"),
    "formula-in-entry": Kind(ERROR, "a formula stands where a figure is to be typed", "type the figure itself"),
    "text-too-long": Kind(ERROR, "a text is longer than a spreadsheet can hold; its end is cut off", "shorten it"),
    "other-layout": Kind(ERROR, "the workbook has another layout than this version of the program expects", FRESH),
    "other-figures": Kind(
        ERROR, "the figures of the code profile differ from those of this program, or are not known", "build it again with this version"
    ),
    "other-version": Kind(REMARK, "the workbook was made by another version of the program", ""),
    "not-calculated": Kind(
        REMARK, "no verdict is stored: the program that saved it did not calculate", "open it in a spreadsheet and save it"
    ),
    "verdict-differs": Kind(REMARK, "the verdict stored in the file is not that of its entries", "recalculate it; was a formula changed?"),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found in a workbook. ``code`` is one of ``KINDS`` and does not change; ``place`` names sheet and cell, or a name."""

    code: str
    place: str
    expected: str = ""
    found: str = ""

    @property
    def severity(self) -> str:
        """``error``: the design cannot pass by this workbook; ``remark``: it is said, and no more."""
        return KINDS[self.code].severity

    def __str__(self) -> str:
        kind = KINDS[self.code]
        parts = [f"{self.place}: {kind.words}"]
        parts += [f"expected {self.expected}"] if self.expected else []
        parts += [f"found {self.found}"] if self.found else []
        parts += [kind.advice] if kind.advice else []
        return "; ".join(parts)

    def as_data(self) -> dict[str, str]:
        """Return the finding as plain data, for ``--json``."""
        kind = KINDS[self.code]
        return {**asdict(self), "severity": kind.severity, "fault": kind.words, "advice": kind.advice}
