"""What a meter makes of a switch that opens and closes many times a second, and what share of the time it is closed.

The wave has two levels. An averaging meter shows their mean, a true-RMS meter the root of the mean of their squares. The
longer the switch is open, the higher the volts and the lower the amps that are read.

What may come near to nothing is multiplied by itself: a power of it is an error in some programs.
"""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.commissioning.readings import STEPS

chapter = Part(
    "meters",
    "Share of the time that the switch is closed",
    "Found twice, from volts and from amps. An MPPT controller does not switch the array: it stands at maximum power.",
    sheet=STEPS,
)

WAVE = cite("two-level-wave")
SPREAD = own_rule("independent uncertainties: root of the sum of squares")


@chapter.quantity(
    symbol="Voc − V,on",
    unit="V",
    label="Volts between open and closed switch",
    words="Nothing for an MPPT controller, or if the array cannot charge.",
    formula='IF(AND(controller_type="PWM",ROUND(day_voc,6)>ROUND(day_v_on,6)),day_voc-day_v_on,"")',
    source=WAVE,
)
def day_v_span(controller_type: Value, day_voc: Value, day_v_on: Value) -> Value:
    switched = (controller_type == "PWM") & (round_half_away(day_voc, 6) > round_half_away(day_v_on, 6))
    return np.where(switched, day_voc - day_v_on, np.nan)


@chapter.quantity(
    symbol="D,V",
    unit="",
    label="Share of the time closed, from the volts",
    words="How far the volts read lie below open circuit; for a true-RMS meter by their squares.",
    formula='(day_voc-reading_v_pv)/day_v_span*IF(reading_meter="true RMS",(day_voc+reading_v_pv)/(day_voc+day_v_on),1)',
    source=WAVE,
)
def day_duty_v(reading_meter: Value, day_voc: Value, reading_v_pv: Value, day_v_on: Value, day_v_span: Value) -> Value:
    by_squares = (day_voc**2 - reading_v_pv**2) / (day_voc + day_v_on)
    return np.where(reading_meter == "true RMS", by_squares, day_voc - reading_v_pv) / day_v_span


@chapter.quantity(
    symbol="±V,read",
    unit="V",
    label="How far the volts that were read may be off against both levels",
    words="Meter, and the tolerance of each level by its share of the time.",
    formula="((reading_v_uncertainty/whole_percent*MAX(v_unseen,ABS(reading_v_pv)))^2+((1-day_duty_v)*day_voc_tolerance)^2"
    "+(day_duty_v*day_v_on_tolerance)^2)^(1/2)",
    source=SPREAD,
)
def day_v_read_tolerance(
    reading_v_uncertainty: Value,
    whole_percent: Value,
    v_unseen: Value,
    reading_v_pv: Value,
    day_duty_v: Value,
    day_voc_tolerance: Value,
    day_v_on_tolerance: Value,
) -> Value:
    metered = reading_v_uncertainty / whole_percent * np.maximum(v_unseen, np.abs(reading_v_pv))
    return np.sqrt(metered**2 + ((1 - day_duty_v) * day_voc_tolerance) ** 2 + (day_duty_v * day_v_on_tolerance) ** 2)


@chapter.quantity(
    symbol="±D,V",
    unit="",
    label="Tolerance of that share",
    words="The same by the volts between the levels; a little more for a true-RMS meter.",
    formula='day_v_read_tolerance/day_v_span*IF(reading_meter="true RMS",2*day_voc/(day_voc+day_v_on),1)',
    source=SPREAD,
)
def day_duty_v_tolerance(day_v_read_tolerance: Value, day_v_span: Value, reading_meter: Value, day_voc: Value, day_v_on: Value) -> Value:
    return day_v_read_tolerance / day_v_span * np.where(reading_meter == "true RMS", 2 * day_voc / (day_voc + day_v_on), 1)


@chapter.quantity(
    symbol="I/I,on",
    unit="",
    label="Amps read as a share of the prediction",
    words="Nothing if none are predicted.",
    formula='IF(ROUND(day_i_on,6)>ROUND(day_i_none,6),reading_i_pv/day_i_on,"")',
    source=WAVE,
)
def day_i_share(day_i_on: Value, day_i_none: Value, reading_i_pv: Value) -> Value:
    some = round_half_away(day_i_on, 6) > round_half_away(day_i_none, 6)
    return np.where(some, np.divide(reading_i_pv, day_i_on), np.nan)


