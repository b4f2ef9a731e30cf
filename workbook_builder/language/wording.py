"""Words for numbers, as declared words and the reference functions of texts share them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from workbook_builder.language.tables import round_half_away


def each(numbers: Any, words: Callable[[float], str], digits: int = 0) -> Any:
    """Return words for a number rounded to so many digits, element by element for arrays; nothing for nothing."""
    if np.ndim(numbers):
        return np.array([each(number, words, digits) for number in np.ravel(numbers)], dtype=object).reshape(np.shape(numbers))
    return "" if np.isnan(numbers) else words(round_half_away(numbers, digits))


ABSENT = "—"  # stands for what the design does not have


def number_text(value: Any) -> str:
    """Return a value as a spreadsheet joins it to a text: 12 and not 12.0, four decimals at most."""
    if isinstance(value, str):
        return value
    text = f"{round_half_away(float(value), 4):.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
