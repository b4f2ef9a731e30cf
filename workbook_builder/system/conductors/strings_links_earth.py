"""Conductors beside the runs: the earth conductor, and the links and fuses between batteries."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.conductors.run_entries import RUNS, larger
from workbook_builder.system.protection.standard_sizes import next_size

chapter = Part("wiring", continues=True)

BANK = common_practice("each battery string is fused by itself")
REST = common_practice("open-circuit volts after hours without current, at {t_battery:unit}; the maker comes first")
ALIKE = common_practice("strings that differ by more drive a current into each other; the maker comes first")
chapter.constant(
    "rest_gap", 0.1, "V", "Largest difference at rest between battery strings to be joined, for each {nominal_unit:unit}", "", ALIKE
)
chapter.constant("one_square_millimetre", 1, "mm²", "One square millimetre", "", cite("si"))


# ---- earth conductor
LIVE = tuple(f"runs_{key}_area" for key, *_ in RUNS)


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
    words="Of the runs.",
    formula=f'IF(COUNT({",".join(LIVE)})=0,"",MAX({",".join(LIVE)}))',
    source="earth_conductors",
    optional=LIVE,
)
def earth_live(
    runs_string_area: Value, runs_array_area: Value, runs_battery_area: Value, runs_load_area: Value, runs_inverter_area: Value
) -> Value:
    array = larger(runs_string_area, runs_array_area)
    return larger(larger(array, runs_battery_area), larger(runs_load_area, runs_inverter_area))


@chapter.quantity(
    symbol="In,max",
    unit="A",
    label="Largest device that sizes the earth conductor",
    words="Of array, battery, inverter and direct loads.",
    formula="MAX(earth_device,battery_fuse_judged,inverter_fuse,load_fuse)",
    source="earth_conductors",
    optional=("inverter_fuse", "load_fuse"),
)
def earth_device_most(earth_device: Value, battery_fuse_judged: Value, inverter_fuse: Value, load_fuse: Value) -> Value:
    return larger(np.maximum(earth_device, battery_fuse_judged), larger(inverter_fuse, load_fuse))


@chapter.quantity(
    symbol="",
    unit="",
    label="What the earth conductor goes by, as a number",
    words="Amperes of the largest device of array, battery, inverter and loads, or square millimetres of the live conductor, by profile.",
    formula='IF(code_earth_by_area=1,IF(earth_live="","",earth_live/one_square_millimetre),earth_device_most/one_ampere)',
    source="code_earth_by_area",
    optional=("earth_live",),
)
def earth_measure(
    code_earth_by_area: Value,
    earth_live: Value,
    one_square_millimetre: Value,
    earth_device_most: Value,
    one_ampere: Value,
) -> Value:
    by_device = earth_device_most / one_ampere
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
    words="Single cells as they are counted. Nothing where the bank's voltage is no multiple of a battery's.",
    formula="IF(ROUND(cells_of_block,6)=ROUND(whole,6),battery_cells,"
    'IF(ROUND(battery_nominal/battery_block,9)=ROUND(battery_nominal/battery_block,0),ROUND(battery_nominal/battery_block,0),""))',
    source=own_rule("plain count"),
)
def battery_series(cells_of_block: Value, whole: Value, battery_cells: Value, battery_nominal: Value, battery_block: Value) -> Value:
    number = battery_nominal / battery_block
    counted = np.where(round_half_away(number, 9) == round_half_away(number, 0), round_half_away(number, 0), np.nan)
    return np.where(round_half_away(cells_of_block, 6) == round_half_away(whole, 6), battery_cells, counted)


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
    words="As the thickest run at the bank: the battery's, that to the direct loads or that to the inverter.",
    formula="MAX(runs_battery_area,runs_load_area,runs_inverter_area)",
    source=common_practice("all of the bank's current may pass them"),
    optional=("runs_load_area", "runs_inverter_area"),
)
def link_area(runs_battery_area: Value, runs_load_area: Value, runs_inverter_area: Value) -> Value:
    return larger(runs_battery_area, larger(runs_load_area, runs_inverter_area))


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
