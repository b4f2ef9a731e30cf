"""The device between array cable and battery: whether there is one, and whether the array's cable is protected."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE, PASS
from workbook_builder.system.protection.device_states import DEVICES, answer_formula, answer_of, state_formula, state_of

chapter = Part("protection", continues=True)

chapter.choice(
    "array_device",
    DEVICES,
    "Device between the array's cable and the controller",
    blank=OPTIONAL,
    where="your design; a rating of this device says that there is one; blank: not known",
)


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
    label="Answer whether there is a device on the PV input",
    words="Fitted, none, or not known. A blank is not known.",
    formula=answer_formula("array_device"),
    source=own_rule("silence is not an answer"),
    optional=("array_device",),
)
def ocp_answer(array_device: Value) -> Value:
    return answer_of(array_device)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether there is a device on the PV input",
    words="Fitted where a device or its rating is entered. A rating together with none is a contradiction.",
    formula=state_formula("ocp_answer", "controller_ocp"),
    source=own_rule("silence is not an answer"),
    optional=("controller_ocp",),
)
def ocp_state(ocp_answer: Value, controller_ocp: Value) -> Value:
    return state_of(ocp_answer, controller_ocp)


@chapter.quantity(
    symbol="In,max",
    unit="A",
    label="Highest rating of the protection on the PV input",
    words="Code's multiple of the array's short-circuit current.",
    formula="code_array_fuse_high*array_isc",
    source="code_array_fuse_high",
)
def input_fuse_max(code_array_fuse_high: Value, array_isc: Value) -> Value:
    return code_array_fuse_high * array_isc


@chapter.quantity(
    symbol="In",
    unit="A",
    label="Rating that protects the array's cable from the battery",
    words="That of the device on the PV input; of the battery fuse where there is no such device; nothing while that is not known.",
    formula='IF(ocp_state="none",battery_fuse_judged,controller_ocp)',
    source="array_cable_protection",
    optional=("battery_fuse_judged", "controller_ocp"),
)
def array_cable_fuse(ocp_state: Value, battery_fuse_judged: Value, controller_ocp: Value) -> Value:
    return np.where(ocp_state == "none", battery_fuse_judged, controller_ocp)


@chapter.quantity(
    kind="text",
    unit="",
    label="That rating against the array's cable",
    words="Whether the cable allows it.",
    formula='IF(runs_array_state="not run","not run",IF(OR(runs_array_cap="",array_cable_fuse=""),"unfinished",'
    'IF(ROUND(array_cable_fuse,6)<=ROUND(runs_array_cap,6),"within","above")))',
    source="small_conductors",
    optional=("runs_array_cap", "array_cable_fuse"),
)
def input_fuse_cable(runs_array_state: Value, runs_array_cap: Value, array_cable_fuse: Value) -> Value:
    within = np.where(round_half_away(array_cable_fuse, 6) <= round_half_away(runs_array_cap, 6), "within", "above")
    unknown = np.isnan(runs_array_cap) | np.isnan(array_cable_fuse)
    return np.where(runs_array_state == "not run", "not run", np.where(unknown, "unfinished", within))


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input against the code",
    words="Whether it carries long hours of bright sun, and is not above the code's multiple.",
    formula='IF(ROUND(controller_ocp,6)>ROUND(input_fuse_max,6),"high",IF(ROUND(controller_ocp,6)>=ROUND(input_fuse_min,6),"enough","low"))',
    source="code_array_fuse_high",
)
def input_fuse_size(controller_ocp: Value, input_fuse_max: Value, input_fuse_min: Value) -> Value:
    rating = round_half_away(controller_ocp, 6)
    carries = np.where(rating >= round_half_away(input_fuse_min, 6), "enough", "low")
    return np.where(rating > round_half_away(input_fuse_max, 6), "high", carries)


@chapter.quantity(
    kind="text",
    unit="",
    label="What the code says of the protection on the PV input",
    words="Nothing is asked where there is none. Not known while the rating is missing.",
    formula='IF(ocp_state="none","enough",IF(input_fuse_size="","not known",input_fuse_size))',
    source="code_array_fuse_high",
    optional=("input_fuse_size",),
    waits=("input_fuse_max",),
)
def input_fuse_code(ocp_state: Value, input_fuse_size: Value) -> Value:
    return np.where(ocp_state == "none", "enough", np.where(input_fuse_size == "", "not known", input_fuse_size))


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection of the array's cable: the strictest first",
    words="What is wrong, what is not known, what is weak.",
    formula='IF(ocp_state="contradiction","unfinished",'
    'IF(OR(ocp_state="not known",input_fuse_code="not known"),"not known",'
    'IF(input_fuse_code="high","above",IF(input_fuse_cable="within",input_fuse_code,input_fuse_cable))))',
    source=own_rule("the stricter first"),
)
def input_fuse_state(ocp_state: Value, input_fuse_code: Value, input_fuse_cable: Value) -> Value:
    protected = np.where(input_fuse_cable == "within", input_fuse_code, input_fuse_cable)
    judged = np.where(input_fuse_code == "high", "above", protected)
    unknown = (ocp_state == "not known") | (input_fuse_code == "not known")
    return np.where(ocp_state == "contradiction", "unfinished", np.where(unknown, "not known", judged))


@chapter.check(
    name="array_protection",
    safety=True,
    label="The array's cable is protected from the battery",
    words="The device on the PV input, or the battery fuse where there is none, not above what the array's cable allows. A device below "
    "the code's factor for long hours gets a note.",
    value="array_cable_fuse",
    at_most="runs_array_cap",
    formula='IF(input_fuse_state="above","FAIL",IF(input_fuse_state="enough","PASS",IF(input_fuse_state="low","NOTE",'
    'IF(input_fuse_state="unfinished","INCOMPLETE","NOT JUDGED"))))',
    source="array_cable_protection",
    asks=("array_device", "controller_ocp", "run_array_length", "run_array_size"),
    sentences={
        PASS: "The device on the PV input, or the battery fuse where there is none, protects the array's cable from the battery.",
        NOTE: "The device protects the cable, but it is smaller than the code asks for long hours of bright sun and may open. Choose the "
        "next size, if the cable allows it.",
        FAIL: "In a fault the battery drives more current into the array's cable than the cable withstands, and no device stops it in "
        "time. The cable can burn. Fit a device of a rating that the cable and the code allow, or choose a larger conductor size.",
        NOT_JUDGED: "Nobody can say what protects the array's cable from the battery.",
        INCOMPLETE: "The entries contradict each other, or the array's run is unfinished. A rating on the PV input excludes the answer "
        "none; a run needs a length, a conductor size, and air and terminals within the code's tables.",
    },
)
def array_protection(input_fuse_state: Value) -> Value:
    weak = np.where(input_fuse_state == "low", NOTE, np.where(input_fuse_state == "unfinished", INCOMPLETE, NOT_JUDGED))
    return np.where(input_fuse_state == "above", FAIL, np.where(input_fuse_state == "enough", PASS, weak))