@chapter.quantity(
    symbol="±I/I,on",
    unit="",
    label="Tolerance of that share of amps",
    words="The prediction's, and what a clamp does not see.",
    formula="(day_i_share*day_i_share*day_i_on_tolerance^2+day_i_none^2)^(1/2)/day_i_on",
    source=SPREAD,
)
def day_i_share_tolerance(day_i_share: Value, day_i_on_tolerance: Value, day_i_none: Value, day_i_on: Value) -> Value:
    return np.sqrt((day_i_share * day_i_on_tolerance) ** 2 + day_i_none**2) / day_i_on


@chapter.quantity(
    symbol="D,I",
    unit="",
    label="Share of the time closed, from the amps",
    words="The share of the amps; for a true-RMS meter its square. Nothing for an MPPT controller.",
    formula='IF(controller_type="PWM",IF(reading_meter="true RMS",day_i_share*day_i_share,day_i_share),"")',
    source=WAVE,
)
def day_duty_i(controller_type: Value, reading_meter: Value, day_i_share: Value) -> Value:
    share = np.where(reading_meter == "true RMS", day_i_share**2, day_i_share)
    return np.where(controller_type == "PWM", share, np.nan)


@chapter.quantity(
    symbol="±D,I",
    unit="",
    label="Tolerance of that share",
    words="That of the amps; for a true-RMS meter what their square gains by it.",
    formula='IF(reading_meter="true RMS",2*ABS(day_i_share)*day_i_share_tolerance+day_i_share_tolerance^2,day_i_share_tolerance)',
    source=SPREAD,
    waits=("day_duty_i",),
)
def day_duty_i_tolerance(reading_meter: Value, day_i_share: Value, day_i_share_tolerance: Value) -> Value:
    squared = 2 * np.abs(day_i_share) * day_i_share_tolerance + day_i_share_tolerance**2
    return np.where(reading_meter == "true RMS", squared, day_i_share_tolerance)


@chapter.quantity(
    symbol="±D",
    unit="",
    label="Tolerance of the difference of both shares",
    words="Both tolerances together.",
    formula="(day_duty_v_tolerance^2+day_duty_i_tolerance^2)^(1/2)",
    source=SPREAD,
)
def day_duty_tolerance(day_duty_v_tolerance: Value, day_duty_i_tolerance: Value) -> Value:
    return np.sqrt(day_duty_v_tolerance**2 + day_duty_i_tolerance**2)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether volts and amps tell of the same switch",
    words="Within the tolerance of the difference.",
    formula='IF(ROUND(ABS(day_duty_v-day_duty_i),6)<=ROUND(day_duty_tolerance,6),"they agree","they do not agree")',
    source=WAVE,
)
def day_duty_agreement(day_duty_v: Value, day_duty_i: Value, day_duty_tolerance: Value) -> Value:
    apart = round_half_away(np.abs(day_duty_v - day_duty_i), 6)
    return np.where(apart <= round_half_away(day_duty_tolerance, 6), "they agree", "they do not agree")


@chapter.quantity(
    kind="text",
    unit="",
    label="The surer of the two",
    words="The volts, if their share has the smaller tolerance, or if the two do not agree: what the array lacks spoils the amps only.",
    formula='IF(OR(day_duty_agreement="they do not agree",ROUND(day_duty_v_tolerance,6)<=ROUND(day_duty_i_tolerance,6)),'
    '"the volts","the amps")',
    source=own_rule("the surer of two answers"),
)
def day_surer(day_duty_agreement: Value, day_duty_v_tolerance: Value, day_duty_i_tolerance: Value) -> Value:
    smaller = round_half_away(day_duty_v_tolerance, 6) <= round_half_away(day_duty_i_tolerance, 6)
    return np.where((day_duty_agreement == "they do not agree") | smaller, "the volts", "the amps")


