"""Conductors beside the three runs: string cables, the earth conductor, and the links and fuses between batteries."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import NOT_APPLICABLE
from workbook_builder.system.conductors.runs import joined, larger
from workbook_builder.system.conductors.size_ladder import ampacity_columns, smallest_column
from workbook_builder.system.protection.standard_sizes import next_size

chapter = Part(
    "wiring",
    "Beside the runs",
    "String cables carry one string, and in a fault what the others or the fuse let through: outdoor cable of the profile's best "
    "insulation, on a hot roof, in bundles as the array's run. Keep them short: their drop is not counted.",
    sheet="Cables",
)

STRONG = common_practice("thinner conductors break outdoors")
BANK = common_practice("each battery string is fused by itself")
REST = common_practice("open-circuit volts after hours without current, at {t_battery:unit}; the maker comes first")
ALIKE = common_practice("strings that differ by more drive a current into each other; the maker comes first")
chapter.constant("roof_adder", 33, "K", "Air around cables on a roof in the sun, above the warmest air", "", "roof_heat")
chapter.constant("string_area_least", 2, "mm²", "Smallest cross-section of string cables", "", STRONG)
chapter.constant(
    "rest_gap", 0.1, "V", "Largest difference at rest between battery strings to be joined, for each {nominal_unit:unit}", "", ALIKE
)
chapter.constant("one_square_millimetre", 1, "mm²", "One square millimetre", "", cite("si"))


# ---- string cables


@chapter.quantity(
    symbol="T,roof",
    unit="°C",
    label="Warmest air around string cables",
    words="On a roof in the sun; or that of the array's run.",
    formula="MAX(run_array_ambient,site_t_max+roof_adder)",
    source="roof_heat",
)
def string_ambient(run_array_ambient: Value, site_t_max: Value, roof_adder: Value) -> Value:
    return np.maximum(run_array_ambient, site_t_max + roof_adder)


@chapter.quantity(
    kind="text",
    unit="",
    label="Insulation of string cables",
    words="The best of the profile.",
    formula="INDEX(insulations_name,COUNT(insulations_t_rated))",
    source="insulations",
)
def string_insulation(*, insulations: Table) -> Value:
    return insulations.column("name").values[-1]


@chapter.quantity(
    symbol="",
    unit="°C",
    label="Row of that air temperature",
    words="The next warmer row of the profile.",
    formula='IF(ROUND(string_ambient,9)>MAX(ambient_bands_t_to),"",'
    'INDEX(ambient_bands_t_to,COUNTIF(ambient_bands_t_to,"<"&ROUND(string_ambient,9))+1))',
    source="ambient_bands",
)
def string_band(string_ambient: Value, *, ambient_bands: Table) -> Value:
    return ambient_bands.next_up(string_ambient, "t_to")


@chapter.quantity(
    symbol="f,air",
    unit="",
    label="Correction of string cables for that air",
    words="Row of air temperature and insulation.",
    formula='INDEX(ambient_factors_factor,MATCH(ROUND(string_band,0)&"|"&string_insulation,ambient_factors_key,0))',
    source="ambient_factors",
)
def string_f_air(string_band: Value, string_insulation: Value, *, ambient_factors: Table) -> Value:
    return ambient_factors.exact(joined(string_band, string_insulation), "key", "factor")


@chapter.quantity(
    symbol="I,str",
    unit="A",
    label="Highest current of one string",
    words="Its short-circuit current times the code's factor.",
    formula="code_current_factor*string_isc",
    source="code_current_factor",
)
def string_cable_i(code_current_factor: Value, string_isc: Value) -> Value:
    return code_current_factor * string_isc


@chapter.quantity(
    symbol="I,dev",
    unit="A",
    label="Part of the device on the PV input that counts for string cables without a fuse",
    words="The code's share of its rating; none where no device is entered.",
    optional=("controller_ocp",),
    waits=("string_cable_i",),
    formula='IF(controller_ocp="",0,code_string_device*controller_ocp)',
    source="code_string_device",
)
def string_device_i(controller_ocp: Value, code_string_device: Value) -> Value:
    return np.where(np.isnan(controller_ocp), 0, code_string_device * controller_ocp)


@chapter.quantity(
    symbol="I,fault",
    unit="A",
    label="Current that a string cable must carry in a fault",
    words="The string fuse; without fuses what the other strings drive back, and what the device on the PV input lets through.",
    formula='IF(check_string_fuse="N/A",(array_parallel-1)*string_cable_i+string_device_i,string_fuse_judged)',
    source="code_string_device",
    optional=("string_fuse_judged",),
)
def string_cable_fault(
    check_string_fuse: Value, array_parallel: Value, string_cable_i: Value, string_device_i: Value, string_fuse_judged: Value
) -> Value:
    others = (array_parallel - 1) * string_cable_i + string_device_i
    return np.where(check_string_fuse == NOT_APPLICABLE, others, string_fuse_judged)


@chapter.quantity(
    symbol="I,ins",
    unit="A",
    label="Ampacity that the table must show for the insulation",
    words="Current or fault, by the corrections.",
    formula='IF(string_f_air=0,"",MAX(string_cable_i,string_cable_fault)/(string_f_air*runs_array_f_group))',
    source="ampacity",
)
def string_by_insulation(string_f_air: Value, string_cable_i: Value, string_cable_fault: Value, runs_array_f_group: Value) -> Value:
    corrected = np.divide(np.maximum(string_cable_i, string_cable_fault), string_f_air * runs_array_f_group)
    return np.where(string_f_air == 0, np.nan, corrected)


@chapter.quantity(
    symbol="I,term",
    unit="A",
    label="Ampacity that the table must show for the terminals",
    words="Long hours of the current, or fault.",
    formula="MAX(code_continuous_factor*string_cable_i,string_cable_fault)",
    source="ampacity",
)
def string_by_terminals(code_continuous_factor: Value, string_cable_i: Value, string_cable_fault: Value) -> Value:
    return np.maximum(code_continuous_factor * string_cable_i, string_cable_fault)


COUNT = 6
string_sizes = chapter.grid(
    Grid(
        "string_sizes",
        "The smallest string cable that does",
        "The first sizes of the profile; connectors take no thicker ones.",
        "conductor_ampacity",
        tuple(
            Row(
                f"n{n}",
                f"size {n}",
                {"insulation": "string_insulation", "terminal_class": "runs_array_terminal_class"},
                numbers={"number": float(n)},
                start=n == 1,
                named=n == COUNT,
            )
            for n in range(1, COUNT + 1)
        ),
        "Cables",
        single=True,
        numbers={"number": ("row of the table", "")},
    )
)


@string_sizes.column(
    kind="text",
    symbol="size",
    words="conductor, none if too thin for outdoors",
    formula='IF(number>COUNT(conductors_area),"none",'
    'IF(INDEX(conductors_area,number)<string_area_least,"none",INDEX(conductors_size,number)))',
)
def size(number: Value, string_area_least: Value, *, conductors: Table) -> Value:
    area = conductors.row(number, "area")
    return np.where(area >= string_area_least, conductors.row(number, "size"), "none")


ampacity_columns(string_sizes)


@string_sizes.column(
    symbol="I,cap",
    unit="A",
    words="the same, not above the largest device of small conductors",
    formula="IF(COUNTIF(small_conductors_size,size)=0,terminated,"
    "MIN(terminated,INDEX(small_conductors_amps,MATCH(size,small_conductors_size,0))))",
)
def capped(size: Value, terminated: Value, *, small_conductors: Table) -> Value:
    small = small_conductors.exact(size, "size", "amps")
    return np.where(np.isnan(small), terminated, np.minimum(terminated, small))


@string_sizes.column(
    kind="flag",
    symbol="does",
    words="carries current and fault",
    optional=("insulated", "capped"),
    formula='IF(OR(insulated="",capped=""),FALSE,AND(ROUND(insulated,6)>=ROUND(string_by_insulation,6),'
    "ROUND(capped,6)>=ROUND(string_by_terminals,6)))",
)
def does(insulated: Value, capped: Value, string_by_insulation: Value, string_by_terminals: Value) -> Value:
    enough = round_half_away(insulated, 6) >= round_half_away(string_by_insulation, 6)
    return enough & (round_half_away(capped, 6) >= round_half_away(string_by_terminals, 6))


smallest_column(string_sizes)


@chapter.quantity(
    kind="text",
    unit="",
    label="Smallest string cable that does",
    words="None does where the device lets too much through, or the roof is too hot.",
    formula='IF(string_sizes_n6_smallest="none","none: fuse strings",string_sizes_n6_smallest)',
    source=own_rule("from the table of string cables"),
)
def string_cable_size(string_sizes_n6_smallest: Value) -> Value:
    return np.where(string_sizes_n6_smallest == "none", "none: fuse strings", string_sizes_n6_smallest)


# ---- earth conductor


@chapter.quantity(
    symbol="In,PV",
    unit="A",
    label="Device of the array that sizes the earth conductor",
    words="The one on the PV input; where there is none, as large as it would have to be.",
    optional=("controller_ocp",),
    formula='IF(controller_ocp="",input_fuse_min,controller_ocp)',
    source="earth_conductors",
)
def earth_device(controller_ocp: Value, input_fuse_min: Value) -> Value:
    return np.where(np.isnan(controller_ocp), input_fuse_min, controller_ocp)


@chapter.quantity(
    symbol="A,live",
    unit="mm²",
    label="Thickest live conductor that is entered",
    words="Of all runs.",
    formula='IF(COUNT(runs_array_area,runs_battery_area,runs_load_area,runs_inverter_area)=0,"",'
    "MAX(runs_array_area,runs_battery_area,runs_load_area,runs_inverter_area))",
    source="earth_conductors",
    optional=("runs_array_area", "runs_battery_area", "runs_load_area", "runs_inverter_area"),
)
def earth_live(runs_array_area: Value, runs_battery_area: Value, runs_load_area: Value, runs_inverter_area: Value) -> Value:
    return larger(larger(runs_array_area, runs_battery_area), larger(runs_load_area, runs_inverter_area))


@chapter.quantity(
    symbol="",
    unit="",
    label="What the earth conductor goes by, as a number",
    words="Amperes of the larger device of array and battery, or square millimetres of the live conductor, as the profile says.",
    formula='IF(code_earth_by_area=1,IF(earth_live="","",earth_live/one_square_millimetre),'
    "MAX(earth_device,battery_fuse_judged)/one_ampere)",
    source="code_earth_by_area",
    optional=("earth_live",),
)
def earth_measure(
    code_earth_by_area: Value,
    earth_live: Value,
    one_square_millimetre: Value,
    earth_device: Value,
    battery_fuse_judged: Value,
    one_ampere: Value,
) -> Value:
    by_device = np.maximum(earth_device, battery_fuse_judged) / one_ampere
    return np.where(code_earth_by_area == 1, earth_live / one_square_millimetre, by_device)


@chapter.quantity(
    symbol="",
    unit="",
    label="Row of the table of earth conductors",
    words="The first that is not below.",
    formula='IF(ROUND(earth_measure,9)>MAX(earth_conductors_up_to),"",'
    'INDEX(earth_conductors_up_to,COUNTIF(earth_conductors_up_to,"<"&ROUND(earth_measure,9))+1))',
    source="earth_conductors",
)
def earth_row(earth_measure: Value, *, earth_conductors: Table) -> Value:
    return earth_conductors.next_up(earth_measure, "up_to")


@chapter.quantity(
    kind="text",
    unit="",
    label="Smallest earth conductor, copper",
    words="Frames, rails and metal enclosures to the earth terminal.",
    formula="INDEX(earth_conductors_size,MATCH(ROUND(earth_row,9),earth_conductors_up_to,0))",
    source="earth_conductors",
)
def earth_size(earth_row: Value, *, earth_conductors: Table) -> Value:
    return earth_conductors.exact(earth_row, "up_to", "size")


# ---- the bank


@chapter.quantity(
    symbol="",
    unit="",
    label="Batteries in series in each string",
    words="Nothing where the bank's voltage is no multiple of a battery's.",
    formula='IF(ROUND(battery_nominal/battery_block,9)=ROUND(battery_nominal/battery_block,0),ROUND(battery_nominal/battery_block,0),"")',
    source=own_rule("plain count"),
)
def battery_series(battery_nominal: Value, battery_block: Value) -> Value:
    number = battery_nominal / battery_block
    return np.where(round_half_away(number, 9) == round_half_away(number, 0), round_half_away(number, 0), np.nan)


@chapter.quantity(
    symbol="",
    unit="",
    label="Links between batteries, and leads of several strings",
    words="One less than the batteries of each string; two leads of each of several strings to + and −.",
    formula="battery_parallel*(battery_series-1)+IF(battery_parallel>1,2*battery_parallel,0)",
    source=own_rule("plain count"),
)
def battery_links(battery_parallel: Value, battery_series: Value) -> Value:
    return battery_parallel * (battery_series - 1) + np.where(battery_parallel > 1, 2 * battery_parallel, 0)


@chapter.quantity(
    symbol="A,link",
    unit="mm²",
    label="Cross-section of these links",
    words="As the battery's run, or the run to direct loads or inverter if thicker.",
    formula="MAX(runs_battery_area,runs_load_area,runs_inverter_area)",
    source=common_practice("all of the bank's current may pass them"),
    optional=("runs_load_area", "runs_inverter_area"),
)
def link_area(runs_battery_area: Value, runs_load_area: Value, runs_inverter_area: Value) -> Value:
    return larger(larger(runs_battery_area, runs_load_area), runs_inverter_area)


@chapter.quantity(
    kind="text",
    unit="",
    label="Conductor of these links",
    words="By its cross-section.",
    formula="INDEX(conductors_size,MATCH(ROUND(link_area,9),conductors_area,0))",
    source=common_practice("as the run at the bank"),
)
def link_size(link_area: Value, *, conductors: Table) -> Value:
    return conductors.exact(getattr(link_area, "magnitude", link_area), "area", "size")


@chapter.quantity(
    symbol="I,bank",
    unit="A",
    label="Current that one battery string must be able to bear alone",
    words="The battery fuse, or the loads' current times {code_battery_fuse} if that is higher.",
    formula="MAX(battery_fuse_fitted,load_run_current)",
    source=BANK,
    optional=("load_run_current",),
)
def battery_string_i(battery_fuse_fitted: Value, load_run_current: Value) -> Value:
    return larger(battery_fuse_fitted, load_run_current)


@chapter.quantity(
    symbol="In,str",
    unit="A",
    label="Fuse of each battery string",
    words="The next standard size; nothing for a single string.",
    formula=f'IF(OR(ROUND(battery_parallel,0)<2,ROUND(battery_string_i,9)>MAX(standard_ratings_amps)),"",{next_size("battery_string_i")})',
    source=BANK,
)
def battery_string_fuse(battery_parallel: Value, battery_string_i: Value, *, standard_ratings: Table) -> Value:
    return np.where(round_half_away(battery_parallel, 0) < 2, np.nan, standard_ratings.next_up(battery_string_i, "amps"))


@chapter.quantity(
    symbol="V,high,cold",
    unit="V",
    label="Highest charge voltage, while the battery is coldest",
    words="With its rise by compensation.",
    formula="battery_v_high+charge_v_rise_cold",
    source=own_rule("it moves as absorption does"),
)
def battery_v_high_cold(battery_v_high: Value, charge_v_rise_cold: Value) -> Value:
    return battery_v_high + charge_v_rise_cold


@chapter.quantity(
    symbol="V,fuse",
    unit="V",
    label="Lowest rated DC voltage of fuses at the battery",
    words="Highest charge voltage with its rise in the cold, rounded up.",
    formula="ROUNDUP(ROUND(battery_v_high_cold,6),0)",
    source=own_rule("a rating is rounded up, never down"),
)
def battery_fuse_volts(battery_v_high_cold: Value) -> Value:
    return np.ceil(round_half_away(battery_v_high_cold, 6)) * getattr(battery_v_high_cold, "units", 1)


# ---- at rest, before strings are joined


def _at_rest(what: str, words: str, formula: str) -> dict[str, Any]:
    return {"symbol": "V,rest", "unit": "V", "label": what, "words": words, "formula": formula, "source": REST}


def _block(charge: str, column: str) -> dict[str, Any]:
    formula = f"INDEX(chemistry_{column},MATCH(battery_chemistry,chemistry_chemistry,0))*battery_block/nominal_unit"
    return _at_rest(f"One battery at rest, {charge}", "The chemistry's row, scaled to one battery.", formula)


def _bank(charge: str, block: str) -> dict[str, Any]:
    return _at_rest(f"Battery string at rest, {charge}", "One battery times those in series.", f"{block}*battery_nominal/battery_block")


@chapter.quantity(**_block("half full", "rest_low"))
def block_rest_low(battery_chemistry: Value, battery_block: Value, nominal_unit: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "rest_low") * battery_block / nominal_unit


@chapter.quantity(**_block("full", "rest_full"))
def block_rest_full(battery_chemistry: Value, battery_block: Value, nominal_unit: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "rest_full") * battery_block / nominal_unit


@chapter.quantity(**_bank("half full", "block_rest_low"))
def bank_rest_low(block_rest_low: Value, battery_nominal: Value, battery_block: Value) -> Value:
    return block_rest_low * battery_nominal / battery_block


@chapter.quantity(**_bank("full", "block_rest_full"))
def bank_rest_full(block_rest_full: Value, battery_nominal: Value, battery_block: Value) -> Value:
    return block_rest_full * battery_nominal / battery_block


@chapter.quantity(
    symbol="ΔV,rest",
    unit="V",
    label="Largest difference between battery strings that are joined",
    words="Scaled to the bank.",
    formula="rest_gap*battery_nominal/nominal_unit",
    source=ALIKE,
)
def bank_rest_gap(rest_gap: Value, battery_nominal: Value, nominal_unit: Value) -> Value:
    return rest_gap * battery_nominal / nominal_unit
