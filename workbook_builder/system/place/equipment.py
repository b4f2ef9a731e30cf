"""Equipment around the controller: how it switches, its load output and own use, the voltage of switches and fuses."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, at_least
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.controller.limits import SHEET

chapter = Part("enclosure", continues=True)
OWN_USE = common_practice("data sheets: 5 to 30 mA of a PWM controller, 10 to 100 mA of an MPPT controller")
SURGE = common_practice("a load output trips or burns above what its maker states")
SHUNT = common_practice("a shunt controller short-circuits the array, a series controller disconnects it")

chapter.choice(
    "controller_switching",
    ("series", "shunt"),
    "How a PWM controller holds the array back",
    blank=OPTIONAL,
    where=f"{SHEET}: shunt controllers short-circuit the array",
)
chapter.choice(
    "controller_load_output",
    ("no", "DC loads", "all loads"),
    "Loads on the controller's load output",
    blank=OPTIONAL,
    where="your design; an inverter belongs on the battery",
)
chapter.number("controller_i_load", "A", 0.1, 400, "Rated current of the load output", blank=OPTIONAL, where=f"{SHEET}, load disconnect")
chapter.number(
    "controller_i_surge",
    "A",
    0.2,
    990,
    "Current that the load output gives for some seconds",
    blank=OPTIONAL,
    where=f"{SHEET}, load output: surge or overload; blank: not known to be above the rated current",
    relations=(at_least("controller_i_load", "the rated current of the load output"),),
)
chapter.number(
    "controller_i_own",
    "A",
    0,
    2,
    "Current that the controller itself draws",
    blank="=controller_i_own_default",
    blank_source=OWN_USE,
    where=f"{SHEET}: own consumption",
)
chapter.constant("own_use_pwm", 0.02, "A", "Own current of a PWM controller, usual", "", OWN_USE)
chapter.constant("own_use_mppt", 0.06, "A", "Own current of an MPPT controller, usual", "", OWN_USE)
chapter.number(
    "devices_v_min",
    "V",
    10,
    3000,
    "Lowest rated DC voltage of array fuses, switches and plugs",
    blank=OPTIONAL,
    where="read on each device between array and controller: volts for direct current (DC)",
)


@chapter.quantity(
    symbol="I,out",
    unit="A",
    label="Highest current through the load output",
    optional=("controller_load_output",),
    words="The loads that hang on it, from a nearly empty battery; none if it is not used.",
    formula='IF(controller_load_output="all loads",load_i_peak,IF(controller_load_output="DC loads",load_i_dc,0))',
    source=own_rule("all at once: the safe side"),
)
def load_output_i(controller_load_output: Value, load_i_peak: Value, load_i_dc: Value) -> Value:
    part = np.where(controller_load_output == "DC loads", load_i_dc, 0 * load_i_dc)
    return np.where(controller_load_output == "all loads", load_i_peak, part)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the load output is used",
    words="Loads are entered, and some hang on it; not said: loads are entered, but not where they hang.",
    formula='IF(OR(controller_load_output="no",loads_state="not run"),"not used",IF(controller_load_output="","not said","used"))',
    source=own_rule("optional part"),
    optional=("controller_load_output",),
)
def load_output_state(controller_load_output: Value, loads_state: Value) -> Value:
    unused = (controller_load_output == "no") | (loads_state == "not run")
    return np.where(unused, "not used", np.where(controller_load_output == "", "not said", "used"))


@chapter.quantity(
    kind="text",
    unit="",
    label="That current against the rated current of the load output",
    words="Enough, or less.",
    formula='IF(controller_i_load="","not given",IF(ROUND(load_output_i,6)<=ROUND(controller_i_load,6),"enough","less"))',
    source=SURGE,
    optional=("controller_i_load",),
)
def load_output_rating(controller_i_load: Value, load_output_i: Value) -> Value:
    within = round_half_away(load_output_i, 6) <= round_half_away(controller_i_load, 6)
    return np.where(np.isnan(controller_i_load), "not given", np.where(within, "enough", "less"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether an inverter is said to hang on the load output",
    words="All loads, and some need an inverter.",
    formula='IF(AND(load_output_state="used",ROUND(inverter_w_least,6)>0,ROUND(load_output_i,6)>=ROUND(load_i_peak,6)),"yes","no")',
    source=common_practice("an inverter belongs on the battery"),
)
def output_inverter(load_output_state: Value, inverter_w_least: Value, load_output_i: Value, load_i_peak: Value) -> Value:
    every = round_half_away(load_output_i, 6) >= round_half_away(load_i_peak, 6)
    return np.where((load_output_state == "used") & (round_half_away(inverter_w_least, 6) > 0) & every, "yes", "no")


@chapter.quantity(
    symbol="I,own",
    unit="A",
    label="Current that the controller itself draws, usual",
    words="By the type of the controller.",
    formula='IF(controller_type="MPPT",own_use_mppt,own_use_pwm)',
    source=OWN_USE,
)
def controller_i_own_default(controller_type: Value, own_use_mppt: Value, own_use_pwm: Value) -> Value:
    return np.where(controller_type == "MPPT", own_use_mppt, own_use_pwm)


@chapter.quantity(
    symbol="Q,own",
    unit="Ah/d",
    label="Charge that the controller itself draws in a day",
    words="Its current for {hours_per_day} hours; it counts among the loads.",
    formula="controller_i_own*hours_per_day",
    source=cite("circuit-laws", "Q = I × t"),
)
def controller_ah_own(controller_i_own: Value, hours_per_day: Value) -> Value:
    return controller_i_own * hours_per_day


@chapter.quantity(
    kind="text",
    unit="",
    label="What the loads on the load output mean",
    words="Over: more than it carries. Unknown: its rated current, or what hangs on it, is not entered. Inverter: one is said to hang "
    "on it. Otherwise sound.",
    formula='IF(load_output_state="not said","unknown",IF(load_output_rating="less","over",IF(load_output_rating<>"enough","unknown",'
    'IF(output_inverter="no","sound","inverter"))))',
    source=SURGE,
)
def load_output_judged(load_output_state: Value, load_output_rating: Value, output_inverter: Value) -> Value:
    carried = np.where(output_inverter == "no", "sound", "inverter")
    rated = np.where(load_output_rating == "less", "over", np.where(load_output_rating == "enough", carried, "unknown"))
    return np.where(load_output_state == "not said", "unknown", rated)


@chapter.check(
    safety=True,
    label="Load output carries its loads",
    words="Peak current of the loads on it, not above the rated current of the load output.",
    value="load_output_i",
    at_most="controller_i_load",
    formula='IF(load_output_state="not used","N/A",IF(load_output_judged="","INCOMPLETE",IF(load_output_judged="over","FAIL",'
    'IF(load_output_judged="unknown","NOT JUDGED",IF(load_output_judged="sound","PASS","NOTE")))))',
    source=SURGE,
    optional=("load_output_judged",),
    asks=("controller_load_output", "controller_i_load"),
    sentences={
        PASS: "The load output carries these loads.",
        NOTE: "An inverter is said to hang on the load output. Put it on the battery behind its own fuse, as the sheet Installation "
        "draws it.",
        NOT_JUDGED: "Nobody can say whether the load output carries its loads.",
        FAIL: "The loads can draw more than the load output carries: it trips or burns. Put large loads and the inverter on the "
        "battery, each behind its own fuse.",
        NOT_APPLICABLE: "No load hangs on the controller's load output.",
        INCOMPLETE: "A row of the loads is unfinished.",
    },
)
def load_output(load_output_state: Value, load_output_judged: Value) -> Value:
    carried = np.where(load_output_judged == "unknown", NOT_JUDGED, where_pass(load_output_judged == "sound", NOTE))
    judged = np.where(load_output_judged == "", INCOMPLETE, np.where(load_output_judged == "over", FAIL, carried))
    return np.where(load_output_state == "not used", NOT_APPLICABLE, judged)


@chapter.quantity(
    symbol="I,s,out",
    unit="A",
    label="Surge current through the load output",
    words="That of the loads on it while they start, from a nearly empty battery; none if it is not used.",
    formula='IF(controller_load_output="all loads",load_i_surge,IF(controller_load_output="DC loads",load_i_dc_start,0))',
    source=SURGE,
    optional=("controller_load_output",),
)
def load_output_start(controller_load_output: Value, load_i_surge: Value, load_i_dc_start: Value) -> Value:
    part = np.where(controller_load_output == "DC loads", load_i_dc_start, 0 * load_i_dc_start)
    return np.where(controller_load_output == "all loads", load_i_surge, part)


@chapter.quantity(
    symbol="I,s,max",
    unit="A",
    label="Most that the load output gives for some seconds",
    words="Its surge current, or its rated current where that is all that is known.",
    formula='IF(controller_i_surge="",controller_i_load,controller_i_surge)',
    source=SURGE,
    optional=("controller_i_load", "controller_i_surge"),
)
def load_output_most(controller_i_load: Value, controller_i_surge: Value) -> Value:
    return np.where(np.isnan(controller_i_surge), controller_i_load, controller_i_surge)


@chapter.quantity(
    kind="text",
    unit="",
    label="That surge against what the load output gives for some seconds",
    words="Enough, less, or not known.",
    formula='IF(load_output_most="","not known",IF(ROUND(load_output_start,6)<=ROUND(load_output_most,6),"enough",'
    'IF(controller_i_surge="","not known","less")))',
    source=SURGE,
    optional=("load_output_most", "controller_i_surge"),
)
def load_output_starts(load_output_most: Value, load_output_start: Value, controller_i_surge: Value) -> Value:
    within = round_half_away(load_output_start, 6) <= round_half_away(load_output_most, 6)
    outside = np.where(np.isnan(controller_i_surge), "not known", "less")
    return np.where(np.isnan(load_output_most), "not known", np.where(within, "enough", outside))


@chapter.check(
    name="load_output_surge",
    safety=True,
    label="Load output starts its loads",
    words="Current of the loads on it while they start, not above what the load output gives for some seconds.",
    value="load_output_start",
    at_most="load_output_most",
    formula='IF(load_output_state="not used","N/A",IF(load_output_state="not said","NOT JUDGED",IF(load_output_starts="","INCOMPLETE",'
    'IF(load_output_starts="less","FAIL",IF(load_output_starts="enough","PASS","NOT JUDGED")))))',
    source=SURGE,
    optional=("load_output_starts",),
    asks=("controller_load_output", "controller_i_load", "controller_i_surge"),
    sentences={
        PASS: "The load output gives what its loads take while they start.",
        NOT_JUDGED: "Nobody can say whether the load output starts its loads.",
        FAIL: "The loads take more while they start than the load output gives: it trips or burns. Put the motors on the battery, behind "
        "their own fuse.",
        NOT_APPLICABLE: "No load is connected to the controller's load output.",
        INCOMPLETE: "A row of the loads is unfinished: complete it on Entries.",
    },
)
def load_output_surge(load_output_state: Value, load_output_starts: Value) -> Value:
    known = np.where(load_output_starts == "less", FAIL, np.where(load_output_starts == "enough", PASS, NOT_JUDGED))
    judged = np.where(load_output_starts == "", INCOMPLETE, known)
    said = np.where(load_output_state == "not said", NOT_JUDGED, judged)
    return np.where(load_output_state == "not used", NOT_APPLICABLE, said)


chapter.limit(
    name="devices_voltage",
    safety=True,
    label="Fuses, switches and plugs stand the cold voltage",
    words="Array Voc on the coldest morning, not above the lowest rated DC voltage of the devices on the array's side.",
    value="array_voc_cold",
    at_most="devices_v_min",
    unless=(("devices_v_min", ""),),
    asks=("devices_v_min",),
    source="voltage_rating",
    sentences={
        PASS: "Every device on the array's side is rated for the coldest morning.",
        FAIL: "A fuse, switch or plug is rated for less than the array gives on a cold morning: it may arc and burn instead of "
        "opening. Replace it, or put fewer modules in series.",
        NOT_JUDGED: "Nobody can say whether a device on the array's side can open the array's voltage. Read it on each one.",
    },
)


@chapter.check(
    label="PWM controller disconnects the array",
    words="A series controller; the predictions here are for such a one.",
    formula='IF(controller_type="MPPT","N/A",IF(controller_switching="","NOT JUDGED",IF(controller_switching="series","PASS","NOTE")))',
    source=SHUNT,
    optional=("controller_switching",),
    asks=("controller_switching",),
    sentences={
        PASS: "A series controller opens its switch when the battery is full, as this workbook expects.",
        NOTE: "A shunt controller short-circuits the array when the battery is full: its switch and the array's cables carry the "
        "short-circuit current for hours, and a meter then reads almost no voltage. Readings differ from those predicted here.",
        NOT_JUDGED: "The kind of switching is not entered.",
        NOT_APPLICABLE: "An MPPT controller switches in its own way.",
    },
)
def switching(controller_type: Value, controller_switching: Value) -> Value:
    judged = np.where(controller_switching == "", NOT_JUDGED, where_pass(controller_switching == "series", NOTE))
    return np.where(controller_type == "MPPT", NOT_APPLICABLE, judged)
