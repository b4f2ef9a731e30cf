"""The worked examples of ``templates/proof.toml``: what is given, and what a source prints."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import Citation, cite

FILE = TEMPLATES / "proof.toml"
NOTHING: Any = ""
_KEYS = {"key", "title", "source", "place", "mark", "published", "profiles", "inputs", "own", "codes", "blank", "note", "results"}


@dataclass(frozen=True)
class Result:
    """What a source prints for one value of the model, and how far the workbook may be from it."""

    name: str
    printed: str
    within: float
    profiles: tuple[str, ...]

    @property
    def value(self) -> float:
        """The printed number."""
        return float(self.printed)


@dataclass(frozen=True)
class Example:
    """One example; ``profiles`` is empty if it holds under every profile.

    ``own`` are figures of the code that the source follows; under the profiles of ``codes`` the profile's own stand in
    their place. ``published`` is false for points that this project computed itself with a general library.
    """

    key: str
    title: str
    citation: Citation
    published: bool
    profiles: tuple[str, ...]
    inputs: Mapping[str, float | str]
    own: Mapping[str, float]
    codes: tuple[str, ...]
    blank: tuple[str, ...]
    note: str
    results: tuple[Result, ...]

    def given(self, profile: str) -> dict[str, float | str]:
        """Return what is given under a profile: the inputs, its own code's figures where they differ, and blanks."""
        own = {} if profile in self.codes else self.own
        return {**self.inputs, **own, **dict.fromkeys(self.blank, NOTHING)}


def read_examples(path: Path = FILE) -> tuple[Example, ...]:
    """Return the examples of a file.

    Raises
    ------
    DeclarationError
        listing everything in it that is not as it should be.

    """
    return _read(path)


@lru_cache(maxsize=4)
def _read(path: Path) -> tuple[Example, ...]:
    raw = tomllib.loads(path.read_text(encoding="utf-8"))["example"]
    problems: list[Problem] = []
    for row in raw:
        where = f"{path.name} [{row.get('key', '?')}]"
        problems += [Problem(where, "unknown word", word, ", ".join(sorted(_KEYS))) for word in sorted(set(row) - _KEYS)]
        lacking = [word for word in ("key", "title", "source", "inputs", "results") if word not in row]
        problems += [Problem(where, f"has no {word}") for word in lacking]
        printed = [str(result.get("printed")) for result in row.get("results", [])]
        problems += [Problem(where, "printed result is not a number", text) for text in printed if not _is_number(text)]
    keys = [row.get("key") for row in raw]
    problems += [Problem(path.name, "two examples have one key", str(key)) for key in sorted(set(keys)) if keys.count(key) > 1]
    if problems:
        raise DeclarationError(problems)
    return tuple(_example(row) for row in raw)


def _is_number(text: str) -> bool:
    try:
        return bool(np.isfinite(float(text)))
    except ValueError:
        return False


def _example(row: dict[str, Any]) -> Example:
    inputs = {name: float(value) if isinstance(value, int) else value for name, value in row["inputs"].items()}
    results = tuple(
        Result(one["name"], one["printed"], one.get("within", _half_unit(one["printed"])), tuple(one.get("profiles", ())))
        for one in row["results"]
    )
    return Example(
        row["key"],
        row["title"],
        cite(row["source"], row.get("place", ""), row.get("mark", "checked")),
        row.get("published", True),
        tuple(row.get("profiles", ())),
        inputs,
        {name: float(value) for name, value in row.get("own", {}).items()},
        tuple(row.get("codes", ())),
        tuple(row.get("blank", ())),
        row.get("note", ""),
        results,
    )


def _half_unit(printed: str) -> float:
    """Return half a unit of the last printed digit: no rounded figure can be nearer to the truth than this."""
    decimals = len(printed.partition(".")[2])
    return float(0.5 / 10**decimals)
