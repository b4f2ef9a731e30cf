"""Filling in what only a profile knows: figures in declared words, clauses as sources, and lists of choices.

This is done here and nowhere else, when a model is made. In words, ``{code_battery_fuse}`` stands for the number of that
constant or profile value, ``{roof_adder:unit}`` for it with its unit, and ``{utilisation_lowest:%}`` for a share in per
cent. In the words of a relation ``{lowest}`` and ``{highest}`` are its own bounds.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from workbook_builder.language.chapters import Chapter
from workbook_builder.language.declare import Check, Quantity
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.grids import Grid
from workbook_builder.language.inputs import Constant, EntryTable, Input, Relation
from workbook_builder.language.profiles import Clause, Profile
from workbook_builder.language.sources import Citation
from workbook_builder.language.tables import Table
from workbook_builder.language.variations import Variation
from workbook_builder.language.wording import number_text

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
HUNDRED = 100
UNIT, PER_CENT = "unit", "%"
Figures = Mapping[str, tuple[float, str]]
Declared = TypeVar("Declared")


def filled_in(chapters: Sequence[Chapter], profile: Profile) -> tuple[tuple[Chapter, ...], Profile, Words]:
    """Return chapters and profile with every figure, source and list of choices filled in, and what fills in other texts.

    Raises
    ------
    DeclarationError
        naming the place of each figure, source or list that there is not.

    """
    constants = [constant for chapter in chapters for constant in chapter.constants] + list(profile.values)
    tables = [table for chapter in chapters for table in chapter.tables] + list(profile.tables)
    words = Words({constant.name: (constant.value, constant.unit) for constant in constants})
    filling = _Filling(
        words,
        profile.sources(),
        {name: column.values for table in tables for name, column in zip(table.names(), table.columns, strict=True)},
    )
    found = tuple(filling.chapter(chapter) for chapter in chapters), filling.profile(profile), words
    if words.problems:
        raise DeclarationError(words.problems)
    return found


@dataclass
class Words:
    """What fills figures into texts, by the names of constants and profile values."""

    figures: Figures
    problems: list[Problem] = field(default_factory=list)

    def filled(self, text: str, place: str, own: Figures | None = None) -> str:
        """Return a text with its figures; what is not known is noted as a problem of that place."""
        if "{" not in text and "}" not in text:
            return text

        def figure(match: re.Match[str]) -> str:
            name, _, wish = match[1].partition(":")
            known = (own or {}).get(name) or self.figures.get(name)
            if known is None:
                self.problems.append(Problem(place, "fills in a figure that is no constant and no value of the profile", match[0]))
            elif wish not in ("", UNIT, PER_CENT):
                self.problems.append(Problem(place, "fills in a figure in an unknown form", match[0], f":{UNIT} or :{PER_CENT}"))
            else:
                return shown(*known, wish)
            return match[0]

        if re.search(r"[{}]", PLACEHOLDER.sub("", text)):
            self.problems.append(Problem(place, "has a brace without its other", text))
        return PLACEHOLDER.sub(figure, text)


def shown(number: float, unit: str, wish: str = "") -> str:
    """Return a figure as words show it, with its unit or in per cent where that is wished."""
    text = number_text(number * HUNDRED if wish == PER_CENT else number).replace("-", "−")
    if wish == PER_CENT:
        return f"{text} %"
    return f"{text} {unit}".strip() if wish == UNIT else text


@dataclass
class _Filling:
    words: Words
    sources: Mapping[str, Citation]
    columns: Mapping[str, tuple[Any, ...]]

    def _said(self, text: str, place: str, own: Figures | None = None) -> str:
        return self.words.filled(text, place, own)

    def _source(self, source: Citation | str, place: str) -> Citation:
        if isinstance(source, Citation):
            return _changed(source, place=self._said(source.place, f"source of {place}"))
        if source not in self.sources:
            self.words.problems.append(Problem(f"source of {place}", "is no value, table or clause of the profile", source))
            return Citation("")
        found = self.sources[source]
        return _changed(found, place=self._said(found.place, f"source of {place}"))

    def profile(self, profile: Profile) -> Profile:
        return _changed(
            profile,
            values=tuple(self._constant(value) for value in profile.values),
            tables=tuple(self._table(table) for table in profile.tables),
            clauses=tuple(Clause(one.key, self._source(one.source, f"the clause {one.key}")) for one in profile.clauses),
        )

    def chapter(self, chapter: Chapter) -> Chapter:
        quantities = {id(one): self._quantity(one) for one in chapter.quantities}
        grids = {id(one): self._grid(one) for one in chapter.grids}
        others = {id(one): self._variation(one) for one in chapter.variations}
        return replace(
            chapter,
            title=self._said(chapter.title, f"title of chapter {chapter.name}"),
            intro=self._said(chapter.intro, f"introduction of chapter {chapter.name}"),
            constants=tuple(self._constant(one) for one in chapter.constants),
            tables=tuple(self._table(one) for one in chapter.tables),
            inputs=tuple(self._input(one) for one in chapter.inputs),
            quantities=tuple(quantities.values()),
            checks=tuple(self._check(one) for one in chapter.checks),
            grids=tuple(grids.values()),
            entry_tables=tuple(self._entry_table(one) for one in chapter.entry_tables),
            variations=tuple(others.values()),
            steps=tuple((quantities | grids | others)[id(one)] for one in chapter.steps),
        )

    def _constant(self, one: Constant) -> Constant:
        place = one.name
        return _changed(one, label=self._said(one.label, f"label of {place}"), source=self._source(one.source, place))

    def _table(self, one: Table) -> Table:
        columns = tuple(_changed(column, label=self._said(column.label, f"{one.name}, column {column.name}")) for column in one.columns)
        return _changed(
            one,
            title=self._said(one.title, f"title of {one.name}"),
            note=self._said(one.note, f"note of {one.name}"),
            columns=columns,
            source=self._source(one.source, one.name),
        )

    def _input(self, one: Input) -> Input:
        options = one.options
        if one.options_from:
            if one.options_from in self.columns:
                options = self.columns[one.options_from]
            else:
                self.words.problems.append(Problem(f"choices of {one.name}", "is no column of a table", one.options_from))
        return _changed(
            one,
            label=self._said(one.label, f"label of {one.name}"),
            where=self._said(one.where, f"where to find {one.name}"),
            relations=tuple(self._relation(relation, one.name) for relation in one.relations),
            blank_source=None if one.blank_source is None else self._source(one.blank_source, f"{one.name}, if left blank"),
            options=options,
        )

    def _relation(self, one: Relation, place: str) -> Relation:
        bounds = {"lowest": one.lowest, "highest": one.highest}
        own = {name: (bound, "") for name, bound in bounds.items() if bound is not None}
        return _changed(one, words=self._said(one.words, f"relation of {place}", own))

    def _entry_table(self, one: EntryTable) -> EntryTable:
        return _changed(
            one,
            title=self._said(one.title, f"title of {one.name}"),
            words=self._said(one.words, f"words of {one.name}"),
            items=tuple((key, self._said(label, f"{one.name}, row {key}")) for key, label in one.items),
            fields=tuple((key, self._said(label, f"{one.name}, column {key}")) for key, label in one.fields),
        )

    def _quantity(self, one: Quantity) -> Quantity:
        return _changed(
            one,
            label=self._said(one.label, f"label of {one.name}"),
            words=self._said(one.words, f"words of {one.name}"),
            source=self._source(one.source, one.name),
        )

    def _check(self, one: Check) -> Check:
        advice = one.advice
        if advice:
            before, name, *rest = (text if place == 1 else self._said(text, f"advice of {one.name}") for place, text in enumerate(advice))
            advice = (before, name, *rest)
        return _changed(
            one,
            label=self._said(one.label, f"label of {one.name}"),
            words=self._said(one.words, f"words of {one.name}"),
            source=self._source(one.source, one.name),
            sentences={verdict: self._said(said, f"sentence of {one.name} for {verdict}") for verdict, said in one.sentences.items()},
            advice=advice,
        )

    def _variation(self, one: Variation) -> Variation:
        place = f"variation {one.block}"
        return _changed(one, title=self._said(one.title, f"title of {place}"), words=self._said(one.words, f"words of {place}"))

    def _grid(self, one: Grid) -> Grid:
        return one.with_words(lambda text, part: self._said(text, f"{part} of {one.name}"), self._source(one.source, one.name))


def _changed(declared: Declared, **parts: Any) -> Declared:
    """Return a declaration with some parts replaced: itself where none of them differs."""
    differing = {name: part for name, part in parts.items() if getattr(declared, name) != part}
    return replace(declared, **differing) if differing else declared  # type: ignore[type-var]
