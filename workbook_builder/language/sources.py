"""The bibliography, and how a value says where it comes from and how far that was checked."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache

from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.locations import TEMPLATES

CHECKED = "checked"
COMMON_PRACTICE = "common practice"
FROM_MEMORY = "from memory"
OWN_RULE = "rule of this workbook"
MARKS = {
    CHECKED: "compared with the text of the source, or with independent copies of it",
    COMMON_PRACTICE: "what careful practitioners use; no published source is claimed",
    FROM_MEMORY: "recalled from the named source, not yet compared with its text: confirm before relying on it",
    OWN_RULE: "chosen by this project, on the safe side, and explained where it stands",
}


@dataclass(frozen=True, slots=True)
class Source:
    """One entry of the bibliography."""

    key: str
    title: str
    publisher: str
    edition: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Citation:
    """Where one value or rule comes from: a source, the place in it, and a mark for how far it was checked."""

    mark: str
    source: str = ""
    place: str = ""

    def __str__(self) -> str:
        if not self.source:
            return f"{self.mark}{': ' + self.place if self.place else ''}"
        title = bibliography()[self.source].title
        where = f"{title}, {self.place}" if self.place else title
        return where if self.mark == CHECKED else f"{where} ({self.mark})"


@lru_cache(maxsize=1)
def bibliography() -> dict[str, Source]:
    """Return every source by its key, in the order of ``templates/sources.toml``."""
    entries = tomllib.loads((TEMPLATES / "sources.toml").read_text(encoding="utf-8"))
    return {key: Source(key, **entry) for key, entry in entries.items()}


def cite(source: str, place: str = "", mark: str = CHECKED) -> Citation:
    """Return a citation of a source of the bibliography.

    Raises
    ------
    DeclarationError
        if the bibliography has no such source, or the mark is none of :data:`MARKS`.

    """
    problems = []
    if source not in bibliography():
        accepted = ", ".join(bibliography())
        problems.append(Problem("sources.toml", "has no such source", source, accepted, "add the source there first"))
    if mark not in MARKS:
        problems.append(Problem(f"citation of {source}", "unknown mark", mark, ", ".join(MARKS)))
    if problems:
        raise DeclarationError(problems)
    return Citation(mark, source, place)


def cited(source: Citation | str) -> Citation:
    """Return the source of a declaration of a model, in which every name of a clause has been replaced by its citation.

    Raises
    ------
    TypeError
        if it is still a name: then the declaration is not one of a model.

    """
    if isinstance(source, str):
        raise TypeError(f"{source} is the name of a clause: only a model with its profile knows what it cites")
    return source


def common_practice(reason: str = "") -> Citation:
    """Return the mark of what practitioners do without a published source."""
    return Citation(COMMON_PRACTICE, place=reason)


def own_rule(reason: str) -> Citation:
    """Return the mark of a rule that this project chose, with its reason."""
    return Citation(OWN_RULE, place=reason)
