"""The answer of the reference model as lines of text, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook_builder.evaluation.evaluation import evaluation_for
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.tasks import DEFAULT, ENTERED
from workbook_builder.file.contents import VERDICTS
from workbook_builder.language.inputs import accepted
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.verdicts import FAIL, NOT_JUDGED, NOTE

WIDTH = 100


def table(inputs: Mapping[str, Any], profile: str | Path) -> tuple[list[str], dict[str, str]]:
    """Return the lines to print, and by their names the verdict of the match and that of the whole design."""
    loaded = load_profile(profile)
    evaluation = evaluation_for(loaded)
    model = evaluation.model
    read = [f"{what}_{entry.name}" for entry in model.inputs for what in ("status", "echo")]
    judged = [name for check in model.checks for name in (check.name, f"meaning_{check.name}", check.value, check.at_least, check.at_most)]
    values = evaluation.values_of(inputs, [*read, *judged, *VERDICTS, "meaning_match", "meaning_verdict"])
    lines = [f"profile: {loaded.title}"]
    for check in model.checks:
        lines.append(f"{values[check.name]:<11} {check.label}: {_compared(check, values)}")
        if values[check.name] in (FAIL, NOTE, NOT_JUDGED):
            indent = " " * 12
            lines += textwrap.wrap(values[f"meaning_{check.name}"], WIDTH, initial_indent=indent, subsequent_indent=indent)
    for entry in model.inputs:
        if values[f"status_{entry.name}"] not in (ENTERED, DEFAULT):
            lines.append(f"{'entry':<11} {entry.label} ({entry.name}): {values[f'echo_{entry.name}']}")
    lines += [f"match: {values['verdict_match']}", values["meaning_match"]]
    lines += [f"verdict: {values['verdict']}", values["meaning_verdict"]]
    return lines, {name: str(values[name]) for name in VERDICTS}


def arrangements(inputs: Mapping[str, Any], profile: str | Path) -> list[dict[str, Any]]:
    """Return one mapping for each arrangement of the workbook's list: numbers, verdict, limiting check, usable watts."""
    evaluation = evaluation_for(load_profile(profile))
    values = evaluation.all_values(inputs)
    grid = next(grid for grid in evaluation.model.grids if grid.name == "arrangements")
    return [
        {"series": row.numbers["series"], "parallel": row.numbers["parallel"]}
        | {name: _public(values[f"{grid.name}_{row.key}_{name}"]) for name in LISTED}
        for row in grid.rows
    ]


LISTED = ("modules", "verdict", "limited_by", "usable", "usable_module")


def arrangement_lines(inputs: Mapping[str, Any], profile: str | Path) -> list[str]:
    """Return the list of arrangements as lines to print, the best one last."""
    lines = ["", "in series  in parallel  modules  verdict     usable W  W/module  limited by"]
    for row in arrangements(inputs, profile):
        power, each = (f"{row[name]:.0f}" if row[name] is not None else "-" for name in ("usable", "usable_module"))
        lines.append(
            f"{row['series']:9.0f}  {row['parallel']:11.0f}  {row['series'] * row['parallel']:7.0f}  "
            f"{row['verdict'] or '-':10}  {power:>8}  {each:>8}  {row['limited_by'] or '-'}"
        )
    best = evaluation_for(load_profile(profile)).all_values(inputs)["best_arrangement"]
    return [*lines, f"best: {best or 'not known until the entries are complete'}"]


def inputs_as_data(model: Model) -> list[dict[str, str]]:
    """Return one mapping for each input: its key in a design file, unit, what is accepted, what blank means."""
    found = []
    for entry in model.inputs:
        group, _, key = entry.name.partition("_")
        blank = entry.blank if isinstance(entry.blank, str) else f"{entry.blank:g}"
        found.append(
            {
                "name": entry.name,
                "group": group,
                "key": key,
                "label": entry.label,
                "unit": entry.unit,
                "accepted": accepted(entry),
                "blank": f"as {blank[1:]}" if entry.default_name else blank,
            }
        )
    return found


def input_lines(model: Model) -> list[str]:
    """Return the inputs as lines to print, group by group, in the order of the input sheet."""
    lines, group = [], ""
    for row in inputs_as_data(model):
        if row["group"] != group:
            group = row["group"]
            lines.append(f"[{group}]")
        lines.append(f"  {row['key']:<22} {row['label']}: {row['accepted']}; blank: {row['blank']}")
    return lines


def _public(value: Any) -> Any:
    return None if value != value or value == "" else value  # noqa: PLR0124 - NaN is "nothing"


def _compared(check: Any, values: Mapping[str, Any]) -> str:
    parts = [("", check.value), ("at least ", check.at_least), ("at most ", check.at_most)]
    return ", ".join(f"{words}{_shown(values[name])}" for words, name in parts if name)


def _shown(value: Any) -> str:
    if value != value or value == "":  # noqa: PLR0124 - NaN is "nothing"
        return "not entered"
    return f"{value:.4g}" if isinstance(value, float) else str(value)
