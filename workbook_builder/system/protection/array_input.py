"""The device on the PV input: against the array's cable and against the code."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE, PASS

chapter = Part("protection", continues=True)


@chapter.quantity(
    symbol="In,PV",
    unit="A",
    label="Lowest rating of the protection on the PV input",
    words="Highest array current by the code, times its factor for long hours.",
    formula="code_continuous_factor*array_isc_max",
    source="code_continuous_factor",
)
def input_fuse_min(code_continuous_factor: Value, array_isc_max: Value) -> Value:
    return code_continuous_factor * array_isc_max


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input against the array's cable",
    words="Whether the cable allows its rating.",
    formula='IF(runs_array_state="not run","not run",IF(runs_array_cap="","unfinished",'
    'IF(ROUND(controller_ocp,6)<=ROUND(runs_array_cap,6),"within","above")))',
    source="small_conductors",
    optional=("runs_array_cap",),
)
def input_fuse_cable(runs_array_state: Value, runs_array_cap: Value, controller_ocp: Value) -> Value:
    within = np.where(round_half_away(controller_ocp, 6) <= round_half_away(runs_array_cap, 6), "within", "above")
    return np.where(runs_array_state == "not run", "not run", np.where(np.isnan(runs_array_cap), "unfinished", within))


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input against the code",
    words="Whether it carries long hours of bright sun.",
    formula='IF(ROUND(controller_ocp,6)>=ROUND(input_fuse_min,6),"enough","low")',
    source="code_continuous_factor",
)
def input_fuse_size(controller_ocp: Value, input_fuse_min: Value) -> Value:
    return np.where(round_half_away(controller_ocp, 6) >= round_half_away(input_fuse_min, 6), "enough", "low")


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input: the stricter of the two",
    words="The cable first, then the code.",
    formula='IF(OR(input_fuse_cable="above",input_fuse_cable="unfinished"),input_fuse_cable,input_fuse_size)',
    source=own_rule("the stricter first"),
)
def input_fuse_state(input_fuse_cable: Value, input_fuse_size: Value) -> Value:
    return np.where((input_fuse_cable == "above") | (input_fuse_cable == "unfinished"), input_fuse_cable, input_fuse_size)


@chapter.check(
    name="array_protection",
    safety=True,
    label="Protection on the PV input and the array's cable",
    words="Its rating, not above what the array's cable allows; a note where it is below the code's factor for long hours.",
    value="controller_ocp",
    at_least="input_fuse_min",
    at_most="runs_array_cap",
    formula='IF(controller_ocp="","NOT JUDGED",IF(input_fuse_state="above","FAIL",IF(input_fuse_state="enough","PASS",'
    'IF(input_fuse_state="low","NOTE","INCOMPLETE"))))',
    source="small_conductors",
    optional=("controller_ocp", "input_fuse_state"),
    asks=("controller_ocp",),
    sentences={
        PASS: "The device carries the array's current for long hours and, where the cable is entered, protects it.",
        NOTE: "The device is smaller than the code asks for long hours of bright sun and may open: choose the next size, if the "
        "cable allows it.",
        FAIL: "The device is larger than the array's cable allows and does not protect it: choose a thicker cable or a smaller device.",
        NOT_JUDGED: "Nobody can say what protects the array's cable from the battery: no device on the PV input is entered.",
        INCOMPLETE: "The array's cable has a length but no conductor or the other way round, or air too warm for the tables.",
    },
)
def array_protection(controller_ocp: Value, input_fuse_state: Value) -> Value:
    enough = np.where(input_fuse_state == "enough", PASS, np.where(input_fuse_state == "low", NOTE, INCOMPLETE))
    judged = np.where(input_fuse_state == "above", FAIL, enough)
    return np.where(np.isnan(controller_ocp), NOT_JUDGED, judged)
