"""The discharge side of the battery: whether it gives the current of the loads while they run and while they start."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import at_least
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import common_practice
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS
from workbook_builder.system.battery.bank import BATTERY_SHEET

chapter = Part("sizing", continues=True)

RATES = common_practice(
    "deep-cycle lead-acid 0.2 to 0.3 times the capacity, gel three times I10, LiFePO4 half; the maker's sheet comes first"
)
LOW = common_practice("an inverter switches off below its lowest input voltage")
NO_LOADS, UNFINISHED = "No load is entered.", "A row of the loads is unfinished: complete it on Entries."

chapter.table(
    read_table(
        TEMPLATES / "discharge.csv",
        "discharge",
        "Largest discharge rates",
        RATES,
        "Rates as shares of the capacity in an hour. A battery management often allows less or more: enter its figure.",
    )
)
chapter.number(
    "battery_i_discharge_max",
    "A",
    1,
    4000,
    "Largest continuous discharge current of the bank",
    blank="=battery_i_discharge_default",
    blank_source=RATES,
    where=f"{BATTERY_SHEET}; limit of the battery management, times strings",
)
chapter.number(
    "battery_i_discharge_surge",
    "A",
    1,
    9000,
    "Largest discharge current of the bank for some seconds",
    blank="=battery_i_surge_default",
    blank_source=RATES,
    where=f"{BATTERY_SHEET}; limit of the battery management, times strings",
    relations=(at_least("battery_i_discharge_max", "the continuous one"),),
)


@chapter.quantity(
    symbol="I,dis",
    unit="A",
    label="Largest continuous discharge current, usual for the chemistry",
    words="Largest discharge rate times the capacity of the bank at {rate_long} hours or less.",
    formula="INDEX(discharge_discharge_max,MATCH(battery_chemistry,discharge_chemistry,0))*battery_rate_ah",
    source=RATES,
)
def battery_i_discharge_default(battery_chemistry: Value, battery_rate_ah: Value, *, discharge: Table) -> Value:
    return discharge.exact(battery_chemistry, "chemistry", "discharge_max") * battery_rate_ah


@chapter.quantity(
    symbol="I,s",
    unit="A",
    label="Largest discharge current for some seconds, usual for the chemistry",
    words="Factor of the chemistry times the largest continuous discharge current of the bank.",
    formula="INDEX(discharge_discharge_surge,MATCH(battery_chemistry,discharge_chemistry,0))*battery_i_discharge_max",
    source=RATES,
)
def battery_i_surge_default(battery_chemistry: Value, battery_i_discharge_max: Value, *, discharge: Table) -> Value:
    return discharge.exact(battery_chemistry, "chemistry", "discharge_surge") * battery_i_discharge_max


@chapter.quantity(
    symbol="n",
    unit="",
    label="Battery strings in parallel that would give these currents",
    words="For the peak current and for the surge current, rounded up; the larger of the two.",
    formula="ROUNDUP(ROUND(battery_parallel*MAX(load_i_peak/battery_i_discharge_max,load_i_surge/battery_i_discharge_surge),9),0)",
    source=common_practice("strings share the current"),
)
def discharge_parallel_needed(
    battery_parallel: Value, load_i_peak: Value, battery_i_discharge_max: Value, load_i_surge: Value, battery_i_discharge_surge: Value
) -> Value:
    share = np.maximum(load_i_peak / battery_i_discharge_max, load_i_surge / battery_i_discharge_surge)
    return np.ceil(round_half_away(battery_parallel * share, 9))


STRINGS = ("At least ", "discharge_parallel_needed", " such strings in parallel would do, unless the maker allows more.")

chapter.limit(
    name="discharge_current",
    safety=True,
    label="Battery gives the current of the loads",
    words="Peak current of all loads from a nearly empty battery, not above the largest continuous discharge current of the bank.",
    value="load_i_peak",
    at_most="battery_i_discharge_max",
    unless=(("loads_state", "not run"),),
    source=RATES,
    advice=STRINGS,
    sentences={
        PASS: "The bank gives the peak current of the loads for as long as they run.",
        FAIL: "The loads draw more current than the bank may give. The bank overheats, or its management switches everything off. Take "
        "more capacity or fewer loads, or enter the limit of the maker.",
        NOT_APPLICABLE: NO_LOADS,
        INCOMPLETE: UNFINISHED,
    },
)


chapter.limit(
    name="discharge_surge",
    safety=True,
    label="Battery starts the loads",
    words="Surge current of all loads from a nearly empty battery, not above the largest discharge current of the bank for some seconds.",
    value="load_i_surge",
    at_most="battery_i_discharge_surge",
    unless=(("loads_state", "not run"),),
    source=RATES,
    advice=STRINGS,
    sentences={
        PASS: "The bank gives the surge current of the loads while they start.",
        FAIL: "The loads draw more current while they start than the bank may give. Its voltage breaks down, or its management switches "
        "everything off. Take more capacity or motors with a soft start, or enter the limit of the maker.",
        NOT_APPLICABLE: NO_LOADS,
        INCOMPLETE: UNFINISHED,
    },
)


@chapter.quantity(
    symbol="I,all",
    unit="A",
    label="Current of direct loads and of the inverter at its rated power",
    words="What the loads can draw, whatever is plugged in, from a nearly empty battery.",
    formula="load_i_dc+inverter_i_rated",
    source=common_practice("people plug in more than was planned"),
)
def discharge_i_rated(load_i_dc: Value, inverter_i_rated: Value) -> Value:
    return load_i_dc + inverter_i_rated


chapter.limit(
    name="inverter_bank",
    label="Battery gives the inverter's rated power",
    words="Current of direct loads and of the inverter at its rated power, not above the largest continuous discharge current of the bank.",
    value="discharge_i_rated",
    at_most="battery_i_discharge_max",
    unless=(("inverter_state", "not run"),),
    source=common_practice("people plug in more than was planned"),
    sentences={
        PASS: "The bank gives what the inverter can draw.",
        NOTE: "The inverter can draw more current than the bank may give. A further appliance overloads the bank. Take a smaller inverter "
        "or a larger bank, or allow no further appliance.",
        NOT_APPLICABLE: "No load needs an inverter.",
        INCOMPLETE: UNFINISHED,
    },
)


@chapter.quantity(
    kind="text",
    unit="",
    label="Lowest input voltage of the inverter against the load disconnect",
    words="Enough, less, or not known.",
    formula='IF(inverter_v_low="","not known",IF(ROUND(battery_v_low,6)>=ROUND(inverter_v_low,6),"enough","less"))',
    source=LOW,
    optional=("inverter_v_low",),
)
def inverter_reaches(inverter_v_low: Value, battery_v_low: Value) -> Value:
    within = round_half_away(battery_v_low, 6) >= round_half_away(inverter_v_low, 6)
    return np.where(np.isnan(inverter_v_low), "not known", np.where(within, "enough", "less"))


@chapter.check(
    safety=True,
    label="Inverter runs down to the load disconnect",
    words="Load disconnect voltage, not below the lowest input voltage of the inverter.",
    value="battery_v_low",
    at_least="inverter_v_low",
    formula='IF(inverter_state="not run","N/A",IF(inverter_reaches="enough","PASS",IF(inverter_reaches="less","FAIL","NOT JUDGED")))',
    source=LOW,
    asks=("inverter_v_low",),
    sentences={
        PASS: "The inverter runs until the load disconnect.",
        FAIL: "The inverter switches off at a higher voltage than the load disconnect. The AC loads fail before the battery is used. Raise "
        "the load disconnect voltage, or choose another inverter.",
        NOT_JUDGED: "Nobody can say whether the inverter runs until the load disconnect.",
        NOT_APPLICABLE: "No load needs an inverter.",
    },
)
def inverter_low(inverter_state: Value, inverter_reaches: Value) -> Value:
    known = np.where(inverter_reaches == "less", FAIL, NOT_JUDGED)
    judged = np.where(inverter_reaches == "enough", PASS, known)
    return np.where(inverter_state == "not run", NOT_APPLICABLE, judged)
