"""Where the templates are: beside the package in a checkout, inside it once installed."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).parents[1]
TEMPLATES = _PACKAGE / "templates" if (_PACKAGE / "templates").is_dir() else _PACKAGE.parent / "templates"
