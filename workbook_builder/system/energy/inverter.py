"""The inverter: what it takes for itself, and whether it carries the AC loads while they run and while they start."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, at_least
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, PASS

chapter = Part("loads", continues=True)

SHEET = "inverter data sheet"
IDLE = common_practice("data sheets: 1 to 2 % of the rated power; the upper end, and no less than a small inverter takes")
RATED = common_practice("an inverter that is overloaded switches off or is damaged; the maker's ratings govern")
FED = common_practice("fuse and cable of an inverter bear its rated power from a nearly empty battery")
NO_AC = "No load needs an inverter."
UNFINISHED = "A row of the loads is unfinished: complete it on Entries."

chapter.number(
    "inv_efficiency",
    "%",
    50,
    100,
    "Efficiency of the inverter",
    blank=90,
    blank_source=common_practice("usual of inverters"),
    where=SHEET,
)
chapter.number(
    "inverter_power",
    "W",
    20,
    15000,
    "Rated continuous power of the inverter",
    blank=OPTIONAL,
    where=f"{SHEET}: continuous watts at the warmest air, neither VA nor peak; blank: not judged where a load is AC",
)
chapter.number(
    "inverter_surge",
    "W",
    50,
    45000,
    "Surge power of the inverter",
    blank=OPTIONAL,
    where=f"{SHEET}: watts for the seconds in which motors start; blank: not known to be above the rated power",
    relations=(at_least("inverter_power", "its rated power"),),
)
chapter.number("inv_idle", "W", 0, 200, "Idle power of the inverter", blank="=inv_idle_default", blank_source=IDLE, where=SHEET)
chapter.number(
    "inv_hours",
    "h/d",
    0,
    24,
    "Hours a day for which the inverter is switched on",
    blank=24,
    blank_source=own_rule("day and night: the safe side"),
    where="ask the users; blank: day and night",
)
chapter.constant("idle_share", 2, "%", "Idle power of an inverter as a share of its rated power", "", IDLE)
chapter.constant("idle_least", 6, "W", "Least idle power of an inverter that is counted", "", IDLE)


@chapter.quantity(
    symbol="P,idle",
    unit="W",
    label="Idle power of the inverter, usual",
    words="{idle_share:unit} of its rated power, or of the smallest that does, at least {idle_least:unit}; 0 where no load is AC.",
    formula='IF(inverter_w_least="",0,IF(inverter_w_least>0,'
    'MAX(idle_least,idle_share/whole_percent*IF(inverter_power="",inverter_w_least,inverter_power)),0))',
    source=IDLE,
    optional=("inverter_w_least", "inverter_power"),
)
def inv_idle_default(inverter_w_least: Value, inverter_power: Value, idle_least: Value, idle_share: Value, whole_percent: Value) -> Value:
    rated = np.where(np.isnan(inverter_power), inverter_w_least, inverter_power)
    idle = np.maximum(idle_least, idle_share / whole_percent * rated)
    return np.where(inverter_w_least > 0, idle, 0 * idle_least)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether an inverter is needed",
    words="Loads are entered, and one of them is AC, or an inverter is entered.",
    formula='IF(loads_state<>"run",loads_state,IF(inverter_w_least="","unfinished",'
    'IF(OR(ROUND(inverter_w_least,6)>0,inverter_power<>""),"run","not run")))',
    source=own_rule("optional part"),
    optional=("inverter_w_least", "inverter_power"),
)
def inverter_state(loads_state: Value, inverter_w_least: Value, inverter_power: Value) -> Value:
    needed = np.where((round_half_away(inverter_w_least, 6) > 0) | ~np.isnan(inverter_power), "run", "not run")
    return np.where(loads_state != "run", loads_state, np.where(np.isnan(inverter_w_least), "unfinished", needed))


@chapter.quantity(
    symbol="P,max",
    unit="W",
    label="Most that the inverter gives for seconds",
    words="Its surge power, or its rated power where that is all that is known.",
    formula='IF(inverter_surge="",inverter_power,inverter_surge)',
    source=RATED,
    optional=("inverter_power", "inverter_surge"),
)
def inverter_w_most(inverter_power: Value, inverter_surge: Value) -> Value:
    return np.where(np.isnan(inverter_surge), inverter_power, inverter_surge)


@chapter.quantity(
    symbol="I,inv",
    unit="A",
    label="Current that the AC loads take through the inverter, from a nearly empty battery",
    words="Peak of the AC loads with the inverter's loss, and its idle power; 0 where no load is AC.",
    formula="IF(ROUND(inverter_w_least,6)>0,(inverter_w_least/(inv_efficiency/whole_percent)+inv_idle)/battery_v_low,0)",
    source=cite("circuit-laws", "I = P ÷ V"),
)
def inverter_i_peak(inverter_w_least: Value, inv_efficiency: Value, whole_percent: Value, inv_idle: Value, battery_v_low: Value) -> Value:
    current = (inverter_w_least / (inv_efficiency / whole_percent) + inv_idle) / battery_v_low
    return np.where(round_half_away(inverter_w_least, 6) > 0, current, 0 * current)


@chapter.quantity(
    symbol="I,rated",
    unit="A",
    label="Current of the inverter at its rated power, from a nearly empty battery",
    words="Its rated power, if it is entered and above the AC loads, with its loss and its idle power; 0 where no load is AC.",
    formula="IF(ROUND(inverter_w_least,6)>0,"
    "(MAX(inverter_w_least,inverter_power)/(inv_efficiency/whole_percent)+inv_idle)/battery_v_low,0)",
    source=FED,
    optional=("inverter_power",),
)
def inverter_i_rated(
    inverter_w_least: Value, inverter_power: Value, inv_efficiency: Value, whole_percent: Value, inv_idle: Value, battery_v_low: Value
) -> Value:
    power = np.maximum(inverter_w_least, np.where(np.isnan(inverter_power), inverter_w_least, inverter_power))
    current = (power / (inv_efficiency / whole_percent) + inv_idle) / battery_v_low
    return np.where(round_half_away(inverter_w_least, 6) > 0, current, 0 * current)


@chapter.quantity(
    unit="W",
    label="Smallest inverter for the AC loads, in whole watts",
    words="Rounded up.",
    formula="ROUNDUP(ROUND(inverter_w_least,6),0)",
    source=own_rule("rounded up"),
)
def inverter_w_buy(inverter_w_least: Value) -> Value:
    return np.ceil(round_half_away(inverter_w_least, 6)) * getattr(inverter_w_least, "units", 1)


@chapter.quantity(
    unit="W",
    label="Surge of the AC loads, in whole watts",
    words="Rounded up.",
    formula="ROUNDUP(ROUND(inverter_w_start,6),0)",
    source=own_rule("rounded up"),
)
def inverter_w_start_buy(inverter_w_start: Value) -> Value:
    return np.ceil(round_half_away(inverter_w_start, 6)) * getattr(inverter_w_start, "units", 1)


@chapter.quantity(
    kind="text",
    unit="",
    label="AC loads against the rated power of the inverter",
    words="Enough, less, or not known.",
    formula='IF(inverter_power="","not known",IF(ROUND(inverter_w_least,6)<=ROUND(inverter_power,6),"enough","less"))',
    source=RATED,
    optional=("inverter_power",),
)
def inverter_runs(inverter_power: Value, inverter_w_least: Value) -> Value:
    within = round_half_away(inverter_w_least, 6) <= round_half_away(inverter_power, 6)
    return np.where(np.isnan(inverter_power), "not known", np.where(within, "enough", "less"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Surge of the AC loads against what the inverter gives for seconds",
    words="Enough, less, or not known.",
    formula='IF(inverter_w_most="","not known",IF(ROUND(inverter_w_start,6)<=ROUND(inverter_w_most,6),"enough",'
    'IF(inverter_surge="","not known","less")))',
    source=RATED,
    optional=("inverter_w_most", "inverter_surge"),
)
def inverter_starts(inverter_w_most: Value, inverter_w_start: Value, inverter_surge: Value) -> Value:
    within = round_half_away(inverter_w_start, 6) <= round_half_away(inverter_w_most, 6)
    outside = np.where(np.isnan(inverter_surge), "not known", "less")
    return np.where(np.isnan(inverter_w_most), "not known", np.where(within, "enough", outside))


def _judged(needed: Value, carries: Value) -> Value:
    known = np.where(carries == "less", FAIL, np.where(carries == "enough", PASS, NOT_JUDGED))
    return np.where(needed == "not run", NOT_APPLICABLE, np.where(carries == "", INCOMPLETE, known))


@chapter.check(
    name="inverter_power",
    safety=True,
    label="Inverter carries the AC loads",
    words="Power of the AC loads that run at the same time, not above the rated continuous power of the inverter.",
    value="inverter_w_least",
    at_most="inverter_power",
    formula='IF(inverter_state="not run","N/A",IF(inverter_runs="","INCOMPLETE",IF(inverter_runs="less","FAIL",'
    'IF(inverter_runs="enough","PASS","NOT JUDGED"))))',
    source=RATED,
    optional=("inverter_runs",),
    asks=("inverter_power",),
    advice=("Its rated power must be at least ", "inverter_w_buy", " W."),
    sentences={
        PASS: "The inverter carries the AC loads that run at the same time.",
        FAIL: "The AC loads take more than the rated power of the inverter. It overheats, or it switches off all AC loads. Take a larger "
        "inverter, or fewer loads.",
        NOT_JUDGED: "Nobody can say whether the inverter carries the AC loads.",
        NOT_APPLICABLE: NO_AC,
        INCOMPLETE: UNFINISHED,
    },
)
def inverter_carries(inverter_state: Value, inverter_runs: Value) -> Value:
    return _judged(inverter_state, inverter_runs)


@chapter.check(
    name="inverter_surge",
    safety=True,
    label="Inverter starts the AC loads",
    words="Power of the AC loads while they start, not above the surge power of the inverter.",
    value="inverter_w_start",
    at_most="inverter_w_most",
    formula='IF(inverter_state="not run","N/A",IF(inverter_starts="","INCOMPLETE",IF(inverter_starts="less","FAIL",'
    'IF(inverter_starts="enough","PASS","NOT JUDGED"))))',
    source=RATED,
    optional=("inverter_starts",),
    asks=("inverter_power", "inverter_surge"),
    advice=("Its surge power must be at least ", "inverter_w_start_buy", " W."),
    sentences={
        PASS: "The inverter gives what the AC loads take while they start.",
        FAIL: "The AC loads take more while they start than the inverter gives. The inverter switches off whenever a motor starts. Take a "
        "larger inverter, or a motor with a soft start.",
        NOT_JUDGED: "Nobody can say whether the inverter starts the AC loads.",
        NOT_APPLICABLE: NO_AC,
        INCOMPLETE: UNFINISHED,
    },
)
def inverter_surge_judged(inverter_state: Value, inverter_starts: Value) -> Value:
    return _judged(inverter_state, inverter_starts)
