"""What a string gives while it works, and what a meter shows once the battery is full: also without any reading of the day.

A sheet that is filled in by pencil has no readings, so that these rest on full sun and cells of 25 °C until there are some.
"""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.commissioning.readings import STEPS

chapter = Part(
    "full",
    "One string, and a full battery",
    "A full battery takes little, so that a PWM controller opens its switch most of the time and an MPPT controller lets the array "
    "rise to nearly open circuit.",
    sheet=STEPS,
)

PARALLEL = cite("circuit-laws", "parallel currents add")
WAVE = cite("two-level-wave")
TAIL = common_practice("end of absorption")


@chapter.quantity(
    symbol="I,str",
    unit="A",
    label="Working amps of one string in full sun, cells at {t_stc:unit}",
    words="At absorption under PWM, at maximum power under MPPT; by the strings.",
    optional=("pwm_i_absorb",),
    formula='IF(controller_type="MPPT",array_imp/array_parallel,IF(pwm_i_absorb="","",pwm_i_absorb/array_parallel))',
    source=PARALLEL,
)
def string_i_full(controller_type: Value, array_imp: Value, pwm_i_absorb: Value, array_parallel: Value) -> Value:
    return np.where(controller_type == "MPPT", array_imp, pwm_i_absorb) / array_parallel


@chapter.quantity(
    symbol="I,str",
    unit="A",
    label="Working amps of one string now",
    words="At the sun, temperature and battery volts that were read.",
    formula="day_i_on/array_parallel",
    source=PARALLEL,
)
def string_i_now(day_i_on: Value, array_parallel: Value) -> Value:
    return day_i_on / array_parallel


@chapter.quantity(
    symbol="ΔVoc",
    unit="V/°C",
    label="Change of the open-circuit volts of a string for each °C of its cells",
    words="Volts at {t_stc:unit} by the coefficient.",
    formula="array_voc*module_beta_hot/whole_percent",
    source=cite("iec-60891", "procedure 1, without its small terms", "from memory"),
)
def voc_per_degree(array_voc: Value, module_beta_hot: Value, whole_percent: Value) -> Value:
    return array_voc * module_beta_hot / whole_percent


@chapter.quantity(
    symbol="I,tail",
    unit="A",
    label="Current that a full battery still takes at absorption",
    words="The chemistry's row times the capacity of the bank.",
    formula="INDEX(chemistry_tail,MATCH(battery_chemistry,chemistry_chemistry,0))*battery_bank_ah",
    source=TAIL,
)
def full_tail(battery_chemistry: Value, battery_bank_ah: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "tail") * battery_bank_ah


def _day(symbol: str, unit: str, label: str, day: str, instead: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": unit,
        "label": label,
        "words": "Of the day; without readings in full sun, cells at {t_stc:unit}.",
        "formula": f'IF({day}="",{instead},{day})',
        "source": own_rule("a reading before a guess"),
        "optional": (day,),
    }


@chapter.quantity(**_day("I,on", "A", "PV amps that the array could give", "day_i_on", "string_i_full*array_parallel"))
def full_i_on(day_i_on: Value, string_i_full: Value, array_parallel: Value) -> Value:
    return np.where(np.isnan(day_i_on), string_i_full * array_parallel, day_i_on)


@chapter.quantity(**_day("Voc", "V", "PV volts while nothing is taken", "day_voc", "array_voc"))
def full_voc(day_voc: Value, array_voc: Value) -> Value:
    return np.where(np.isnan(day_voc), array_voc, day_voc)


@chapter.quantity(
    symbol="V,on",
    unit="V",
    label="PV volts with a PWM controller's switch closed, at absorption",
    words="Absorption volts, and the drops of controller and battery cable.",
    formula="battery_v_absorb+controller_v_drop+battery_drop_assumed/whole_percent*battery_nominal+full_i_on*day_r_battery",
    source=cite("circuit-laws", "series voltages add"),
)
def full_v_on(
    battery_v_absorb: Value,
    controller_v_drop: Value,
    battery_drop_assumed: Value,
    whole_percent: Value,
    battery_nominal: Value,
    full_i_on: Value,
    day_r_battery: Value,
) -> Value:
    assumed = battery_drop_assumed / whole_percent * battery_nominal
    return battery_v_absorb + controller_v_drop + assumed + full_i_on * day_r_battery


@chapter.quantity(
    symbol="D,full",
    unit="",
    label="Share of the time that the switch is closed then",
    words="What the battery takes by what the array could give; an MPPT controller does not switch.",
    formula='IF(AND(controller_type="PWM",ROUND(full_i_on,6)>0),MIN(1,full_tail/full_i_on),"")',
    source=WAVE,
)
def full_duty(controller_type: Value, full_i_on: Value, full_tail: Value) -> Value:
    share = np.minimum(1, np.divide(full_tail, full_i_on))
    return np.where((controller_type == "PWM") & (round_half_away(full_i_on, 6) > 0), share, np.nan)


@chapter.quantity(
    symbol="V,full",
    unit="V",
    label="PV volts on an averaging meter then",
    words="PWM: mean of both levels. MPPT: nearly open circuit.",
    formula='IF(controller_type="MPPT",full_voc,IF(full_duty="","",full_duty*full_v_on+(1-full_duty)*full_voc))',
    source=WAVE,
    optional=("full_duty",),
)
def full_v_pv(controller_type: Value, full_voc: Value, full_duty: Value, full_v_on: Value) -> Value:
    return np.where(controller_type == "MPPT", full_voc, full_duty * full_v_on + (1 - full_duty) * full_voc)


@chapter.quantity(
    symbol="I,full",
    unit="A",
    label="PV amps on an averaging meter then",
    words="PWM: what the battery takes. MPPT: the same power at the higher volts.",
    formula='MIN(full_i_on,full_tail*IF(controller_type="MPPT",battery_v_absorb/full_voc,1))',
    source=WAVE,
)
def full_i_pv(full_i_on: Value, full_tail: Value, controller_type: Value, battery_v_absorb: Value, full_voc: Value) -> Value:
    return np.minimum(full_i_on, full_tail * np.where(controller_type == "MPPT", battery_v_absorb / full_voc, 1))
