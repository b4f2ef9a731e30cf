"""What the code asks from which voltage of the array on."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value

chapter = Part("protection", continues=True)

rules = chapter.grid(
    Grid(
        "rules",
        "What is asked from which array voltage on",
        "Each row of the profile's table of thresholds, for this array's cold voltage.",
        "thresholds",
        tuple(Row(f"n{n}", f"rule {n}", numbers={"number": float(n)}) for n in (1, 2, 3)),
        "Protection",
        single=True,
        numbers={"number": ("row of the table", "")},
    )
)


@rules.column(
    symbol="above", unit="V", words="array voltage", formula='IF(number>COUNT(thresholds_volts),"",INDEX(thresholds_volts,number))'
)
def volts(number: Value, *, thresholds: Table) -> Value:
    return thresholds.row(number, "volts")


@rules.column(
    kind="text",
    symbol="here",
    words="whether it applies; a tie counts as above",
    formula='IF(ROUND(array_voc_cold,6)>=ROUND(volts,6),"applies","does not apply")',
)
def applies(array_voc_cold: Value, volts: Value) -> Value:
    return np.where(round_half_away(array_voc_cold, 6) >= round_half_away(volts, 6), "applies", "does not apply")


@rules.column(
    kind="text",
    symbol="what is asked",
    words="what the code asks",
    wide=True,
    formula='IF(number>COUNT(thresholds_volts),"",INDEX(thresholds_rule,number))',
)
def rule(number: Value, *, thresholds: Table) -> Value:
    return thresholds.row(number, "rule")


@chapter.quantity(
    kind="text",
    unit="",
    label="Touch voltage of the array",
    words="Against the lowest threshold of the profile.",
    formula='IF(ROUND(array_voc_cold,6)>ROUND(INDEX(thresholds_volts,1),6),"above the lowest threshold: guard live parts",'
    '"below the lowest threshold")',
    source="thresholds",
)
def touch_voltage(array_voc_cold: Value, *, thresholds: Table) -> Value:
    above = round_half_away(array_voc_cold, 6) > round_half_away(thresholds.column("volts").values[0], 6)
    return np.where(above, "above the lowest threshold: guard live parts", "below the lowest threshold")
