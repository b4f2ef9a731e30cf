"""Fuses of direct loads and inverter: what they must carry, what cable and load output allow, whether a standard size fits."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, PASS
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
    words="Its current at rated power from a nearly empty battery times {code_battery_fuse}; nothing where no load needs an inverter.",
    formula='IF(ROUND(inverter_w_least,6)>0,code_battery_fuse*inverter_i_rated,"")',
    source="code_battery_fuse",
)
def inverter_fuse_i(inverter_w_least: Value, code_battery_fuse: Value, inverter_i_rated: Value) -> Value:
    return np.where(round_half_away(inverter_w_least, 6) > 0, code_battery_fuse * inverter_i_rated, np.nan)


@chapter.quantity(
    symbol="In,max",
    unit="A",
    label="Largest fuse that the cable to the direct loads allows",
    words="The largest standard size that is not above what the cable allows; 0 where the smallest is above it.",
    formula=largest_size("runs_load_cap"),
    source="standard_ratings",
)
def load_fuse_most(runs_load_cap: Value, *, standard_ratings: Table) -> Value:
    return largest_below(standard_ratings, runs_load_cap)


@chapter.quantity(
    symbol="In,max",
    unit="A",
    label="Largest fuse that the cable to the inverter allows",
    words="The largest standard size that is not above what the cable allows; 0 where the smallest is above it.",
    formula=largest_size("runs_inverter_cap"),
    source="standard_ratings",
)
def inverter_fuse_most(runs_inverter_cap: Value, *, standard_ratings: Table) -> Value:
    return largest_below(standard_ratings, runs_inverter_cap)


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
    formula=f'IF(ROUND(inverter_fuse_i,9)>MIN(MAX(standard_ratings_amps),inverter_fuse_most),"",{next_size("inverter_fuse_i")})',
    source="standard_ratings",
    optional=("inverter_fuse_most",),
)
def inverter_fuse(inverter_fuse_i: Value, inverter_fuse_most: Value, *, standard_ratings: Table) -> Value:
    size = standard_ratings.next_up(inverter_fuse_i, "amps")
    return np.where(size > inverter_fuse_most, np.nan, size)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether direct loads are entered",
    words="Loads are entered, and one of them is DC.",
    formula='IF(loads_state<>"run",loads_state,IF(load_w_dc="","unfinished",IF(ROUND(load_w_dc,6)>0,"run","not run")))',
    source=own_rule("optional part"),
    optional=("load_w_dc",),
)
def direct_loads_state(loads_state: Value, load_w_dc: Value) -> Value:
    needed = np.where(round_half_away(load_w_dc, 6) > 0, "run", "not run")
    return np.where(loads_state != "run", loads_state, np.where(np.isnan(load_w_dc), "unfinished", needed))


UNFINISHED = (
    "A row of the loads or the run of their cable is unfinished, or the code's tables do not reach its air or terminals. "
    "Complete them on Entries."
)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the fuse of the direct loads protects their cable",
    words="Within what the cable allows, none that is large enough, or no cable; nothing where row or run is unfinished.",
    formula='IF(load_fuse="","none",IF(load_fuse_most<>"","within",IF(run_load_size="","no cable","")))',
    source=own_rule("optional part"),
    waits=("load_fuse_i",),
    optional=("load_fuse", "load_fuse_most", "run_load_size"),
)
def load_fuse_state(load_fuse: Value, load_fuse_most: Value, run_load_size: Value) -> Value:
    conditions = [np.isnan(load_fuse), ~np.isnan(load_fuse_most), np.asarray(run_load_size) == ""]
    return np.select(np.broadcast_arrays(*conditions), ["none", "within", "no cable"], "")


chapter.repeat(
    Repeat(
        "inverter",
        "Inverter",
        ("load_fuse_state",),
        {
            "load_fuse_i": "inverter_fuse_i",
            "load_fuse": "inverter_fuse",
            "load_fuse_most": "inverter_fuse_most",
            "run_load_size": "run_inverter_size",
        },
        {"load_fuse_state": "inverter_fuse_state"},
        {"load_fuse_state": "Whether the fuse of the inverter protects its cable"},
    )
)


def judged_fuse(loads: Value, fuse: Value) -> Value:
    """Judge the fuse of a run by whether there are loads for it, and by what is known of the fuse."""
    known = {"": INCOMPLETE, "none": FAIL, "no cable": NOT_JUDGED}
    judged = np.select([np.asarray(fuse) == one for one in known], list(known.values()), PASS)
    return np.where(loads == "not run", NOT_APPLICABLE, judged)


@chapter.check(
    safety=True,
    label="Fuse of the direct loads",
    words="A standard fuse for {code_battery_fuse} times the current of the DC loads, not above what cable and load output allow.",
    value="load_fuse_i",
    at_most="load_fuse_most",
    formula='IF(direct_loads_state="not run","N/A",IF(load_fuse_state="","INCOMPLETE",'
    'IF(load_fuse_state="none","FAIL",IF(load_fuse_state="no cable","NOT JUDGED","PASS"))))',
    source=OUTPUT,
    optional=("load_fuse_state",),
    asks=("run_load_size",),
    sentences={
        PASS: "A standard size fits; the sheet Installation names it.",
        FAIL: "No standard fuse carries the direct loads and protects their cable and the load output: the fuse blows, or the cable burns. "
        "Take a thicker cable, or put the loads on the battery.",
        NOT_JUDGED: "Nobody can say whether the fuse protects the cable to the direct loads, which is not entered.",
        NOT_APPLICABLE: "No DC load is entered.",
        INCOMPLETE: UNFINISHED,
    },
)
def load_fuses(direct_loads_state: Value, load_fuse_state: Value) -> Value:
    return judged_fuse(direct_loads_state, load_fuse_state)


@chapter.check(
    name="inverter_fuse",
    safety=True,
    label="Fuse of the inverter",
    words="A standard fuse for {code_battery_fuse} times the current of the inverter, not above what its cable allows.",
    value="inverter_fuse_i",
    at_most="inverter_fuse_most",
    formula='IF(inverter_state="not run","N/A",IF(inverter_fuse_state="","INCOMPLETE",'
    'IF(inverter_fuse_state="none","FAIL",IF(inverter_fuse_state="no cable","NOT JUDGED","PASS"))))',
    source="code_battery_fuse",
    optional=("inverter_fuse_state",),
    asks=("run_inverter_size",),
    sentences={
        PASS: "A standard size fits; the sheet Installation names it.",
        FAIL: "No standard fuse carries the inverter and protects its cable: the fuse blows, or the cable burns. Take a thicker cable, a "
        "higher battery voltage, or a smaller inverter.",
        NOT_JUDGED: "Nobody can say whether the fuse protects the cable to the inverter, which is not entered.",
        NOT_APPLICABLE: "No load needs an inverter.",
        INCOMPLETE: UNFINISHED,
    },
)
def inverter_fuse_judged(inverter_state: Value, inverter_fuse_state: Value) -> Value:
    return judged_fuse(inverter_state, inverter_fuse_state)
