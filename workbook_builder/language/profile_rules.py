"""What every profile gives, within which bounds, and in which order: a slip in its data must not become a rule that is too weak.

The bounds are wide: they tell a factor from its inverse, per cent from shares, feet from metres. Where a code makes something
safer by a factor, the factor is not below 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from workbook_builder.language.errors import Problem
from workbook_builder.language.inputs import Constant
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import Table, read_table

PLACES = ("dwelling", "other building", "not on a building")
# duties by voltage, current and place: the questions are the same in every profile, what each code asks is in its own table
DUTIES = read_table(
    TEMPLATES / "duties.csv",
    "duty_questions",
    "If a duty of the code is not met",
    own_rule("hazard and nearest change of each duty"),
    "Rows in the order of the questions on the sheet Entries.",
)
DUTY_KEYS = tuple(str(key) for key in DUTIES.column("key").values)
DUTY_PLACES = ("everywhere", "on a building", "inside a building", "dwelling", "nowhere")
RISES, FALLS, STEPS, FREE = "rises", "falls", "rises at each row", "free"
NEVER = 100_000  # stands for a voltage or current that is never reached


@dataclass(frozen=True)
class Bounds:
    """Unit and range of a value, or of the numbers of a column and how they go on from row to row."""

    unit: str
    low: float
    high: float
    order: str = FREE


# so that a formula never meets a hole
VALUES = {
    "code_current_factor": Bounds("", 1, 2),
    "code_continuous_factor": Bounds("", 1, 2),
    "code_conductor_t": Bounds("°C", 0, 100),
    "code_conductor_alpha": Bounds("1/K", 0.002, 0.006),
    "code_terminal_t": Bounds("°C", 50, 90),
    "code_terminal_t_high": Bounds("°C", 50, 90),
    "code_terminal_amps": Bounds("A", 1, NEVER),
    "code_string_free": Bounds("", 0, 2),
    "code_string_current": Bounds("", 1, 2),
    "code_string_rating": Bounds("", 1, 1.5),
    "code_fuse_low": Bounds("", 1, 2),
    "code_fuse_high": Bounds("", 1.5, 1000),
    "code_array_fuse_high": Bounds("", 1.5, 1000),
    "code_battery_fuse": Bounds("", 1, 2),
    "code_string_device": Bounds("", 0, 1),
    "code_buried_share": Bounds("", 0.3, 1),
    "code_earth_by_area": Bounds("", 0, 1),
}
TEXT = None  # a column of texts
TABLES: dict[str, dict[str, Bounds | None]] = {
    "voltage_correction": {"t_min": Bounds("°C", -60, 40, STEPS), "factor": Bounds("", 1, 1.5, FALLS)},
    "voltage_limit": {"place": TEXT, "limit": Bounds("V", 30, 3000)},
    "conductors": {"size": TEXT, "area": Bounds("mm²", 0.1, 1000, STEPS), "ohm_km": Bounds("Ω/km", 0.01, 200, FALLS)},
    "ampacity": {"key": TEXT, "amps": Bounds("A", 1, 5000)},
    "ambient_bands": {"t_to": Bounds("°C", -60, 150, STEPS)},
    "ambient_factors": {"key": TEXT, "factor": Bounds("", 0, 1.5)},
    "grouping": {"conductors_to": Bounds("", 1, 1000, STEPS), "factor": Bounds("", 0.1, 1, FALLS)},
    "insulations": {"name": TEXT, "t_rated": Bounds("°C", 50, 250, STEPS)},
    "small_conductors": {"size": TEXT, "amps": Bounds("A", 1, NEVER)},
    "standard_ratings": {"amps": Bounds("A", 0.1, 10_000, STEPS)},
    "thresholds": {"volts": Bounds("V", 1, 3000, STEPS), "rule": TEXT, "clause": TEXT},
    "earth_conductors": {"up_to": Bounds("", 0.1, 10_000, STEPS), "size": TEXT},
    "duties": {"key": TEXT, "volts": Bounds("V", 0, NEVER), "amps": Bounds("A", 0, NEVER), "place": TEXT, "rule": TEXT},
}
# within a kind of insulation: ampacity with the size of the conductor, the correction with the temperature of the air
BY_INSULATION = {"ampacity": RISES, "ambient_factors": FALLS}
# what declarations cite by a key of their own; values and tables above carry their clauses with them
CLAUSES = {
    "cold_voltage",
    "voltage_method",
    "voltage_by_coefficient",
    "voltage_rating",
    "maker_instructions",
    "array_current",
    "conductor_ampacity",
    "overcurrent",
    "reverse_current",
    "array_cable_protection",
    "breaking_capacity",
    "roof_heat",
    *(f"duty_{key}" for key in DUTY_KEYS),
}


def faults(place: str, values: list[Constant], tables: list[Table], clauses: set[str], others: set[str]) -> list[Problem]:
    """Return what is wrong with the values, tables and clauses of a profile; ``others`` are the names of its values and tables."""
    where = f"{place}/profile.toml"
    names, known = {value.name for value in values}, {table.name: table for table in tables}
    lacking = sorted(VALUES.keys() - names) + [name for name in TABLES if name not in known]
    found = [Problem(where, "lacks a value or table", name, "every profile gives it") for name in lacking]
    for value in values:
        if value.name in VALUES:
            found += _value_faults(f"{where} [values.{value.name}]", value, VALUES[value.name])
    for name, columns in TABLES.items():
        if name in known:
            found += _table_faults(place, known[name], columns)
    found += _of_some_rows(place, known) if not found else []
    found += [Problem(where, "lacks a clause", key, "every profile gives it") for key in sorted(CLAUSES - clauses)]
    return found + [Problem(where, "a clause has the name of a value or table", key) for key in sorted(clauses & others)]


def _value_faults(where: str, value: Constant, bounds: Bounds) -> Iterator[Problem]:
    if value.unit != bounds.unit:
        yield Problem(where, "has another unit than it should", value.unit or "none", bounds.unit or "none")
    elif not bounds.low <= value.value <= bounds.high:
        yield Problem(where, "is out of range", f"{value.value:g}", f"{bounds.low:g} to {bounds.high:g} {bounds.unit}".strip())


def _table_faults(place: str, table: Table, wanted: dict[str, Bounds | None]) -> list[Problem]:
    where = f"{place}/{table.name}.csv"
    names = tuple(column.name for column in table.columns)
    if names != tuple(wanted):
        return [Problem(where, "has other columns than it should", ", ".join(names), ", ".join(wanted))]
    found = []
    for column, (name, bounds) in zip(table.columns, wanted.items(), strict=True):
        at = f"{where}, column {name}"
        if bounds is None:
            empty = [str(row) for row, value in enumerate(column.values, 4) if not str(value).strip()]
            found += [Problem(at, "has an empty cell", f"row {row}", "a text") for row in empty]
            continue
        if column.unit != bounds.unit:
            found.append(Problem(at, "has another unit than it should", column.unit or "none", bounds.unit or "none"))
        numbers = [value for value in column.values if not isinstance(value, str) and math.isfinite(value)]
        if len(numbers) < len(column.values):
            bad = [str(value) for value in column.values if value not in numbers]
            found += [Problem(at, "is not a number", value, "plain numbers") for value in bad]
            continue
        span = f"{bounds.low:g} to {bounds.high:g} {bounds.unit}".strip()
        outside = [number for number in numbers if not bounds.low <= number <= bounds.high]
        found += [Problem(at, "is out of range", f"{number:g}", span) for number in outside]
        found += _order_faults(at, numbers, bounds.order)
    return found


def _order_faults(at: str, numbers: list[float], order: str) -> Iterator[Problem]:
    in_order = {
        RISES: all(one <= other for one, other in pairwise(numbers)),
        STEPS: all(one < other for one, other in pairwise(numbers)),
        FALLS: all(one >= other for one, other in pairwise(numbers)),
    }
    if not in_order.get(order, True):
        wanted = {RISES: "none below the one before it", STEPS: "each above the one before it", FALLS: "none above the one before it"}
        word = "must ascend" if order in (RISES, STEPS) else "must not rise"
        yield Problem(at, f"the numbers {word}", ", ".join(f"{number:g}" for number in numbers), wanted[order])


def _of_some_rows(place: str, tables: dict[str, Table]) -> Iterator[Problem]:
    """Yield what is wrong with the rows of tables whose columns are as they should be."""
    for name, order in BY_INSULATION.items():
        keys, numbers = (column.values for column in tables[name].columns)
        for insulation in tables["insulations"].column("name").values:
            own = [number for key, number in zip(keys, numbers, strict=True) if str(key).endswith(f"|{insulation}")]
            if not own:
                yield Problem(f"{place}/{name}.csv", "lacks rows of an insulation", str(insulation))
            yield from _order_faults(f"{place}/{name}.csv, rows of {insulation}", [float(number) for number in own], order)
    listed = {str(value) for value in tables["voltage_limit"].column("place").values}
    for option in PLACES:
        if option not in listed:
            yield Problem(f"{place}/voltage_limit.csv", "lacks a row", option, ", ".join(PLACES))
    where, duties = f"{place}/duties.csv", tables["duties"]
    own_keys = tuple(str(key) for key in duties.column("key").values)
    if own_keys != DUTY_KEYS:
        yield Problem(where, "has other rows than it should", ", ".join(own_keys), ", ".join(DUTY_KEYS))
    for one in duties.column("place").values:
        if one not in DUTY_PLACES:
            yield Problem(where, "names a place that is not known", str(one), ", ".join(DUTY_PLACES))