@chapter.quantity(
    kind="text",
    unit="",
    label="What the share that is used rests on",
    words="Volts or amps, the surer of the two if there are both; maximum power for an MPPT controller.",
    formula='IF(controller_type="MPPT","maximum power",IF(COUNT(day_duty_v,day_duty_i)=2,IF(day_surer="","no reading yet",day_surer),'
    'IF(COUNT(day_duty_v)=1,"the volts",IF(COUNT(day_duty_i)=1,"the amps","no reading yet"))))',
    source=own_rule("the surer of two answers"),
    optional=("day_duty_v", "day_duty_i", "day_surer"),
)
def reading_duty_source(controller_type: Value, day_duty_v: Value, day_duty_i: Value, day_surer: Value) -> Value:
    volts, amps = ~np.isnan(day_duty_v), ~np.isnan(day_duty_i)
    one = np.where(volts, "the volts", np.where(amps, "the amps", "no reading yet"))
    # both shares without their tolerances: an uncertainty was refused
    both = np.where(day_surer == "", "no reading yet", day_surer)
    return np.where(controller_type == "MPPT", "maximum power", np.where(volts & amps, both, one))


@chapter.quantity(
    symbol="D",
    unit="",
    label="Share of the time that the switch is closed",
    words="Between none and all of the time.",
    formula='IF(controller_type="MPPT",1,IF(reading_duty_source="the volts",MAX(0,MIN(1,day_duty_v)),'
    'IF(reading_duty_source="the amps",MAX(0,MIN(1,day_duty_i)),"")))',
    source=WAVE,
    optional=("day_duty_v", "day_duty_i"),
)
def reading_duty(controller_type: Value, reading_duty_source: Value, day_duty_v: Value, day_duty_i: Value) -> Value:
    found = np.where(reading_duty_source == "the volts", day_duty_v, np.where(reading_duty_source == "the amps", day_duty_i, np.nan))
    return np.where(controller_type == "MPPT", 1.0, np.maximum(0, np.minimum(1, found)))


def _shown(symbol: str, unit: str, what: str, words: str, formula: str) -> dict[str, Any]:
    return {"symbol": symbol, "unit": unit, "label": what, "words": words, "formula": formula, "source": WAVE}


@chapter.quantity(
    **_shown(
        "V,mean",
        "V",
        "PV volts on an averaging meter",
        "At the share D: the mean of both levels.",
        "reading_duty*day_v_on+(1-reading_duty)*day_voc",
    )
)
def reading_v_mean(reading_duty: Value, day_v_on: Value, day_voc: Value) -> Value:
    return reading_duty * day_v_on + (1 - reading_duty) * day_voc


@chapter.quantity(
    **_shown(
        "V,rms",
        "V",
        "PV volts on a true-RMS meter",
        "At the share D: the root of the mean of the squares.",
        "(reading_duty*day_v_on^2+(1-reading_duty)*day_voc^2)^(1/2)",
    )
)
def reading_v_rms(reading_duty: Value, day_v_on: Value, day_voc: Value) -> Value:
    return np.sqrt(reading_duty * day_v_on**2 + (1 - reading_duty) * day_voc**2)


@chapter.quantity(
    **_shown(
        "I,mean",
        "A",
        "PV amps on an averaging meter",
        "At the share D: none flows while the switch is open.",
        "reading_duty*day_i_on",
    )
)
def reading_i_mean(reading_duty: Value, day_i_on: Value) -> Value:
    return reading_duty * day_i_on


@chapter.quantity(
    **_shown(
        "I,rms",
        "A",
        "PV amps on a true-RMS meter",
        "At the share D: more than the mean, though it charges no more.",
        "reading_duty^(1/2)*day_i_on",
    )
)
def reading_i_rms(reading_duty: Value, day_i_on: Value) -> Value:
    return np.sqrt(reading_duty) * day_i_on


@chapter.quantity(
    **_shown(
        "±V",
        "V",
        "Tolerance of these volts",
        "That of each level by its share of the time.",
        "(reading_duty*reading_duty*day_v_on_tolerance^2+((1-reading_duty)*day_voc_tolerance)^2)^(1/2)",
    )
)
def reading_v_tolerance(reading_duty: Value, day_v_on_tolerance: Value, day_voc_tolerance: Value) -> Value:
    return np.sqrt((reading_duty * day_v_on_tolerance) ** 2 + ((1 - reading_duty) * day_voc_tolerance) ** 2)


@chapter.quantity(
    **_shown(
        "±I",
        "A",
        "Tolerance of these amps",
        "That of the amps while charging, and what a clamp does not see.",
        "(reading_duty*reading_duty*day_i_on_tolerance^2+day_i_none^2)^(1/2)",
    )
)
def reading_i_tolerance(reading_duty: Value, day_i_on_tolerance: Value, day_i_none: Value) -> Value:
    return np.sqrt((reading_duty * day_i_on_tolerance) ** 2 + day_i_none**2)
