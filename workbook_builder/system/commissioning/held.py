"""At which set point the battery is held: absorption and float as they are today, and what the battery volts say of them.

A controller that regulates looks healthy at any set point. Only the battery's own volts tell a wrong one, and only against
the set points at the battery's temperature of the day.
"""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.wording import each, number_text
from workbook_builder.system.commissioning.readings import STEPS
from workbook_builder.system.commissioning.signs import flag

chapter = Part("held", "Set points of today", "Against the battery's volts.", sheet=STEPS)

OWN = own_rule("a reading before a guess")
SQUARES = own_rule("independent uncertainties: root of the sum of squares")
chapter.constant("t_unsure_read", 3, "K", "Battery temperature may be off by", "", common_practice("one sensor"))
chapter.constant("t_unsure_guess", 15, "K", "the same, not read", "", common_practice("rooms of hot and cold countries"))
chapter.constant("setting_spread", 0.7, "%", "A controller may hold beside its set point by", "", common_practice("0.1 V of 14.4 V"))


@chapter.quantity(
    symbol="T,bat,day",
    unit="°C",
    label="Battery temperature of today",
    words="As read; else the air's; else {t_battery:unit}.",
    formula='IF(reading_t_battery="",IF(reading_t_air="",t_battery,reading_t_air),reading_t_battery)',
    source=OWN,
    optional=("reading_t_battery", "reading_t_air"),
)
def day_t_battery(reading_t_battery: Value, reading_t_air: Value, t_battery: Value) -> Value:
    return np.where(np.isnan(reading_t_battery), np.where(np.isnan(reading_t_air), t_battery, reading_t_air), reading_t_battery)


@chapter.quantity(
    symbol="V,unsure",
    unit="V",
    label="What it leaves unsure",
    words="Times the compensation.",
    formula='IF(reading_t_battery="",t_unsure_guess,t_unsure_read)*compensation_bank/millivolts_per_volt',
    source=OWN,
    optional=("reading_t_battery",),
)
def day_unsure(
    reading_t_battery: Value, t_unsure_guess: Value, t_unsure_read: Value, compensation_bank: Value, millivolts_per_volt: Value
) -> Value:
    return np.where(np.isnan(reading_t_battery), t_unsure_guess, t_unsure_read) * compensation_bank / millivolts_per_volt


UNCOMPENSATED, SURE, UNSURE = "not compensated", "battery as read", "unsure: battery taken as "


@chapter.quantity(
    kind="text",
    unit="",
    label="What set points of today rest on",
    words="By what was read.",
    formula=f'IF(ROUND(day_unsure,6)=0,"{UNCOMPENSATED}",'
    f'IF(ROUND(day_unsure*millivolts_per_volt-t_unsure_read*compensation_bank,6)=0,"{SURE}","{UNSURE}"&ROUND(day_t_battery,0)&" °C"))',
    source=OWN,
)
def day_t_source(
    day_unsure: Value, millivolts_per_volt: Value, t_unsure_read: Value, compensation_bank: Value, day_t_battery: Value
) -> Value:
    guessed = each(day_t_battery, lambda t: f"{UNSURE}{number_text(t)} °C")
    read = round_half_away(day_unsure * millivolts_per_volt - t_unsure_read * compensation_bank, 6) == 0
    return np.where(round_half_away(day_unsure, 6) == 0, UNCOMPENSATED, np.where(read, SURE, guessed))


def _today(symbol: str, name: str, label: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": "V",
        "label": f"{label} of today",
        "words": "As set, and the compensation.",
        "formula": f"{name}+compensation_bank/millivolts_per_volt*(day_t_battery-t_battery)",
        "source": common_practice("compensation works both ways"),
    }


@chapter.quantity(**_today("V,abs,day", "battery_v_absorb", "Absorption"))
def day_v_absorb(
    battery_v_absorb: Value, compensation_bank: Value, millivolts_per_volt: Value, day_t_battery: Value, t_battery: Value
) -> Value:
    return battery_v_absorb + compensation_bank / millivolts_per_volt * (day_t_battery - t_battery)


@chapter.quantity(**_today("V,float,day", "battery_v_float", "Float"))
def day_v_float(
    battery_v_float: Value, compensation_bank: Value, millivolts_per_volt: Value, day_t_battery: Value, t_battery: Value
) -> Value:
    return battery_v_float + compensation_bank / millivolts_per_volt * (day_t_battery - t_battery)


@chapter.quantity(
    symbol="±V,met",
    unit="V",
    label="How far volts of a right set point may be off: meter and controller",
    words="Shares of absorption.",
    formula="(reading_v_uncertainty^2+setting_spread^2)^(1/2)*battery_v_absorb/whole_percent",
    source=SQUARES,
)
def day_v_set_meter(reading_v_uncertainty: Value, setting_spread: Value, battery_v_absorb: Value, whole_percent: Value) -> Value:
    return np.hypot(reading_v_uncertainty, setting_spread) / whole_percent * battery_v_absorb


