"""What the printed design sheet needs beyond the design itself: rounded label values, words of the drawing, set points."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, PASS
from workbook_builder.language.wording import ABSENT, each, number_text

chapter = Part(
    "installation",
    "Printed design sheet",
    "What the sheet Installation shows besides: values rounded up for labels and ratings, and the words of its drawing.",
)

UP = own_rule("a label or rating is rounded up to a whole number, never down")
DRAWING = own_rule("words of the drawing on the sheet Installation")
chapter.constant("hand_step", 10, "K", "Step of the battery's temperature for set points by hand", "", own_rule("a round step"))


@chapter.quantity(
    symbol="V,label",
    unit="V",
    label="Highest voltage, for labels and ratings",
    words="Cold Voc of the array, rounded up.",
    formula="ROUNDUP(ROUND(array_voc_cold,6),0)",
    source=UP,
)
def label_voltage(array_voc_cold: Value) -> Value:
    return _up(array_voc_cold)


@chapter.quantity(
    symbol="I,label",
    unit="A",
    label="Highest current, for labels",
    words="Highest current of the array that the code counts with, rounded up.",
    formula="ROUNDUP(ROUND(array_isc_max,6),0)",
    source=UP,
)
def label_current(array_isc_max: Value) -> Value:
    return _up(array_isc_max)


@chapter.quantity(
    symbol="In,isol",
    unit="A",
    label="Lowest current rating of the array isolator",
    words="As for the protection on the PV input, or as the device there if that is larger: in a fault the bank's current passes both.",
    formula="ROUNDUP(ROUND(MAX(input_fuse_min,earth_device),6),0)",
    source=UP,
)
def isolator_current(input_fuse_min: Value, earth_device: Value) -> Value:
    return _up(np.maximum(input_fuse_min, earth_device))


@chapter.quantity(
    symbol="n",
    unit="",
    label="Modules in all",
    words="In series times in parallel.",
    formula="array_series*array_parallel",
    source=own_rule("plain count"),
)
def module_count(array_series: Value, array_parallel: Value) -> Value:
    return array_series * array_parallel


@chapter.quantity(
    symbol="Voc,hot",
    unit="V",
    label="Array open-circuit voltage with the hottest cells",
    words="Voc at STC, less what the coefficient takes away: the lowest a meter should show at open circuit in full sun.",
    formula="array_voc*(1+module_beta_hot/whole_percent*(cell_t_hot-t_stc))",
    source=cite("iec-60891", "procedure 1, without its small terms", "from memory"),
)
def array_voc_hot(array_voc: Value, module_beta_hot: Value, whole_percent: Value, cell_t_hot: Value, t_stc: Value) -> Value:
    return array_voc * (1 + module_beta_hot / whole_percent * (cell_t_hot - t_stc))


@chapter.quantity(
    symbol="I,chg",
    unit="A",
    label="Charge current in full sun at absorption, cells at {t_stc:unit}",
    words="That of the kind of controller.",
    formula='IF(controller_type="MPPT",mppt_i_out,pwm_i_absorb)',
    source=own_rule("the kind of controller decides"),
    optional=("mppt_i_out", "pwm_i_absorb"),
)
def charge_i_expected(controller_type: Value, mppt_i_out: Value, pwm_i_absorb: Value) -> Value:
    return np.where(controller_type == "MPPT", mppt_i_out, pwm_i_absorb)


@chapter.quantity(
    symbol="V,abs,cold",
    unit="V",
    label="Absorption voltage, while the battery is coldest",
    words="With its rise by compensation.",
    formula="battery_v_absorb+charge_v_rise_cold",
    source=own_rule("what the controller then holds"),
)
def absorb_v_cold(battery_v_absorb: Value, charge_v_rise_cold: Value) -> Value:
    return battery_v_absorb + charge_v_rise_cold


@chapter.quantity(
    symbol="c,T",
    unit="mV/°C",
    label="Temperature compensation to set, for the whole bank",
    words="That of a cell times the cells in series; 0 where no compensation is used.",
    formula="IF(compensated,battery_tempco*battery_cells,0)",
    source=common_practice("controllers are set for the bank or for a cell"),
)
def compensation_bank(compensated: Value, battery_tempco: Value, battery_cells: Value) -> Value:
    return np.where(compensated == 1, battery_tempco * battery_cells, 0.0)


@chapter.quantity(
    symbol="c,T",
    unit="mV/°C/cell",
    label="Temperature compensation to set, for a cell",
    words="0 where no compensation is used.",
    formula="IF(compensated,battery_tempco,0)",
    source=common_practice("controllers are set for the bank or for a cell"),
)
def compensation_cell(compensated: Value, battery_tempco: Value) -> Value:
    return np.where(compensated == 1, battery_tempco, 0.0)


@chapter.quantity(
    symbol="ΔV,hand",
    unit="V",
    label="Change of the set points by hand, where the temperature sensor is missing",
    words="The compensation for the whole bank, for a battery {hand_step} °C warmer.",
    formula="battery_tempco/millivolts_per_volt*battery_cells*hand_step",
    source=common_practice("set by hand, season by season"),
)
def compensation_hand(battery_tempco: Value, millivolts_per_volt: Value, battery_cells: Value, hand_step: Value) -> Value:
    return battery_tempco / millivolts_per_volt * battery_cells * hand_step


@chapter.quantity(
    symbol="In",
    unit="A",
    label="String fuse to fit",
    words="The one that was judged to fit; nothing where none is needed or none fits.",
    formula='IF(check_string_fuse="PASS",string_fuse_judged,"")',
    source=own_rule("no rating is shown that was not judged to fit"),
    optional=("string_fuse_judged",),
)
def string_fuse_fitted(check_string_fuse: Value, string_fuse_judged: Value) -> Value:
    return np.where(check_string_fuse == PASS, string_fuse_judged, np.nan)


@chapter.quantity(
    symbol="In,bat",
    unit="A",
    label="Battery fuse to fit",
    words="The one that was judged; nothing where it does not fit.",
    formula='IF(check_battery_fuse="FAIL","",battery_fuse_judged)',
    source=own_rule("no rating is shown that does not fit"),
)
def battery_fuse_fitted(check_battery_fuse: Value, battery_fuse_judged: Value) -> Value:
    return np.where(check_battery_fuse == FAIL, np.nan, battery_fuse_judged)


@chapter.quantity(
    symbol="",
    unit="W",
    label="Inverter to fit, at least",
    words="Nothing where no load is fed with alternating current.",
    formula='IF(inverter_w_least>0,inverter_w_least,"")',
    source=own_rule("no load, no inverter"),
)
def inverter_fitted(inverter_w_least: Value) -> Value:
    return np.where(inverter_w_least > 0, inverter_w_least, np.nan)


@chapter.quantity(
    kind="text",
    unit="",
    label="Insulation to fit, array to controller",
    words="Nothing where the run is not entered.",
    formula='IF(runs_array_state="run",run_array_insulation,"")',
    source=own_rule("nothing is shown as chosen that was not"),
)
def fitted_array_insulation(runs_array_state: Value, run_array_insulation: Value) -> Value:
    return np.where(runs_array_state == "run", run_array_insulation, "")


for _key, _words in (("battery", "controller to battery"), ("load", "to the direct loads"), ("inverter", "battery to inverter")):
    chapter.repeat(
        Repeat(
            _key,
            f"Run {_words}",
            ("fitted_array_insulation",),
            {"runs_array_state": f"runs_{_key}_state", "run_array_insulation": f"run_{_key}_insulation"},
            {"fitted_array_insulation": f"fitted_{_key}_insulation"},
            {"fitted_array_insulation": f"Insulation to fit, {_words}"},
        )
    )


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: modules of a string",
    words="In words.",
    formula='IF(ROUND(array_series,0)=1,"one module",ROUND(array_series,0)&" modules in series")',
    source=DRAWING,
)
def drawn_series(array_series: Value) -> Value:
    return each(array_series, lambda n: "one module" if n == 1 else f"{number_text(n)} modules in series")


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: second string",
    words="A line where there is none.",
    formula='IF(ROUND(array_parallel,0)<2,"—","String 2")',
    source=DRAWING,
)
def drawn_second(array_parallel: Value) -> Value:
    return each(array_parallel, lambda n: ABSENT if n < 2 else "String 2")


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: third and further strings",
    words="A line where there is none.",
    formula='IF(ROUND(array_parallel,0)<3,"—",'
    'IF(ROUND(array_parallel,0)=3,"String 3","Strings 3 to "&ROUND(array_parallel,0)&", each alike"))',
    source=DRAWING,
)
def drawn_third(array_parallel: Value) -> Value:
    further = "Strings 3 to {}, each alike"
    return each(array_parallel, lambda n: ABSENT if n < 3 else "String 3" if n == 3 else further.format(number_text(n)))


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: where the strings meet",
    words="In words.",
    formula='IF(ROUND(array_parallel,0)=1,"one string","joins "&ROUND(array_parallel,0)&" strings")',
    source=DRAWING,
)
def drawn_junction(array_parallel: Value) -> Value:
    return each(array_parallel, lambda n: "one string" if n == 1 else f"joins {number_text(n)} strings")


@chapter.quantity(
    kind="text",
    unit="",
    label="Kit list: arrangement of the modules",
    words="In series and in parallel.",
    formula='ROUND(array_series,0)&" in series × "&ROUND(array_parallel,0)&" in parallel"',
    source=DRAWING,
)
def listed_array(array_series: Value, array_parallel: Value) -> Value:
    series = each(array_series, number_text)
    return _joined(series, " in series × ", each(array_parallel, number_text), " in parallel")


@chapter.quantity(
    kind="text",
    unit="",
    label="Kit list: battery bank",
    words="Batteries in series and strings in parallel.",
    formula='ROUND(battery_series,0)&" of "&ROUND(battery_block,0)&" V in series × "&ROUND(battery_parallel,0)&" in parallel"',
    source=DRAWING,
)
def listed_battery(battery_series: Value, battery_block: Value, battery_parallel: Value) -> Value:
    series, block, strings = (each(number, number_text) for number in (battery_series, battery_block, battery_parallel))
    return _joined(series, " of ", block, " V in series × ", strings, " in parallel")


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: a battery string",
    words="In words.",
    formula='ROUND(battery_series,0)&" of "&ROUND(battery_block,0)&" V in series"',
    source=DRAWING,
)
def drawn_battery(battery_series: Value, battery_block: Value) -> Value:
    return _joined(each(battery_series, number_text), " of ", each(battery_block, number_text), " V in series")


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: further battery strings",
    words="A line where there is none.",
    formula='IF(ROUND(battery_parallel,0)<2,"—",IF(ROUND(battery_parallel,0)=2,"a second alike",'
    'ROUND(battery_parallel,0)-1&" more alike"))',
    source=DRAWING,
)
def drawn_batteries(battery_parallel: Value) -> Value:
    return each(battery_parallel, lambda n: ABSENT if n < 2 else "a second alike" if n == 2 else f"{number_text(n - 1)} more alike")


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: the inverter",
    words="In words.",
    formula='IF(ROUND(inverter_w_least,6)>0,"Inverter","no inverter")',
    source=DRAWING,
)
def drawn_inverter(inverter_w_least: Value) -> Value:
    return np.where(round_half_away(inverter_w_least, 6) > 0, "Inverter", "no inverter")


@chapter.quantity(
    kind="text",
    unit="",
    label="Drawing: cable of the direct loads",
    words="From where it comes.",
    formula='IF(loads_at="battery","Battery to direct loads","Load output, a fuse, direct loads")',
    source=DRAWING,
)
def drawn_loads(loads_at: Value) -> Value:
    return np.where(loads_at == "battery", "Battery to direct loads", "Load output, a fuse, direct loads")


@chapter.quantity(
    kind="text",
    unit="",
    label="Kit list: where the fuse of the direct loads stands",
    words="On the side that feeds them.",
    formula='IF(loads_at="battery","at the battery\'s +, for them alone","in the load output\'s +, not above its rating")',
    source=DRAWING,
)
def listed_load_fuse(loads_at: Value) -> Value:
    return np.where(loads_at == "battery", "at the battery's +, for them alone", "in the load output's +, not above its rating")


def _up(value: Any) -> Any:
    """Return the next whole number, in the unit that the value carries."""
    return np.ceil(round_half_away(value, 6)) * getattr(value, "units", 1)


def _joined(*parts: Any) -> Any:
    if not any(np.ndim(part) for part in parts):
        return "".join(parts)
    rows = zip(*(np.ravel(part) for part in np.broadcast_arrays(*parts)), strict=True)
    return np.array(["".join(row) for row in rows], dtype=object)
