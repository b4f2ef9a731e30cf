"""Variations: the very calculations of the design at other values of a few inputs, such as other numbers of modules.

Nothing is declared again. From the targets the graph is followed back to the inputs that vary; what rests on them is
worked once for each of their values, what rests on two of them once for each pair, and everything else is the design's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product

from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.steps import Argument, Calculation, Given

MOST_AXES = 2


@dataclass(frozen=True)
class Axis:
    """An input that varies: the block in which its rows stand, the letter of a row's key, its words, and its values."""

    varies: str
    block: str
    letter: str
    words: str
    values: tuple[float, ...]

    def key(self, value: float) -> str:
        """Return the key of a value among the rows."""
        return f"{self.letter}{value:g}"


@dataclass(frozen=True)
class Place:
    """One row of a block: the values of its axes, its key and its label."""

    block: str
    key: str
    label: str
    values: Mapping[str, float]

    def name(self, node: str) -> str:
        """Return the key of a value of the design as it is here."""
        return f"{self.block}_{self.key}_{node}"


@dataclass(frozen=True)
class Variation:
    """The targets that are wanted at other values of the axes; ``block`` is where what rests on two axes stands.

    There are one or two axes. ``replaced`` are values of the design that another value, or a figure, stands for at every
    place. Quantities and checks
    stand on ``sheet``, the cells of grids, such as the steps of a search, on ``search_sheet``.
    """

    block: str
    title: str
    words: str
    axes: tuple[Axis, ...]
    targets: tuple[str, ...]
    sheet: str
    search_sheet: str
    replaced: Mapping[str, Argument] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not 1 <= len(self.axes) <= MOST_AXES:
            raise DeclarationError([Problem(f"variation {self.block}", "has too few or too many axes", str(len(self.axes)), "1 or 2")])

    def places(self) -> dict[frozenset[str], list[Place]]:
        """Return the rows of each block, by the names of the inputs that vary in it."""
        found = {frozenset({axis.varies}): [self._place((axis,), (value,)) for value in axis.values] for axis in self.axes}
        pairs = product(*(axis.values for axis in self.axes))
        return found | {frozenset(axis.varies for axis in self.axes): [self._place(self.axes, pair) for pair in pairs]}

    def _place(self, axes: tuple[Axis, ...], values: tuple[float, ...]) -> Place:
        keys = "".join(axis.key(value) for axis, value in zip(axes, values, strict=True))
        label = " × ".join(axis.words.format(f"{value:g}") for axis, value in zip(axes, values, strict=True))
        block = axes[0].block if len(axes) == 1 else self.block
        return Place(block, keys, label, {axis.varies: value for axis, value in zip(axes, values, strict=True)})

    def nodes(self, design: Mapping[str, Calculation]) -> dict[str, frozenset[str]]:
        """Return the values of the design that vary, each after those on which it rests, with the inputs on which they do."""
        varying = {axis.varies for axis in self.axes}

        known: dict[str, frozenset[str]] = {key: frozenset() for key in self.replaced} | {key: frozenset({key}) for key in varying}

        def inputs_of(key: str) -> frozenset[str]:
            if key not in known:
                known[key] = frozenset()  # also where values need each other in a circle, which the model refuses
                needs = design[key].needs if key in design else ()
                known[key] = frozenset().union(*map(inputs_of, needs))
            return known[key]

        found: dict[str, frozenset[str]] = {}

        def visit(key: str) -> None:
            if key in found or key in varying or not inputs_of(key):
                return
            for need in design[key].needs:
                visit(need)
            found[key] = inputs_of(key)

        unknown = [target for target in self.targets if target not in design]
        fixed = [target for target in self.targets if target in design and not inputs_of(target)]
        problems = [Problem(f"variation {self.block}", "wants a value that is declared nowhere", one) for one in unknown]
        problems += [Problem(f"variation {self.block}", "wants a value that rests on nothing that varies", one) for one in fixed]
        if problems:
            raise DeclarationError(problems)
        for target in self.targets:
            visit(target)
        return found

    def calculations(self, design: Mapping[str, Calculation]) -> Iterator[Calculation]:
        """Yield the calculations of the design at every place."""
        nodes, places = self.nodes(design), self.places()
        steps = {node: replace(design[node].step, single=True) for node in nodes}
        for inputs, rows in places.items():
            mine = [node for node, rests_on in nodes.items() if rests_on == inputs]
            for place in rows:
                for node in mine:
                    yield self._at(place, replace(design[node], step=steps[node]), nodes)

    def _at(self, place: Place, calculation: Calculation, nodes: Mapping[str, frozenset[str]]) -> Calculation:
        bound = {name: self._argument(place, one, nodes) for name, one in calculation.bound.items()}
        return replace(calculation, key=place.name(calculation.key), bound=bound, label=place.label, family=place.block)

    def _argument(self, place: Place, argument: Argument, nodes: Mapping[str, frozenset[str]]) -> Argument:
        if not isinstance(argument, str):
            return argument
        if argument in self.replaced:
            return self.replaced[argument]
        if argument in place.values:
            return Given(place.values[argument], place.name(argument))
        return self.at(place, nodes[argument]).name(argument) if argument in nodes else argument

    def at(self, place: Place, inputs: frozenset[str]) -> Place:
        """Return the place where what rests on these inputs alone stands, seen from a place where more of them vary."""
        if inputs == frozenset(place.values):
            return place
        axes = tuple(axis for axis in self.axes if axis.varies in inputs)
        return self._place(axes, tuple(place.values[axis.varies] for axis in axes))
