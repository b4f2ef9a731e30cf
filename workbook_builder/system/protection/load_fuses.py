"""Fuses of the loads: what they must carry, what the cable and the load output allow, and whether a standard size fits."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import INCOMPLETE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.protection.standard_sizes import largest_below, largest_size, next_size

chapter = Part("wiring", continues=True)

OUTPUT = common_practice("a fuse is not above the rating of what feeds it")


@chapter.quantity(
    kind="text",
    unit="",
    label="Where the direct loads are connected",
    words="As entered; on the battery where nothing is said.",
    formula='IF(OR(controller_load_output="DC loads",controller_load_output="all loads"),"load output","battery")',
    source=own_rule("as the design says"),
    optional=("controller_load_output",),
)
def loads_at(controller_load_output: Value) -> Value:
    there = (controller_load_output == "DC loads") | (controller_load_output == "all loads")
    return np.where(there, "load output", "battery")


@chapter.quantity(
    symbol="In,load",
    unit="A",
    label="Fuse of the direct loads, at least",
    words="Their current times {code_battery_fuse}; nothing without such loads.",
    formula='IF(ROUND(load_i_dc,6)>0,code_battery_fuse*load_i_dc,"")',
    source="code_battery_fuse",
)
def load_fuse_i(load_i_dc: Value, code_battery_fuse: Value) -> Value:
    return np.where(round_half_away(load_i_dc, 6) > 0, code_battery_fuse * load_i_dc, np.nan)


@chapter.quantity(
    symbol="In,inv",
    unit="A",
    label="Fuse of the inverter, at least",
    words="Its current from a nearly empty battery times {code_battery_fuse}; nothing where no load needs an inverter.",
    formula='IF(ROUND(inverter_w_least,6)>0,code_battery_fuse*(load_i_peak-load_i_dc),"")',
    source="code_battery_fuse",
)
def inverter_fuse_i(inverter_w_least: Value, code_battery_fuse: Value, load_i_peak: Value, load_i_dc: Value) -> Value:
    return np.where(round_half_away(inverter_w_least, 6) > 0, code_battery_fuse * (load_i_peak - load_i_dc), np.nan)


@chapter.quantity(
    symbol="In,max",
    unit="A",
    label="Largest fuse that the cable to the loads allows",
    words="The largest standard size that is not above what the cable allows; 0 where the smallest is above it.",
    formula=largest_size("runs_load_cap"),
    source="standard_ratings",
)
def load_fuse_most(runs_load_cap: Value, *, standard_ratings: Table) -> Value:
    return largest_below(standard_ratings, runs_load_cap)


@chapter.quantity(
    symbol="In,out",
    unit="A",
    label="Largest fuse that the load output allows",
    words="The largest standard size not above its rated current; nothing where the direct loads are on the battery.",
    formula=f'IF(loads_at="battery","",{largest_size("controller_i_load")})',
    source=OUTPUT,
)
def output_fuse_most(loads_at: Value, controller_i_load: Value, *, standard_ratings: Table) -> Value:
    return np.where(loads_at == "battery", np.nan, largest_below(standard_ratings, controller_i_load))


@chapter.quantity(
    symbol="In",
    unit="A",
    label="Fuse of the direct loads to fit",
    words="The next standard size; nothing where it is above what the cable or the load output allows.",
    formula=f'IF(ROUND(load_fuse_i,9)>MIN(MAX(standard_ratings_amps),load_fuse_most,output_fuse_most),"",{next_size("load_fuse_i")})',
    source="standard_ratings",
    optional=("load_fuse_most", "output_fuse_most"),
)
def load_fuse(load_fuse_i: Value, load_fuse_most: Value, output_fuse_most: Value, *, standard_ratings: Table) -> Value:
    size = standard_ratings.next_up(load_fuse_i, "amps")
    return np.where((size > load_fuse_most) | (size > output_fuse_most), np.nan, size)


@chapter.quantity(
    symbol="In",
    unit="A",
    label="Fuse of the inverter to fit",
    words="The next standard size; nothing where it is above what the cable allows.",
    formula=f'IF(ROUND(inverter_fuse_i,9)>MIN(MAX(standard_ratings_amps),load_fuse_most),"",{next_size("inverter_fuse_i")})',
    source="standard_ratings",
    optional=("load_fuse_most",),
)
def inverter_fuse(inverter_fuse_i: Value, load_fuse_most: Value, *, standard_ratings: Table) -> Value:
    size = standard_ratings.next_up(inverter_fuse_i, "amps")
    return np.where(size > load_fuse_most, np.nan, size)


@chapter.quantity(
    unit="",
    label="Fuses of the loads for which no standard size fits",
    words="Of direct loads and inverter.",
    formula='IF(AND(load_fuse_i<>"",load_fuse=""),1,0)+IF(AND(inverter_fuse_i<>"",inverter_fuse=""),1,0)',
    source=own_rule("counted"),
    optional=("load_fuse_i", "load_fuse", "inverter_fuse_i", "inverter_fuse"),
)
def load_fuses_open(load_fuse_i: Value, load_fuse: Value, inverter_fuse_i: Value, inverter_fuse: Value) -> Value:
    direct = ~np.isnan(load_fuse_i) & np.isnan(load_fuse)
    inverter = ~np.isnan(inverter_fuse_i) & np.isnan(inverter_fuse)
    return direct.astype(float) + inverter.astype(float)


@chapter.check(
    label="Fuses of the loads",
    words="A standard fuse for {code_battery_fuse} times the loads' current, not above what their cable and the load output allow.",
    value="load_fuses_open",
    formula='IF(loads_state="not run","NOT JUDGED",IF(loads_state="unfinished","INCOMPLETE",IF(ROUND(load_fuses_open,0)>0,"NOTE",'
    'IF(load_fuse_most="","NOT JUDGED","PASS"))))',
    source=OUTPUT,
    optional=("load_fuse_most",),
    asks=("load1_w", "load1_hours", "run_load_size"),
    sentences={
        PASS: "Each has a standard size; the sheet Installation names it.",
        NOTE: "No standard size fits: a fuse for these loads is above what their cable or the load output allows. Take a thicker cable, "
        "or put the loads on the battery, behind their own fuse.",
        NOT_JUDGED: "No load, or no cable to the loads, is entered.",
        INCOMPLETE: "A row of the loads is unfinished: complete it on Entries.",
    },
)
def load_fuses(loads_state: Value, load_fuses_open: Value, load_fuse_most: Value) -> Value:
    judged = where_pass(round_half_away(load_fuses_open, 0) < 1, NOTE)
    known = np.where((judged != NOTE) & np.isnan(load_fuse_most), NOT_JUDGED, judged)
    return np.where(loads_state == "not run", NOT_JUDGED, np.where(loads_state == "unfinished", INCOMPLETE, known))
