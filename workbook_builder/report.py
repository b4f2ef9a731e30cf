"""The answer of the reference model as lines of text, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook_builder.entries import DEFAULT, ENTERED
from workbook_builder.model import model_for
from workbook_builder.profiles import load_profile

WIDTH = 100


def table(inputs: Mapping[str, Any], profile: str | Path) -> tuple[list[str], str]:
    """Return the lines to print and the verdict of a design."""
    loaded = load_profile(profile)
    model = model_for(loaded)
    values = model.all_values(inputs)
    lines = [f"profile: {loaded.title}"]
    for check in model.checks:
        lines.append(f"{values[check.name]:<11} {check.label}: {_compared(check, values)}")
        if values[check.name] in ("FAIL", "NOTE"):
            indent = " " * 12
            lines += textwrap.wrap(values[f"meaning_{check.name}"], WIDTH, initial_indent=indent, subsequent_indent=indent)
    for entry in model.inputs:
        if values[f"status_{entry.name}"] not in (ENTERED, DEFAULT):
            lines.append(f"{'entry':<11} {entry.label} ({entry.name}): {values[f'echo_{entry.name}']}")
    lines += [f"verdict: {values['verdict']}", values["meaning_verdict"]]
    return lines, values["verdict"]


def _compared(check: Any, values: Mapping[str, Any]) -> str:
    parts = [("", check.value), ("at least ", check.at_least), ("at most ", check.at_most)]
    return ", ".join(f"{words}{_shown(values[name])}" for words, name in parts if name)


def _shown(value: Any) -> str:
    if value != value or value == "":  # noqa: PLR0124 - NaN is "nothing"
        return "nothing"
    return f"{value:.4g}" if isinstance(value, float) else str(value)
