"""The texts of the sheets: they have one home, ``templates/sheets.toml``, and are read here."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import Any

from workbook_builder.language.locations import TEMPLATES


@lru_cache(maxsize=1)
def words() -> dict[str, Any]:
    """Return the texts of the sheets."""
    return tomllib.loads((TEMPLATES / "sheets.toml").read_text(encoding="utf-8"))
