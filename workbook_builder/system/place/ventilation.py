"""Ventilation: the air that a lead-acid bank needs, the openings that let it through, and how far sparks must stay away."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, PASS, where_pass

chapter = Part("enclosure", continues=True)
AIR = cite("iec-62485-2", "air flow against hydrogen, gassing currents", FROM_MEMORY)
OPENINGS = cite("iec-62485-2", "natural ventilation, air at 0.1 m/s", FROM_MEMORY)
VICINITY = cite("iec-62485-2", "close vicinity of the battery", FROM_MEMORY)

chapter.table(
    read_table(
        TEMPLATES / "gassing.csv",
        "gassing",
        "Gas of a battery under charge",
        AIR,
        "The figure while charging, not the one while floating (5 for flooded, 1 for sealed): a charge controller brings the battery "
        "to absorption on each good day. Equalising above 2.40 V a cell gives still more gas: keep doors or lids open for those hours.",
    )
)
chapter.choice(
    "battery_place",
    ("room", "box or cabinet", "open air"),
    "Where the battery stands",
    blank=OPTIONAL,
    where="open air: a roof at most, no walls that hold gas",
)
chapter.number(
    "ventilation_opening",
    "cm²",
    1,
    100_000,
    "Free area of the smaller opening to the outside",
    blank=OPTIONAL,
    where="two openings, low and high, on opposite walls; free area between mesh and louvres",
)
chapter.constant("hydrogen_air", 0.05, "m³/Ah", "Air for each ampere-hour of gassing: dilution, hydrogen and safety factor", "v·q·s", AIR)
chapter.constant("milliamperes_per_ampere", 1000, "mA/A", "Milliamperes in an ampere", "", cite("si"))
chapter.constant("opening_per_air", 28, "cm²·h/m³", "Opening for each cubic metre an hour", "", OPENINGS)
chapter.constant("square_centimetre", 1, "cm²", "One square centimetre", "", cite("si"))
chapter.constant("vicinity_factor", 28.8, "mm/mA^⅓", "Distance for the cube root of the gassing current", "", VICINITY)
chapter.constant(
    "block_cells", 6, "", "Cells that vent through one block", "", common_practice("a 12 V block; the safe side for single cells")
)


@chapter.quantity(
    symbol="I,gas",
    unit="mA/Ah",
    label="Gassing current for each ampere-hour",
    words="The chemistry's row; none for LiFePO4.",
    formula="IF(INDEX(gassing_gas,MATCH(battery_chemistry,gassing_chemistry,0))>0,"
    'INDEX(gassing_gas,MATCH(battery_chemistry,gassing_chemistry,0)),"")',
    source=AIR,
)
def gas_current(battery_chemistry: Value, *, gassing: Table) -> Value:
    current = gassing.exact(battery_chemistry, "chemistry", "gas")
    return np.where(battery_chemistry == "LiFePO4", np.nan, 1.0) * current


@chapter.quantity(
    symbol="Q,air",
    unit="m³/h",
    label="Fresh air that the battery needs",
    words="Air for each ampere-hour × cells in series × gassing current × capacity of the bank. The formula asks for the ten-hour "
    "capacity; the capacity at twenty hours or more is larger, so taking it as entered is the safe side.",
    formula="hydrogen_air*battery_cells*gas_current*battery_bank_ah/milliamperes_per_ampere",
    source=AIR,
)
def ventilation_air(
    hydrogen_air: Value, battery_cells: Value, gas_current: Value, battery_bank_ah: Value, milliamperes_per_ampere: Value
) -> Value:
    return hydrogen_air * battery_cells * gas_current * battery_bank_ah / milliamperes_per_ampere


@chapter.quantity(
    symbol="A",
    unit="cm²",
    label="Free area of the inlet, and of the outlet",
    words="{opening_per_air} cm² for each cubic metre an hour.",
    formula="opening_per_air*ventilation_air",
    source=OPENINGS,
)
def ventilation_area(opening_per_air: Value, ventilation_air: Value) -> Value:
    return opening_per_air * ventilation_air


@chapter.quantity(
    symbol="A",
    unit="cm²",
    label="The same, rounded up",
    words="To whole square centimetres.",
    formula="ROUNDUP(ROUND(ventilation_area/square_centimetre,6),0)*square_centimetre",
    source=OPENINGS,
)
def ventilation_area_up(ventilation_area: Value, square_centimetre: Value) -> Value:
    return np.ceil(round_half_away(ventilation_area / square_centimetre, 6)) * square_centimetre


@chapter.quantity(
    symbol="d",
    unit="mm",
    label="No sparks, switches, fuses or controller nearer to the battery than this",
    words="{vicinity_factor} × cube root of the cells of a block × cube root of gassing current and capacity. All strings count as one.",
    formula="vicinity_factor*(block_cells*gas_current*battery_bank_ah)^(1/3)",
    source=VICINITY,
)
def ventilation_distance(vicinity_factor: Value, block_cells: Value, gas_current: Value, battery_bank_ah: Value) -> Value:
    return vicinity_factor * np.cbrt(block_cells) * (gas_current * battery_bank_ah) ** (1 / 3)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether openings are needed",
    words="Not for LiFePO4, and not in the open air.",
    formula='IF(OR(battery_chemistry="LiFePO4",battery_place="open air"),"no","yes")',
    source=OPENINGS,
    optional=("battery_place",),
)
def ventilation_asked(battery_chemistry: Value, battery_place: Value) -> Value:
    return np.where((battery_chemistry == "LiFePO4") | (battery_place == "open air"), "no", "yes")


@chapter.quantity(
    kind="text",
    unit="",
    label="The smaller opening against what is needed",
    words="Enough, or less.",
    formula='IF(ventilation_opening="","not given",IF(ROUND(ventilation_opening,6)>=ROUND(ventilation_area,6),"enough","less"))',
    source=OPENINGS,
    optional=("ventilation_opening",),
)
def ventilation_state(ventilation_opening: Value, ventilation_area: Value) -> Value:
    wide = round_half_away(ventilation_opening, 6) >= round_half_away(ventilation_area, 6)
    return np.where(np.isnan(ventilation_opening), "not given", np.where(wide, "enough", "less"))


@chapter.check(
    safety=True,
    label="Ventilation of the battery",
    words="The smaller opening, not below what a lead-acid bank needs. The openings lead outside, low and high.",
    value="ventilation_opening",
    at_least="ventilation_area",
    formula='IF(ventilation_asked="no","N/A",IF(ventilation_state="","INCOMPLETE",IF(ventilation_state="not given","NOT JUDGED",'
    'IF(ventilation_state="enough","PASS","FAIL"))))',
    source=OPENINGS,
    optional=("ventilation_state",),
    asks=("battery_place", "ventilation_opening"),
    advice=("Inlet and outlet of ", "ventilation_area_up", " cm² free area each would do, leading outside."),
    sentences={
        PASS: "The openings let out the hydrogen of charging. Keep doors or lids open while equalising, and keep flames and sparks away.",
        NOT_JUDGED: "The battery gives off hydrogen, which explodes: nobody can say whether it gets out.",
        FAIL: "The openings are too small: hydrogen can gather and explode. Make them larger, or put the battery in the open air.",
        NOT_APPLICABLE: "In the open air hydrogen disperses. LiFePO4 gives off none, but cells that fail burn and give off "
        "poisonous gas: keep them away from sleeping places and escape ways.",
        INCOMPLETE: "The capacity of the bank, its nominal voltage, or the area of the openings is missing or not accepted.",
    },
)
def ventilation(ventilation_asked: Value, ventilation_state: Value) -> Value:
    wide = where_pass(ventilation_state == "enough", FAIL)
    judged = np.where(ventilation_state == "", INCOMPLETE, np.where(ventilation_state == "not given", NOT_JUDGED, wide))
    return np.where(ventilation_asked == "no", NOT_APPLICABLE, judged)
