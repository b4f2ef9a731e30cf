"""The device between array cable and battery: whether there is one, and whether the array's cable is protected."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE, PASS
from workbook_builder.system.protection.device_states import DEVICES, device_state, device_state_formula

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
    label="Whether there is a device on the PV input",
    words="Fitted where a device or its rating is entered. A rating together with none is a contradiction.",
    formula=device_state_formula("array_device", "controller_ocp"),
    source=own_rule("silence is not an answer"),
    optional=("array_device", "controller_ocp"),
)
def array_device_state(array_device: Value, controller_ocp: Value) -> Value:
    return device_state(array_device, controller_ocp)


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
    formula='IF(array_device_state="none",battery_fuse_judged,controller_ocp)',
    source="array_cable_protection",
    optional=("battery_fuse_judged", "controller_ocp"),
)
def array_cable_fuse(array_device_state: Value, battery_fuse_judged: Value, controller_ocp: Value) -> Value:
    return np.where(array_device_state == "none", battery_fuse_judged, controller_ocp)


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
    words="Whether it carries long hours of bright sun, and is not above the code's multiple; nothing is asked where there is none.",
    formula='IF(array_device_state="none","enough",IF(controller_ocp="","not known",IF(ROUND(controller_ocp,6)>ROUND(input_fuse_max,6),"high",'
    'IF(ROUND(controller_ocp,6)>=ROUND(input_fuse_min,6),"enough","low"))))',
    source="code_array_fuse_high",
    optional=("controller_ocp",),
)
def input_fuse_size(array_device_state: Value, controller_ocp: Value, input_fuse_max: Value, input_fuse_min: Value) -> Value:
    rating = round_half_away(controller_ocp, 6)
    carries = np.where(rating >= round_half_away(input_fuse_min, 6), "enough", "low")
    sized = np.where(rating > round_half_away(input_fuse_max, 6), "high", carries)
    rated = np.where(np.isnan(controller_ocp), "not known", sized)
    return np.where(array_device_state == "none", "enough", rated)


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection of the array's cable: the strictest first",
    words="What is wrong, what is not known, what is weak.",
    formula='IF(array_device_state="contradiction","unfinished",IF(OR(array_device_state="not known",input_fuse_size="not known"),"not known",'
    'IF(OR(input_fuse_size="high",input_fuse_cable="above"),"above",IF(input_fuse_cable="within",input_fuse_size,input_fuse_cable))))',
    source=own_rule("the stricter first"),
)
def input_fuse_state(array_device_state: Value, input_fuse_size: Value, input_fuse_cable: Value) -> Value:
    protected = np.where(input_fuse_cable == "within", input_fuse_size, input_fuse_cable)
    judged = np.where((input_fuse_size == "high") | (input_fuse_cable == "above"), "above", protected)
    unknown = (array_device_state == "not known") | (input_fuse_size == "not known")
    return np.where(array_device_state == "contradiction", "unfinished", np.where(unknown, "not known", judged))


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
        "none; a run needs a length, a conductor size, and air within the tables.",
    },
)
def array_protection(input_fuse_state: Value) -> Value:
    weak = np.where(input_fuse_state == "low", NOTE, np.where(input_fuse_state == "unfinished", INCOMPLETE, NOT_JUDGED))
    return np.where(input_fuse_state == "above", FAIL, np.where(input_fuse_state == "enough", PASS, weak))
