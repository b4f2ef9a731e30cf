"""At which set point the battery is held: absorption and float as they are today, and what the battery volts say of them.

A controller that regulates looks healthy at any set point. Only the battery's own volts tell a wrong one, and only against
the set points at the battery's temperature of the day.
"""

from typing import Any

import numpy as np

from workbook_builder.declare import Chapter
from workbook_builder.quantities.readings import STEPS
from workbook_builder.quantities.signs import flag
from workbook_builder.sources import cite, common_practice, own_rule
from workbook_builder.tables import round_half_away

chapter = Chapter("held", "Set points of today", "Absorption and float at the battery's temperature, against its volts.", sheet=STEPS)

OWN = own_rule("the battery itself before the air, the air before nothing")
chapter.constant("t_unsure_battery", 3, "K", "Battery temperature as read may be off by", "", common_practice("one point of its case"))
chapter.constant("t_unsure_air", 10, "K", "the same, taken from the air", "", common_practice("it follows the air slowly"))
chapter.constant("t_unsure_none", 15, "K", "the same, taken as 25 °C", "", common_practice("rooms of hot and cold countries"))
chapter.constant("setting_spread", 0.7, "%", "How far a controller may hold beside its set point", "",
                 common_practice("0.1 V of 14.4 V: steps of the setting, and its own sensing"))  # fmt: skip


@chapter.quantity(
    symbol="T,bat,day", unit="°C", label="Battery temperature that is counted with", words="As read; else the air's; else 25 °C.",
    formula='IF(reading_t_battery="",IF(reading_t_air="",t_battery,reading_t_air),reading_t_battery)', source=OWN,
    optional=("reading_t_battery", "reading_t_air"),
)  # fmt: skip
def day_t_battery(reading_t_battery, reading_t_air, t_battery):
    return np.where(np.isnan(reading_t_battery), np.where(np.isnan(reading_t_air), t_battery, reading_t_air), reading_t_battery)


@chapter.quantity(
    symbol="±T,bat", unit="K", label="How far that may be off", words="By what was read.",
    formula='IF(reading_t_battery="",IF(reading_t_air="",t_unsure_none,t_unsure_air),t_unsure_battery)', source=OWN,
    optional=("reading_t_battery", "reading_t_air"),
)  # fmt: skip
def day_t_unsure(reading_t_battery, reading_t_air, t_unsure_none, t_unsure_air, t_unsure_battery):
    guessed = np.where(np.isnan(reading_t_air), t_unsure_none, t_unsure_air)
    return np.where(np.isnan(reading_t_battery), guessed, t_unsure_battery)


@chapter.quantity(
    symbol="c,bank", unit="V/°C", label="Change of the bank's set points with its temperature", words="0 where none is used.",
    formula="IF(compensated,battery_tempco*battery_cells/millivolts_per_volt,0)",
    source=common_practice("compensation of a cell times the cells in series"),
)  # fmt: skip
def day_tempco(compensated, battery_tempco, battery_cells, millivolts_per_volt):
    return np.where(compensated == 1, battery_tempco * battery_cells / millivolts_per_volt, 0)


UNCOMPENSATED, SURE = "not compensated", "by the battery as read"
UNSURE = "unsure: battery not read, taken as "


@chapter.quantity(
    kind="text", unit="", label="What the set points of today rest on", words="A compensated one is unsure without the battery's own.",
    formula=f'IF(ROUND(day_tempco,6)=0,"{UNCOMPENSATED}",IF(ROUND(day_t_unsure-t_unsure_battery,6)=0,"{SURE}",'
    f'"{UNSURE}"&IF(ROUND(day_t_unsure-t_unsure_air,6)=0,"the air","25 °C")))',
    source=OWN,
)  # fmt: skip
def day_t_source(day_tempco, day_t_unsure, t_unsure_battery, t_unsure_air):
    taken = np.where(day_t_unsure == t_unsure_air, UNSURE + "the air", UNSURE + "25 °C")
    known = np.where(day_t_unsure == t_unsure_battery, SURE, taken)
    return np.where(round_half_away(day_tempco, 6) == 0, UNCOMPENSATED, known)


def _today(symbol: str, name: str, label: str) -> dict[str, Any]:
    return {
        "symbol": symbol, "unit": "V", "label": f"{label} of today", "words": "At 25 °C, moved by the compensation, both ways.",
        "formula": f"{name}+day_tempco*(day_t_battery-t_battery)", "source": common_practice("compensation works both ways"),
    }  # fmt: skip


@chapter.quantity(**_today("V,abs,day", "battery_v_absorb", "Absorption"))
def day_v_absorb(battery_v_absorb, day_tempco, day_t_battery, t_battery):
    return battery_v_absorb + day_tempco * (day_t_battery - t_battery)