@chapter.quantity(
    symbol="±V,set",
    unit="V",
    label="the same, with the temperature of today",
    words="Meter, controller, temperature.",
    formula="(day_v_set_meter^2+day_unsure^2)^(1/2)",
    source=SQUARES,
)
def day_v_set_tolerance(day_v_set_meter: Value, day_unsure: Value) -> Value:
    return np.hypot(day_v_set_meter, day_unsure)


@chapter.quantity(
    symbol="±V,hand",
    unit="V",
    label="the same, with a temperature that is read, for work by pencil",
    words="Meter, controller, sensor.",
    formula="(day_v_set_meter^2+(t_unsure_read*compensation_bank/millivolts_per_volt)^2)^(1/2)",
    source=SQUARES,
)
def day_v_hand_tolerance(day_v_set_meter: Value, t_unsure_read: Value, compensation_bank: Value, millivolts_per_volt: Value) -> Value:
    return np.hypot(day_v_set_meter, t_unsure_read * compensation_bank / millivolts_per_volt)


BY_HAND = "by hand, Today = set point + this × (battery °C − 25) ÷ 1000, ± "


@chapter.quantity(
    kind="text",
    unit="",
    label="Set points of today by pencil",
    words="In words.",
    formula=f'"{BY_HAND}"&ROUND(day_v_hand_tolerance,2)&" V"',
    source=own_rule("for the sheet"),
)
def day_by_hand(day_v_hand_tolerance: Value) -> Value:
    return each(day_v_hand_tolerance, lambda volts: f"{BY_HAND}{number_text(volts)} V", digits=2)


@chapter.quantity(
    symbol="ΔV,bat",
    unit="V",
    label="How far the battery may stand below the controller",
    words="Its cable's drop with all the array gives; MPPT steps amps up.",
    formula="(day_v_on_pwm-reading_v_battery-controller_v_drop)*day_v_on/day_v_on_pwm",
    source=cite("circuit-laws", "U = R·I"),
)
def day_v_set_drop(day_v_on_pwm: Value, reading_v_battery: Value, controller_v_drop: Value, day_v_on: Value) -> Value:
    stepped_down = np.divide(day_v_on, day_v_on_pwm)  # 1 under a PWM controller
    return (day_v_on_pwm - reading_v_battery - controller_v_drop) * stepped_down


def _at(symbol: str, label: str, volts: str) -> dict[str, Any]:
    return flag(
        symbol,
        f"The battery stands at {label}",
        "Within their tolerance.",
        f"AND(ROUND(reading_v_battery-{volts}+day_v_set_tolerance+day_v_set_drop,6)>=0,"
        f"ROUND(reading_v_battery-{volts}-day_v_set_tolerance,6)<=0)",
    )


def _stands(battery: Any, volts: Any, tolerance: Any, drop: Any) -> Any:
    enough = round_half_away(battery - volts + tolerance + drop, 6) >= 0
    return (enough & (round_half_away(battery - volts - tolerance, 6) <= 0)) * 1.0


@chapter.quantity(**_at("V≈abs", "absorption", "day_v_absorb"))
def day_at_absorb(reading_v_battery: Value, day_v_absorb: Value, day_v_set_tolerance: Value, day_v_set_drop: Value) -> Value:
    return _stands(reading_v_battery, day_v_absorb, day_v_set_tolerance, day_v_set_drop)


@chapter.quantity(**_at("V≈float", "float", "day_v_float"))
def day_at_float(reading_v_battery: Value, day_v_float: Value, day_v_set_tolerance: Value, day_v_set_drop: Value) -> Value:
    return _stands(reading_v_battery, day_v_float, day_v_set_tolerance, day_v_set_drop)


@chapter.quantity(
    **flag(
        "V≠set",
        "The battery's volts fit no set point",
        "At neither: above both, or while it regulates.",
        "AND(day_at_absorb+day_at_float=0,"
        'OR(ROUND(reading_v_battery-day_v_absorb,6)>0,day_mode="absorption or float",day_limited*day_near=1))',
    )
)
def day_off_set_points(
    day_at_absorb: Value,
    day_at_float: Value,
    reading_v_battery: Value,
    day_v_absorb: Value,
    day_mode: Value,
    day_limited: Value,
    day_near: Value,
) -> Value:
    # it regulates if it says so, or takes less than the array gives near the set points
    regulates = (day_mode == "absorption or float") | ((day_limited == 1) & (day_near == 1))
    higher = round_half_away(reading_v_battery - day_v_absorb, 6) > 0
    return ((day_at_absorb + day_at_float == 0) & (higher | regulates)) * 1.0
