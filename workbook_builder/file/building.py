"""From inputs to a workbook."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from workbook_builder.evaluation.evaluation import evaluation_for, unknown_inputs
from workbook_builder.evaluation.given import plain_inputs
from workbook_builder.file.emit import write
from workbook_builder.file.plan import Plan
from workbook_builder.language.errors import DesignError
from workbook_builder.language.profiles import DEFAULT, Profile, load_profile
from workbook_builder.sheets import make_plan


class Built(NamedTuple):
    """A written workbook and the verdict that stands in it."""

    path: Path
    verdict: str


@lru_cache(maxsize=16)
def plan_for(profile: Profile, *, example: bool = False) -> Plan:
    """Return the plan of a profile's workbook; it is the same for every design."""
    return make_plan(evaluation_for(profile), example=example)


def build(inputs: Mapping[str, Any], path: str | Path, profile: str | Path = DEFAULT, *, example: bool = False) -> Built:
    """Write the workbook of one design.

    Parameters
    ----------
    inputs
        by the names of the inputs: a number in the input's unit, a pint quantity, or a text. What is missing stays blank; what
        is not accepted is written as it is, and the workbook says so.
    path
        where to write it.
    profile
        key of a built-in profile, or the path of a profile folder.
    example
        whether the opening sheet marks the workbook as an invented example.

    Returns
    -------
    the path, and the verdict: PASS, PASS WITH NOTES, FAIL or INCOMPLETE.

    Raises
    ------
    DesignError
        if a name is no input, or a value is not a single one, of a kind that no cell holds, or of another unit.
    ProfileError, WorkbookError
        if the profile is faulty, or the file cannot be written.

    """
    loaded = load_profile(profile)
    evaluation = evaluation_for(loaded)
    problems = unknown_inputs(evaluation.model, inputs, "build")
    if problems:
        raise DesignError(problems)
    plain = plain_inputs(evaluation.model, inputs, "build", single=True)
    plan = plan_for(loaded, example=example)
    values = evaluation.all_values(plain)
    target = Path(path)
    write(plan, plain, values | plan.layout, target)
    return Built(target, values["verdict"])
