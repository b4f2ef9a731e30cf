"""Sparks near a lead-acid battery: how far switches, fuses and the controller must stay away, and who shares its box."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOT_KNOWN, PASS

chapter = Part("enclosure", continues=True)
VICINITY = cite("iec-62485-2", "close vicinity of the battery", FROM_MEMORY)
SHARED = common_practice("relays, switches and fuses of a controller spark, and its electronics corrode; makers forbid it")

chapter.number(
    "battery_spark_distance",
    "mm",
    0,
    50_000,
    "Distance from the battery to the nearest device that can spark",
    blank=OPTIONAL,
    where="your design: from the vents of the battery, through the air, to the nearest controller, switch, fuse, relay or socket; "
    "blank: a lead-acid battery is not judged",
)
chapter.choice(
    "enclosure_shared",
    ("no", "yes", NOT_KNOWN),
    "Whether the battery and the controller share one box",
    blank=OPTIONAL,
    where="your design; a wall that holds gas between them makes two boxes; blank: a lead-acid battery in a box is not judged",
)
chapter.constant("vicinity_factor", 28.8, "mm/mA^⅓", "Distance for the cube root of the gassing current", "", VICINITY)
chapter.constant(
    "block_cells_least",
    6,
    "",
    "Cells that vent through one block, at least",
    "",
    common_practice("a 12 V block; the safe side for single cells"),
)


@chapter.quantity(
    symbol="N",
    unit="",
    label="Cells that vent through one block",
    words="Those of one lead-acid battery, and no fewer than {block_cells_least}.",
    formula="MAX(block_cells_least,battery_block/lead_cell)",
    source=VICINITY,
)
def block_cells(block_cells_least: Value, battery_block: Value, lead_cell: Value) -> Value:
    return np.maximum(block_cells_least, battery_block / lead_cell)


@chapter.quantity(
    symbol="d",
    unit="mm",
    label="No sparks, switches, fuses or controller nearer to the battery than this",
    words="{vicinity_factor} × cube root of the cells of a block × cube root of gassing current and capacity. All strings count as one.",
    formula="vicinity_factor*(block_cells*gas_current*gas_ah)^(1/3)",
    source=VICINITY,
)
def ventilation_distance(vicinity_factor: Value, block_cells: Value, gas_current: Value, gas_ah: Value) -> Value:
    return vicinity_factor * np.cbrt(block_cells) * (gas_current * gas_ah) ** (1 / 3)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the battery may be in a box",
    words="Yes for a box or cabinet, and while its place is blank.",
    formula='IF(OR(battery_place="room",battery_place="open air"),"no","yes")',
    source=SHARED,
    optional=("battery_place",),
)
def battery_boxed(battery_place: Value) -> Value:
    return np.where((battery_place == "room") | (battery_place == "open air"), "no", "yes")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether sparks share a box with the battery",
    words="A yes counts wherever the battery stands. A blank is asked for where the battery may be in a box.",
    formula=f'IF(enclosure_shared="yes","yes",IF(battery_boxed="no","no",IF(enclosure_shared="","{NOT_KNOWN}",enclosure_shared)))',
    source=SHARED,
    optional=("enclosure_shared",),
)
def spark_shared(enclosure_shared: Value, battery_boxed: Value) -> Value:
    answered = np.where(battery_boxed == "no", "no", np.where(enclosure_shared == "", NOT_KNOWN, enclosure_shared))
    return np.where(enclosure_shared == "yes", "yes", answered)


@chapter.quantity(
    kind="text",
    unit="",
    label="Distance of sparks against what is needed",
    words="Enough, or less.",
    formula='IF(battery_spark_distance="","not given",IF(ROUND(battery_spark_distance,6)>=ROUND(ventilation_distance,6),"enough","less"))',
    source=VICINITY,
    optional=("battery_spark_distance",),
)
def spark_state(battery_spark_distance: Value, ventilation_distance: Value) -> Value:
    far = round_half_away(battery_spark_distance, 6) >= round_half_away(ventilation_distance, 6)
    return np.where(np.isnan(battery_spark_distance), "not given", np.where(far, "enough", "less"))


@chapter.quantity(
    symbol="d",
    unit="mm",
    label="Distance from the battery to sparks that is enough, rounded up",
    words="To whole centimetres.",
    formula="ROUNDUP(ROUND(ventilation_distance/centimetre,6),0)*centimetre",
    source=VICINITY,
)
def ventilation_distance_up(ventilation_distance: Value, centimetre: Value) -> Value:
    return np.ceil(round_half_away(ventilation_distance / centimetre, 6)) * centimetre


chapter.constant("centimetre", 10, "mm", "One centimetre", "", cite("si"))


@chapter.check(
    safety=True,
    label="Sparks stay away from the battery",
    words="Distance to the nearest device that can spark, not below the close vicinity of a lead-acid battery. The controller is not "
    "in the battery's box.",
    value="battery_spark_distance",
    at_least="ventilation_distance",
    formula='IF(battery_chemistry="LiFePO4","N/A",IF(OR(spark_shared="",spark_state=""),"INCOMPLETE",'
    'IF(OR(spark_shared="yes",spark_state="less"),"FAIL",IF(AND(spark_shared="no",spark_state="enough"),"PASS","NOT JUDGED"))))',
    source=own_rule("the close vicinity of IEC 62485-2, and no controller in the battery's box"),
    optional=("spark_shared", "spark_state"),
    asks=("battery_place", "battery_spark_distance", "enclosure_shared"),
    advice=("A distance of ", "ventilation_distance_up", " mm is enough, outside the battery's box."),
    sentences={
        PASS: "No device that can spark stands where hydrogen can still explode.",
        FAIL: "A device that can spark is in the battery's box, or too near to the vents. A spark can explode the hydrogen. Move the "
        "controller, switches and fuses out of the box and away from the battery.",
        NOT_JUDGED: "A lead-acid battery gives off hydrogen. Nobody can say whether a spark reaches the hydrogen.",
        NOT_APPLICABLE: "LiFePO4 gives off no hydrogen while it is charged as its maker says.",
        INCOMPLETE: "The capacity of the bank, its voltages, the controller's current, or the distance is missing or not accepted.",
    },
)
def spark_distance(battery_chemistry: Value, spark_shared: Value, spark_state: Value) -> Value:
    bad = (spark_shared == "yes") | (spark_state == "less")
    good = (spark_shared == "no") & (spark_state == "enough")
    known = np.where(bad, FAIL, np.where(good, PASS, NOT_JUDGED))
    judged = np.where((spark_shared == "") | (spark_state == ""), INCOMPLETE, known)
    return np.where(battery_chemistry == "LiFePO4", NOT_APPLICABLE, judged)
