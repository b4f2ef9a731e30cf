"""What the tests of whole workbooks share: stale workbooks, the invented example, and the comparison of every cell."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from workbook_builder.evaluation.evaluation import Evaluation, evaluation_for
from workbook_builder.evaluation.model import Model
from workbook_builder.file.building import plan_for
from workbook_builder.file.design import read_design
from workbook_builder.file.emit import write
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.profiles import FOLDER, load_profile

STALE = 4242.424242  # no design has it


@cache
def model(profile: str = "nec-2023") -> Model:
    return evaluation(profile).model


@cache
def evaluation(profile: str = "nec-2023") -> Evaluation:
    return evaluation_for(load_profile(profile))


@cache
def example_inputs() -> Mapping[str, Any]:
    return read_design(TEMPLATES / "example.toml").inputs


def example(**changes: Any) -> dict[str, Any]:
    """The invented example with some inputs changed; None leaves one blank."""
    return {name: value for name, value in {**example_inputs(), **changes}.items() if value is not None}


def cables(profile: str = "nec-2023") -> dict[str, Any]:
    """The cables that the invented example has under a profile."""
    return dict(_cables(profile))


@cache
def _cables(profile: str) -> Mapping[str, Any]:
    return read_design(FOLDER / profile / "example.toml", profile).inputs


def whole_example(**changes: Any) -> dict[str, Any]:
    """The invented example with its cables, with some inputs changed."""
    return example(**(cables() | changes))


_STALE: dict[str, bytes] = {}


def write_stale(path: Path, profile: str = "nec-2023") -> Path:
    """Write a blank workbook in which every cached value is the stale marker: an engine that did nothing is caught."""
    if profile not in _STALE:  # the same bytes each time
        write(plan_for(load_profile(profile)), {}, defaultdict(lambda: STALE), path)
        _STALE[profile] = path.read_bytes()
    path.write_bytes(_STALE[profile])
    return path


def entries(inputs: Mapping[str, Any]) -> dict[str, Any]:
    return {f"entry_{name}": value for name, value in inputs.items()}


def design_text(inputs: Mapping[str, Any], profile: str) -> str:
    """The text of a design file with these inputs, as a person would write it."""
    groups: dict[str, list[str]] = {}
    for name, value in inputs.items():
        group, _, key = name.partition("_")
        shown = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)
        groups.setdefault(group, []).append(f"{key} = {shown}")
    body = "\n\n".join("\n".join([f"[{group}]", *lines]) for group, lines in groups.items())
    return f'profile = "{profile}"\n\n{body}\n'
