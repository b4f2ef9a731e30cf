"""Whether charging keeps the hard limits: what lies beyond them overcharges the battery, whatever else fits."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import common_practice
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.battery.charge_limits import LIMITS, SEALED

chapter = Part("battery_limits", continues=True)


@chapter.check(
    name="float_limit",
    safety=True,
    match=True,
    label="Float voltage within the battery's limit",
    words="Float voltage, not above the highest allowed. Above the usual one of the chemistry: NOTE.",
    value="battery_v_float",
    at_most="float_hard",
    formula='IF(ROUND(battery_v_float,6)>ROUND(float_hard,6),"FAIL",IF(ROUND(battery_v_float,6)>ROUND(float_usual,6),"NOTE","PASS"))',
    source=LIMITS,
    sentences={
        PASS: "The float voltage is within what the battery withstands for days.",
        NOTE: "The float voltage is above the usual one of the chemistry. The battery loses water or ages faster. Compare the float "
        "voltage with the maker's sheet, or lower it.",
        FAIL: "The float voltage is above the highest allowed. Held for days, it dries out, heats or swells the battery. Lower the "
        "float voltage to the limit or below.",
    },
)
def float_limit(battery_v_float: Value, float_hard: Value, float_usual: Value) -> Value:
    held = round_half_away(battery_v_float, 6)
    usual = where_pass(held <= round_half_away(float_usual, 6), NOTE)
    return np.where(held > round_half_away(float_hard, 6), FAIL, usual)


chapter.limit(
    name="absorb_limit",
    safety=True,
    match=True,
    label="Absorption voltage within the limit",
    words="Absorption voltage, not above the highest allowed.",
    value="battery_v_absorb",
    at_most="absorb_hard",
    source=LIMITS,
    sentences={
        PASS: "The absorption voltage is within what the battery withstands.",
        FAIL: "The absorption voltage is above the highest allowed. The battery overheats, and it dries out or swells. Lower the "
        "absorption voltage to the limit or below.",
    },
)


chapter.limit(
    name="charge_limit_cold",
    safety=True,
    match=True,
    label="Highest charge voltage, battery coldest",
    words="Highest charge voltage with its rise by compensation, not above the highest allowed in the cold.",
    value="battery_v_high_cold",
    at_most="charge_hard_cold",
    source=LIMITS,
    sentences={
        PASS: "The highest charge voltage is within the battery's limit in the cold.",
        FAIL: "The highest charge voltage of the coldest battery is above the highest allowed. The battery is overcharged. Lower the "
        "highest charge voltage or the compensation.",
    },
)


chapter.limit(
    name="charge_limit_hot",
    safety=True,
    match=True,
    label="Highest charge voltage, battery warmest",
    words="Highest charge voltage with its fall by compensation, not above the highest allowed in the heat.",
    value="battery_v_high_hot",
    at_most="charge_hard_hot",
    source=LIMITS,
    sentences={
        PASS: "The highest charge voltage is within the battery's limit in the heat.",
        FAIL: "The highest charge voltage of the warmest battery is above the highest allowed. The battery overheats and dries out. "
        "Lower the highest charge voltage, or use temperature compensation on a lead-acid battery.",
    },
)


@chapter.quantity(
    kind="text",
    unit="",
    label="What the maker says of equalization",
    words="Yes: the answer is yes, or the maker's highest charge voltage is entered. No: the answer is no. Otherwise open.",
    formula='IF(battery_equalize="no","no",IF(OR(battery_equalize="yes",battery_v_max<>""),"yes","open"))',
    source=SEALED,
    optional=("battery_equalize", "battery_v_max"),
)
def equalization_said(battery_equalize: Value, battery_v_max: Value) -> Value:
    allowed = (battery_equalize == "yes") | ~np.isnan(battery_v_max)
    return np.where(battery_equalize == "no", "no", np.where(allowed, "yes", "open"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether a battery is equalized that need not be",
    words="Sealed or other: the highest charge voltage is above the usual absorption voltage, of a sealed battery or another. Usual or "
    "none: it is not.",
    formula='IF(battery_sealed="sealed",IF(ROUND(battery_v_high,6)<=ROUND(absorb_highest,6),"usual","sealed"),'
    'IF(ROUND(battery_v_high,6)<=ROUND(absorb_highest,6),"none","other"))',
    source=SEALED,
)
def equalization_used(battery_sealed: Value, battery_v_high: Value, absorb_highest: Value) -> Value:
    usual = round_half_away(battery_v_high, 6) <= round_half_away(absorb_highest, 6)
    sealed = np.where(usual, "usual", "sealed")
    return np.where(battery_sealed == "sealed", sealed, np.where(usual, "none", "other"))


@chapter.check(
    name="equalization",
    safety=True,
    match=True,
    label="Equalization that the maker allows",
    words="Highest charge voltage of AGM and gel, not above the usual absorption voltage, unless the maker allows equalization. Where the "
    "maker forbids equalization, the same holds for any chemistry.",
    value="battery_v_high",
    at_most="absorb_highest",
    formula='IF(equalization_used="usual","PASS",IF(equalization_used="none","N/A",IF(equalization_said="no","FAIL",'
    'IF(equalization_used="other","N/A",IF(equalization_said="yes","PASS","NOT JUDGED")))))',
    source=SEALED,
    asks=("battery_equalize", "battery_v_max"),
    sentences={
        PASS: "The battery is not equalized, or its maker allows the highest charge voltage.",
        FAIL: "The battery is charged above its usual absorption voltage, and its maker does not allow equalization. The battery vents "
        "and dries out. Lower the highest charge voltage to the usual absorption voltage.",
        NOT_JUDGED: "A sealed battery is charged above the usual absorption voltage. Nobody has said that its maker allows this.",
        NOT_APPLICABLE: "The battery is not a sealed lead-acid one, and no maker's word against equalization is entered.",
    },
)
def equalization(equalization_used: Value, equalization_said: Value) -> Value:
    sealed = where_pass(equalization_said == "yes", NOT_JUDGED)
    raised = np.where(equalization_said == "no", FAIL, np.where(equalization_used == "other", NOT_APPLICABLE, sealed))
    return np.where(equalization_used == "usual", PASS, np.where(equalization_used == "none", NOT_APPLICABLE, raised))


@chapter.check(
    name="absorb_time",
    safety=True,
    match=True,
    label="Time at absorption within the limit",
    words="Time at absorption, not above the longest of the chemistry. Above the usual one: NOTE.",
    value="battery_absorb_hours",
    at_most="absorb_hours_hard",
    formula='IF(ROUND(battery_absorb_hours,6)>ROUND(absorb_hours_hard,6),"FAIL",'
    'IF(ROUND(battery_absorb_hours,6)>ROUND(absorb_hours_usual,6),"NOTE","PASS"))',
    source=LIMITS,
    sentences={
        PASS: "The time at absorption is usual for the chemistry.",
        NOTE: "The time at absorption is longer than usual for the chemistry. The battery ages faster. Compare the time with the "
        "maker's sheet, or shorten it.",
        FAIL: "The time at absorption is longer than the chemistry withstands. The battery overheats, and it dries out or swells. "
        "Shorten the time to the limit or below.",
    },
)
def absorb_time(battery_absorb_hours: Value, absorb_hours_hard: Value, absorb_hours_usual: Value) -> Value:
    hours = round_half_away(battery_absorb_hours, 6)
    usual = where_pass(hours <= round_half_away(absorb_hours_usual, 6), NOTE)
    return np.where(hours > round_half_away(absorb_hours_hard, 6), FAIL, usual)


@chapter.check(
    name="compensation_limit",
    safety=True,
    match=True,
    label="Temperature compensation within the limit",
    words="Compensation, not greater than the chemistry's greatest. A LiFePO4 battery is charged without compensation.",
    value="battery_tempco",
    at_least="tempco_hard",
    formula='IF(controller_tempcomp="no","PASS",IF(battery_chemistry="LiFePO4","FAIL",'
    'IF(ROUND(battery_tempco,6)>=ROUND(tempco_hard,6),"PASS","FAIL")))',
    source=common_practice("−3 to −6 mV/°C a cell for lead-acid, none for LiFePO4"),
    sentences={
        PASS: "The compensation is none, or it is within what the chemistry allows.",
        FAIL: "The compensation is greater than the chemistry allows, or a LiFePO4 battery is compensated. The battery is overcharged "
        "in the cold. Switch compensation off for LiFePO4, or set a smaller one for lead-acid.",
    },
)
def compensation_limit(controller_tempcomp: Value, battery_chemistry: Value, battery_tempco: Value, tempco_hard: Value) -> Value:
    within = where_pass(round_half_away(battery_tempco, 6) >= round_half_away(tempco_hard, 6), FAIL)
    used = np.where(battery_chemistry == "LiFePO4", FAIL, within)
    return np.where(controller_tempcomp == "no", PASS, used)
