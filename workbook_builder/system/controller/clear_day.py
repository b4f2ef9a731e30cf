"""A clear day under an MPPT controller: how much of its energy the rated charge current cuts off."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import NOT_APPLICABLE, NOTE, PASS

chapter = Part("power", continues=True)

CLEAR = own_rule("power follows half a sine wave from sunrise to sunset, with {g_stc:unit} at noon and clean modules")
chapter.constant("cut_day_most", 0.1, "", "Share of a clear day's energy that may be cut off without a note", "", own_rule("a tenth"))


@chapter.quantity(
    symbol="P,noon",
    unit="W",
    label="MPPT power at noon of a clear day, before any current limit",
    words="All modules times the peak of the curve in full sun at the air temperature taken for the year, times the efficiency.",
    formula="array_series*array_parallel*year_peak_g1000_pmp*controller_efficiency/whole_percent",
    source=CLEAR,
)
def clear_p_noon(
    array_series: Value, array_parallel: Value, year_peak_g1000_pmp: Value, controller_efficiency: Value, whole_percent: Value
) -> Value:
    return array_series * array_parallel * year_peak_g1000_pmp * controller_efficiency / whole_percent


@chapter.quantity(
    symbol="I,noon",
    unit="A",
    label="Rated charge current that would cut off nothing on a clear day",
    words="That power divided by the float voltage, the middle of an ordinary charge.",
    formula="clear_p_noon/battery_v_float",
    source=cite("circuit-laws", "conservation of energy"),
)
def clear_i_noon(clear_p_noon: Value, battery_v_float: Value) -> Value:
    return clear_p_noon / battery_v_float


@chapter.quantity(
    symbol="c",
    unit="",
    label="Share of the noon power that the rated charge current carries",
    words="Rated charge current divided by that current, at most 1.",
    formula="IF(clear_i_noon>controller_i_max,controller_i_max/clear_i_noon,1)",
    source=cite("circuit-laws", "conservation of energy"),
)
def clear_carried(clear_i_noon: Value, controller_i_max: Value) -> Value:
    return np.where(clear_i_noon > controller_i_max, np.divide(controller_i_max, clear_i_noon), 1)


@chapter.quantity(
    symbol="",
    unit="",
    label="Share of a clear day's energy that the rated charge current cuts off",
    words="The part of half a sine wave above the share c of its peak: √(1 − c²) − c·arccos c.",
    formula="(1-clear_carried^2)^(1/2)-clear_carried*ACOS(clear_carried)",
    source=CLEAR,
)
def mppt_cut_day(clear_carried: Value) -> Value:
    # the integral of sin t − c between its crossings, halved, and taken of the whole half wave, whose area is 2
    angle = np.arcsin(clear_carried)
    return np.cos(angle) - clear_carried * (np.pi / 2 - angle)


@chapter.quantity(
    symbol="",
    unit="%",
    label="The share of a clear day's energy that is cut off, in per cent",
    words="The share times the whole.",
    formula="mppt_cut_day*whole_percent",
    source=CLEAR,
)
def mppt_cut_percent(mppt_cut_day: Value, whole_percent: Value) -> Value:
    return mppt_cut_day * whole_percent


chapter.limit(
    name="mppt_clipping",
    match=True,
    label="MPPT controller takes a clear day's energy",
    words="Share of a clear day's energy that the rated charge current cuts off, not above {cut_day_most:%}.",
    value="mppt_cut_day",
    at_most="cut_day_most",
    unless=(("controller_type", "PWM"),),
    source=CLEAR,
    advice=("About ", "mppt_cut_percent", " % of a clear day's energy are lost."),
    sentences={
        PASS: "The controller's rated charge current takes nearly all of a clear day's energy.",
        NOTE: "The array gives more than the controller's rated charge current: the controller cuts the middle of a clear day, and modules "
        "are paid for and not used. Choose a controller for a higher current, if the battery takes it, or fewer modules. The sheet Power "
        "shows the current that would cut off nothing.",
        NOT_APPLICABLE: "A PWM controller does not limit the array's current: its rating must exceed it.",
    },
)
