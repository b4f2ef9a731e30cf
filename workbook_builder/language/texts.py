"""What of a text a cell can hold: cleaned once, here, for every place where it is written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

LONGEST = 32_767  # signs in a cell
# control signs but for tab and line feed, halves of signs, and code points that are no signs: no XML holds them
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")


def writable(text: str) -> str:
    """Return a text without what no cell can hold; each end of a line is a line feed."""
    return _UNWRITABLE.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


def unlike(inputs: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the name and the original of each text of which something cannot be written."""
    for name, value in inputs.items():
        if isinstance(value, str) and writable(value) != value.replace("\r\n", "\n"):
            yield name, value