@chapter.quantity(**_today("V,float,day", "battery_v_float", "Float"))
def day_v_float(battery_v_float, day_tempco, day_t_battery, t_battery):
    return battery_v_float + day_tempco * (day_t_battery - t_battery)


@chapter.quantity(
    symbol="±V,set", unit="V", label="How far the battery may be read beside a right set point",
    words="Meter, controller, and the battery's temperature.",
    formula="((reading_v_uncertainty^2+setting_spread^2)*(battery_v_absorb/whole_percent)^2+(day_tempco*day_t_unsure)^2)^(1/2)",
    source=own_rule("independent uncertainties: root of the sum of squares"),
)  # fmt: skip
def day_v_set_tolerance(
    reading_v_uncertainty, setting_spread, battery_v_absorb, whole_percent, day_tempco, day_t_unsure
):  # fmt: skip
    shares = np.hypot(reading_v_uncertainty, setting_spread) / whole_percent
    return np.hypot(shares * battery_v_absorb, day_tempco * day_t_unsure)


@chapter.quantity(
    symbol="ΔV,bat", unit="V", label="How far the battery may stand below the controller",
    words="The drop of its cable with all that the array gives; more amps under an MPPT controller, which steps volts down.",
    formula="(day_v_on_pwm-reading_v_battery-controller_v_drop)*day_v_on/day_v_on_pwm",
    source=cite("circuit-laws", "U = R·I"),
)  # fmt: skip
def day_v_set_drop(day_v_on_pwm, reading_v_battery, controller_v_drop, day_v_on):
    stepped_down = np.divide(day_v_on, day_v_on_pwm)  # 1 under a PWM controller
    return (day_v_on_pwm - reading_v_battery - controller_v_drop) * stepped_down


def _at(symbol: str, label: str, volts: str) -> dict[str, Any]:
    return flag(
        symbol, f"The battery stands at {label}", "Within the tolerance; below it also by the drop.",
        f"AND(ROUND(reading_v_battery-{volts}+day_v_set_tolerance+day_v_set_drop,6)>=0,"
        f"ROUND(reading_v_battery-{volts}-day_v_set_tolerance,6)<=0)",
    )  # fmt: skip


def _stands(battery: Any, volts: Any, tolerance: Any, drop: Any) -> Any:
    enough = round_half_away(battery - volts + tolerance + drop, 6) >= 0
    return (enough & (round_half_away(battery - volts - tolerance, 6) <= 0)) * 1.0


@chapter.quantity(**_at("V≈abs", "absorption", "day_v_absorb"))
def day_at_absorb(reading_v_battery, day_v_absorb, day_v_set_tolerance, day_v_set_drop):
    return _stands(reading_v_battery, day_v_absorb, day_v_set_tolerance, day_v_set_drop)


@chapter.quantity(**_at("V≈float", "float", "day_v_float"))
def day_at_float(reading_v_battery, day_v_float, day_v_set_tolerance, day_v_set_drop):
    return _stands(reading_v_battery, day_v_float, day_v_set_tolerance, day_v_set_drop)


NEITHER, BOTH = "at neither absorption nor float", "at absorption or float: cannot be told"


@chapter.quantity(
    kind="text", unit="", label="Where the battery stands", words="By both signs.",
    formula=f'IF(day_at_absorb=1,IF(day_at_float=1,"{BOTH}","at absorption"),IF(day_at_float=1,"at float","{NEITHER}"))',
    source=own_rule("a controller that regulates holds one of them"),
)  # fmt: skip
def day_held_at(day_at_absorb, day_at_float):
    one = np.where(day_at_absorb == 1, "at absorption", "at float")
    both = day_at_absorb + day_at_float
    return np.where(both == 0, NEITHER, np.where(both > 1, BOTH, one))


@chapter.quantity(**flag(
    "V>abs", "The battery stands above absorption", "Beyond the tolerance.",
    "ROUND(reading_v_battery-day_v_absorb-day_v_set_tolerance,6)>0",
))  # fmt: skip
def day_over(reading_v_battery, day_v_absorb, day_v_set_tolerance):
    return (round_half_away(reading_v_battery - day_v_absorb - day_v_set_tolerance, 6) > 0) * 1.0


@chapter.quantity(**flag(
    "V≠set", "The battery's volts fit no set point",
    "Above absorption; or at neither, while the controller says that it regulates, or takes less than the array gives.",
    "OR(day_over=1,AND(day_at_absorb+day_at_float=0,"
    'OR(day_mode="absorption or float",AND(day_limited=1,day_near=1))))',
))  # fmt: skip
def day_off_set_points(day_over, day_at_absorb, day_at_float, day_mode, day_limited, day_near):
    regulates = (day_mode == "absorption or float") | ((day_limited == 1) & (day_near == 1))
    return ((day_over == 1) | (regulates & (day_at_absorb + day_at_float == 0))) * 1.0
