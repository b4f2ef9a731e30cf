"""Design files: TOML in, inputs by name out, every problem at once."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date, time
from pathlib import Path
from typing import Any, NamedTuple

from workbook_builder.evaluation.entries import MISSING
from workbook_builder.evaluation.evaluation import Evaluation, evaluation_for, unknown_inputs
from workbook_builder.evaluation.given import plain_inputs
from workbook_builder.evaluation.tasks import DEFAULT, ENTERED
from workbook_builder.language.errors import DesignError, Problem, WorkbookBuilderError
from workbook_builder.language.inputs import Input, accepted
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.profiles import DEFAULT as DEFAULT_PROFILE
from workbook_builder.language.profiles import load_profile, profile_folder
from workbook_builder.language.typed_units import number_in_unit
from workbook_builder.language.units import UNITS
from workbook_builder.language.wording import number_text

PROFILE_KEY = "profile"
LONGEST_SHOWN = 100  # signs of what was found


class Design(NamedTuple):
    """What a design file says: the inputs in their units, and the profile it asks for, if any."""

    inputs: dict[str, Any]
    profile: str


def read_design(path: str | Path, profile: str | Path | None = None) -> Design:
    """Read a design file.

    Parameters
    ----------
    path
        a TOML file: one table per group, the key being the input's name without its prefix, for example ``t_min`` in
        ``[site]`` for ``site_t_min``. A value is a plain number in the input's unit, or a text with a unit.
    profile
        takes precedence over the key ``profile`` at the top of the file.

    Raises
    ------
    DesignError
        with every unknown key, wrong unit and value that is not accepted.
    ProfileError
        if there is no such profile.

    """
    file = Path(path)
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as error:
        raise DesignError([Problem(file.name, "cannot be read", str(error), "a TOML file in UTF-8")]) from error
    except (ValueError, RecursionError) as error:  # a number of thousands of digits and deep nesting are no TOML either
        raise DesignError([Problem(file.name, "is not TOML", str(error), "lines such as t_min = -12 under [site]")]) from error
    asked = data.pop(PROFILE_KEY, DEFAULT_PROFILE)
    chosen = str(profile if profile is not None else asked)
    evaluation = evaluation_for(load_profile(chosen))
    model = evaluation.model
    flat = list(_flat(data))
    given = {name: (key, value) for name, key, value in flat}
    problems = unknown_inputs(model, given, file.name)
    twice = {name for name in given if sum(other == name for other, _, _ in flat) > 1}
    problems += [Problem(file.name, "is given twice", ", ".join(key for name, key, _ in flat if name == one)) for one in sorted(twice)]
    inputs: dict[str, Any] = {}
    for entry in model.inputs:
        if entry.name in given:
            key, value = given[entry.name]
            try:
                inputs[entry.name] = _converted(entry, value)
            except WorkbookBuilderError as error:
                problems += [_problem(file, key, entry, problem.fault, value) for problem in error.problems]
    problems += _not_accepted(evaluation, file, inputs, given)
    if problems:
        raise DesignError(problems)
    return Design(inputs, chosen)


def read_example(profile: str | Path | None = None) -> Design:
    """Return the invented example, with the cables that the folder of the profile adds to it, if any."""
    inputs, chosen = read_design(TEMPLATES / "example.toml", profile)
    cables = profile_folder(chosen) / "example.toml"
    return Design(inputs | read_design(cables, chosen).inputs, chosen) if cables.is_file() else Design(inputs, chosen)


def _flat(table: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, str, Any]]:
    """Yield input name, key as the file shows it, and value, whatever the depth of the tables."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}".replace(".", "_"), f"{prefix}{key}", value


def _converted(entry: Input, value: Any) -> Any:
    if isinstance(value, bool | list):
        raise DesignError([Problem("", "is neither a number nor a text")])
    if isinstance(value, float) and math.isnan(value):
        raise DesignError([Problem("", "is not a number")])
    if isinstance(value, date | time):
        value = value.isoformat()
    if isinstance(value, str) and entry.kind == "number":
        return number_in_unit(value, entry.unit if entry.unit in UNITS else "")
    return value


def _not_accepted(evaluation: Evaluation, file: Path, inputs: Mapping[str, Any], given: Mapping[str, tuple[str, Any]]) -> list[Problem]:
    entries = evaluation.model.inputs
    plain = plain_inputs(evaluation.model, inputs, file.name)
    values = evaluation.values_of(plain, [f"status_{entry.name}" for entry in entries] + [entry.default_name for entry in entries])
    found = []
    for entry in entries:
        status = values[f"status_{entry.name}"]
        if entry.name in inputs and status not in (ENTERED, DEFAULT, MISSING):
            key, value = given[entry.name]
            found.append(_problem(file, key, entry, str(status), value))
        elif entry.name not in given and status not in (ENTERED, DEFAULT, MISSING):
            default = number_text(values[entry.default_name] if entry.default_name else entry.blank)
            found.append(_problem(file, entry.name, entry, f"its default {default} contradicts another value", "blank"))
    return found


def _problem(file: Path, key: str, entry: Input, fault: str, value: Any) -> Problem:
    got = (repr(value) if isinstance(value, str) else str(value))[:LONGEST_SHOWN]
    advice = "write decimals with a point, without thousands" if isinstance(value, str) and "," in value else ""
    return Problem(f"{file.name}, {key} ({entry.label})", fault, got, accepted(entry), advice)
