"""Ventilation: the air that a lead-acid bank needs, and the openings that let it through."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, PASS, where_pass

chapter = Part("enclosure", continues=True)
AIR = cite("iec-62485-2", "air flow against hydrogen", FROM_MEMORY)
GASSING = cite("iec-62485-2", "gassing currents at 2.40 V a cell, read in a public restatement of the table")
GROWTH = cite("schiffer-2007", "voltage coefficient of the gassing current", FROM_MEMORY)
OPENINGS = cite("iec-62485-2", "natural ventilation, air at 0.1 m/s", FROM_MEMORY)

chapter.table(
    read_table(
        TEMPLATES / "gassing.csv",
        "gassing",
        "Gas of a battery under charge",
        GASSING,
        "The figure of boost charging, not the one of floating (5 for flooded, 1 for sealed): a charge controller brings the battery "
        "to absorption on each good day. The figures hold up to about 40 °C. They hold a safety factor of 5 for aged cells.",
    )
)
chapter.choice(
    "battery_place",
    ("room", "box or cabinet", "open air"),
    "Where the battery stands",
    blank=OPTIONAL,
    where="your design; open air means a roof at most, and no walls that hold gas; blank: a lead-acid battery is not judged",
)
chapter.number(
    "ventilation_opening",
    "cm²",
    1,
    100_000,
    "Free area of the smaller opening to the outside",
    blank=OPTIONAL,
    where="two openings, low and high, on opposite walls; free area between mesh and louvres; blank: a lead-acid battery in a room "
    "or box is not judged",
)
chapter.constant("hydrogen_air", 0.05, "m³/Ah", "Air for each ampere-hour of gassing: dilution, hydrogen and safety factor", "v·q·s", AIR)
chapter.constant("milliamperes_per_ampere", 1000, "mA/A", "Milliamperes in an ampere", "", cite("si"))
chapter.constant("opening_per_air", 28, "cm²·h/m³", "Opening for each cubic metre an hour", "", OPENINGS)
chapter.constant("square_centimetre", 1, "cm²", "One square centimetre", "", cite("si"))
chapter.constant("gas_v_table", 2.4, "V", "Cell voltage to which the table of gassing currents refers", "", GASSING)
chapter.constant("gas_growth_v", 11, "1/V", "Growth of the gassing current for each volt a cell above that voltage", "c,u", GROWTH)


@chapter.quantity(
    symbol="I,2.40",
    unit="mA/Ah",
    label="Gassing current for each ampere-hour at {gas_v_table} V a cell",
    words="The chemistry's row; none for LiFePO4.",
    formula="IF(INDEX(gassing_gas,MATCH(battery_chemistry,gassing_chemistry,0))>0,"
    'INDEX(gassing_gas,MATCH(battery_chemistry,gassing_chemistry,0)),"")',
    source=GASSING,
)
def gas_current_table(battery_chemistry: Value, *, gassing: Table) -> Value:
    current = gassing.exact(battery_chemistry, "chemistry", "gas")
    return np.where(battery_chemistry == "LiFePO4", np.nan, 1.0) * current


@chapter.quantity(
    symbol="V,cell",
    unit="V",
    label="Highest charge voltage of one cell",
    words="Highest charge voltage divided by the cells in series.",
    formula="battery_v_high/battery_cells",
    source=cite("circuit-laws", "series voltages add"),
)
def gas_v_cell(battery_v_high: Value, battery_cells: Value) -> Value:
    return battery_v_high / battery_cells


HEAT = common_practice("gassing doubles for each 10 K where the voltage is not lowered by compensation")
chapter.constant("gas_t_table", 40, "°C", "Warmest battery for which the table of gassing currents holds", "", AIR)
chapter.constant("gas_t_step", 10, "K", "Heat by which gassing doubles", "", HEAT)


@chapter.quantity(
    symbol="k,heat",
    unit="",
    label="Growth of the gassing current in the heat",
    words="Twice for each {gas_t_step:unit} above {gas_t_table:unit}, where no compensation lowers the voltage; otherwise none.",
    formula="IF(compensated,1,2^(MAX(0,battery_t_max-gas_t_table)/gas_t_step))",
    source=HEAT,
)
def gas_heat(compensated: Value, battery_t_max: Value, gas_t_table: Value, gas_t_step: Value) -> Value:
    return np.where(compensated == 1, 1.0, 2 ** (np.maximum(0 * gas_t_step, battery_t_max - gas_t_table) / gas_t_step))


@chapter.quantity(
    symbol="I,grown",
    unit="mA/Ah",
    label="Gassing current at the highest charge voltage",
    words="Equalization above {gas_v_table} V a cell gives more gas: the table's figure grows by e for each 1 ÷ {gas_growth_v} V a cell. "
    "Heat lets it grow as well.",
    formula="gas_current_table*gas_heat*EXP(gas_growth_v*MAX(0,gas_v_cell-gas_v_table))",
    source=GROWTH,
)
def gas_current_grown(gas_current_table: Value, gas_heat: Value, gas_growth_v: Value, gas_v_cell: Value, gas_v_table: Value) -> Value:
    above = np.maximum(0, gas_v_cell - gas_v_table)
    return gas_current_table * gas_heat * np.exp(gas_growth_v * above)


@chapter.quantity(
    symbol="C,gas",
    unit="Ah",
    label="Capacity of the bank that counts for gas",
    words="The formulas ask for the ten-hour capacity; the entered one counts where it is larger.",
    formula="MAX(battery_bank_ah,battery_c10_ah)",
    source=AIR,
)
def gas_ah(battery_bank_ah: Value, battery_c10_ah: Value) -> Value:
    return np.maximum(battery_bank_ah, battery_c10_ah)


@chapter.quantity(
    symbol="I,all",
    unit="mA/Ah",
    label="Controller's rated current for each ampere-hour",
    words="Rated current of the controller divided by the capacity that counts for gas. No more than this can turn into gas.",
    formula="controller_i_max*milliamperes_per_ampere/gas_ah",
    source=cite("circuit-laws", "parallel currents add"),
)
def gas_current_most(controller_i_max: Value, milliamperes_per_ampere: Value, gas_ah: Value) -> Value:
    return controller_i_max * milliamperes_per_ampere / gas_ah


@chapter.quantity(
    symbol="I,gas",
    unit="mA/Ah",
    label="Gassing current for each ampere-hour",
    words="The grown current, not above the controller's, and never below the table's.",
    formula="MAX(gas_current_table,MIN(gas_current_grown,gas_current_most))",
    source=own_rule("a bank cannot gas by more than its charge current; the table's figure is the least"),
)
def gas_current(gas_current_table: Value, gas_current_grown: Value, gas_current_most: Value) -> Value:
    return np.maximum(gas_current_table, np.minimum(gas_current_grown, gas_current_most))


@chapter.quantity(
    symbol="Q,air",
    unit="m³/h",
    label="Fresh air that the battery needs",
    words="Air for each ampere-hour × cells in series × gassing current × capacity that counts for gas.",
    formula="hydrogen_air*battery_cells*gas_current*gas_ah/milliamperes_per_ampere",
    source=AIR,
)
def ventilation_air(hydrogen_air: Value, battery_cells: Value, gas_current: Value, gas_ah: Value, milliamperes_per_ampere: Value) -> Value:
    return hydrogen_air * battery_cells * gas_current * gas_ah / milliamperes_per_ampere


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
    label="Free area of the inlet, and of the outlet, rounded up",
    words="To whole square centimetres.",
    formula="ROUNDUP(ROUND(ventilation_area/square_centimetre,6),0)*square_centimetre",
    source=OPENINGS,
)
def ventilation_area_up(ventilation_area: Value, square_centimetre: Value) -> Value:
    return np.ceil(round_half_away(ventilation_area / square_centimetre, 6)) * square_centimetre


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether openings are needed",
    words="Not for LiFePO4, and not in the open air; not known while the place of a lead-acid battery is blank.",
    formula='IF(OR(battery_chemistry="LiFePO4",battery_place="open air"),"no",IF(battery_place="","not known","yes"))',
    source=OPENINGS,
    optional=("battery_place",),
)
def ventilation_asked(battery_chemistry: Value, battery_place: Value) -> Value:
    within = np.where(battery_place == "", "not known", "yes")
    return np.where((battery_chemistry == "LiFePO4") | (battery_place == "open air"), "no", within)


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
    formula='IF(ventilation_asked="no","N/A",IF(ventilation_state="","INCOMPLETE",'
    'IF(OR(ventilation_asked="not known",ventilation_state="not given"),"NOT JUDGED",IF(ventilation_state="enough","PASS","FAIL"))))',
    source=OPENINGS,
    optional=("ventilation_state",),
    asks=("battery_place", "ventilation_opening"),
    advice=("Inlet and outlet of ", "ventilation_area_up", " cm² free area each would do, leading outside."),
    sentences={
        PASS: "The openings let out the hydrogen of charging and of equalization. Keep flames and sparks away.",
        NOT_JUDGED: "A lead-acid battery gives off hydrogen, which explodes. Nobody can say whether the hydrogen gets out.",
        FAIL: "The smaller opening is less than the battery needs. Hydrogen can gather and explode. Make both openings larger, set a "
        "lower highest charge voltage, or put the battery in the open air.",
        NOT_APPLICABLE: "In the open air hydrogen disperses. LiFePO4 gives off none, but cells that fail burn and give off "
        "poisonous gas: keep them away from sleeping places and escape ways.",
        INCOMPLETE: "The capacity of the bank, its nominal voltage, or the area of the openings is missing or not accepted.",
    },
)
def ventilation(ventilation_asked: Value, ventilation_state: Value) -> Value:
    unknown = (ventilation_asked == "not known") | (ventilation_state == "not given")
    known = np.where(unknown, NOT_JUDGED, where_pass(ventilation_state == "enough", FAIL))
    judged = np.where(ventilation_state == "", INCOMPLETE, known)
    return np.where(ventilation_asked == "no", NOT_APPLICABLE, judged)
