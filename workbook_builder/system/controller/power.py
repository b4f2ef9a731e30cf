"""What the battery really gets: the operating point under PWM, and what an MPPT controller would give instead."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.module.curve import CONDITIONS
from workbook_builder.system.module.curve_steps import condition_columns, current_columns, given_condition, peak_columns, peak_steps, steps

chapter = Part(
    "power",
    "Power into the battery",
    "Under a PWM controller the battery sets the array's voltage; the volts above it are lost. An MPPT controller turns them into current.",
    sheet="Power",
)

KIRCHHOFF = cite("circuit-laws", "series voltages and parallel currents add")
MPPT_SHEET = "data sheet of the MPPT controller"

chapter.number(
    "site_sun_hours",
    "h",
    0.5,
    9,
    "Hours of full sun on an ordinary day",
    blank=5,
    blank_source=common_practice("sunny country"),
    where="daily irradiation in the plane of the array in kWh/m², as hours at {g_stc:unit}",
)
chapter.number(
    "controller_efficiency",
    "%",
    80,
    100,
    "Efficiency of an MPPT controller",
    blank=95,
    blank_source=common_practice("usual of MPPT controllers"),
    where=MPPT_SHEET,
)
chapter.number(
    "controller_start_headroom",
    "V",
    0,
    20,
    "PV volts above battery volts that an MPPT controller needs",
    blank=5,
    blank_source=common_practice("usual of MPPT controllers"),
    where=MPPT_SHEET,
)
chapter.number(
    "controller_max_pv_power",
    "W",
    10,
    9000,
    "Largest array that an MPPT controller accepts",
    blank=OPTIONAL,
    where=f"{MPPT_SHEET}; leave blank if it gives none",
)
chapter.constant(
    "utilisation_lowest",
    0.75,
    "",
    "Share of rated power at absorption below which a note is due",
    "",
    common_practice("a quarter of the array is paid for and not used"),
)

LEVELS = (
    ("low", "load disconnect", "battery_v_low"),
    ("nominal", "nominal", "battery_nominal"),
    ("float", "float", "battery_v_float"),
    ("absorb", "absorption", "battery_v_absorb"),
    ("high", "highest charge voltage", "battery_v_high"),
)

levels = chapter.grid(
    Grid(
        "levels",
        "Voltage of one module at five battery voltages",
        "The array stands above the battery by the drops on the way, here without those of entered cables, which follow the "
        "current; in a string each module takes its share.",
        KIRCHHOFF,
        tuple(Row(key, words, {"v_battery": name}) for key, words, name in LEVELS),
        "Curve",
    )
)


@levels.column(symbol="V,array", unit="V", words="array voltage", named=True, formula="v_battery+controller_v_drop+cable_v_assumed")
def v_array(v_battery: Value, controller_v_drop: Value, cable_v_assumed: Value) -> Value:
    return v_battery + controller_v_drop + cable_v_assumed


@levels.column(symbol="v", unit="V", words="voltage of one module", named=True, formula="v_array/array_series")
def v(v_array: Value, array_series: Value) -> Value:
    return v_array / array_series


search = chapter.grid(
    Grid(
        "search",
        "Current of one module at these voltages",
        "Three rows for each condition and battery voltage.",
        cite("de-soto", "single-diode equation"),
        tuple(
            row
            for condition, condition_words, _, _ in CONDITIONS
            for level, level_words, _ in LEVELS
            for row in steps(
                f"{condition}_{level}",
                f"{condition_words}, {level_words}",
                given_condition(condition) | {"v": f"levels_{level}_v"},
            )
        ),
        "Curve",
    )
)
current_columns(search)

operating = chapter.grid(
    Grid(
        "operating",
        "What a PWM controller passes on",
        "The array's current at the battery's voltage and the drops, and the power that reaches the battery.",
        KIRCHHOFF,
        tuple(
            Row(
                f"{condition}_{level}",
                f"{condition_words}: {level_words}",
                {"v_battery": name, "v_level": f"levels_{level}_v_array", "i_module": f"search_{condition}_{level}_i"},
            )
            for condition, condition_words, _, _ in CONDITIONS
            for level, level_words, name in LEVELS
        ),
        "Power",
    )
)


@operating.column(symbol="V,bat", unit="V", words="battery voltage", formula="v_battery", named=True)
def battery(v_battery: Value) -> Value:
    return v_battery


@operating.column(symbol="I", unit="A", words="array current", formula="array_parallel*i_module", named=True)
def i(array_parallel: Value, i_module: Value) -> Value:
    return array_parallel * i_module


@operating.column(
    symbol="V,array", unit="V", words="array voltage, with the drop of entered cables", named=True, formula="v_level+i*cable_r"
)
def array(v_level: Value, i: Value, cable_r: Value) -> Value:
    return v_level + i * cable_r


@operating.column(symbol="P", unit="W", words="power into the battery", formula="i*battery", named=True)
def p(i: Value, battery: Value) -> Value:
    return i * battery


@operating.column(symbol="P/Pmp", unit="", words="share of rated power", formula="p/array_pmp", named=True)
def share(p: Value, array_pmp: Value) -> Value:
    return p / array_pmp


def _copied(symbol: str, unit: str, label: str, name: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": unit,
        "label": label,
        "words": "From the table of operating points.",
        "formula": name,
        "source": KIRCHHOFF,
    }


@chapter.quantity(**_copied("I,abs", "A", "PWM current at absorption, STC", "operating_stc_absorb_i"))
def pwm_i_absorb(operating_stc_absorb_i: Value) -> Value:
    return operating_stc_absorb_i


@chapter.quantity(**_copied("P,abs", "W", "PWM power at absorption, STC", "operating_stc_absorb_p"))
def pwm_p_absorb(operating_stc_absorb_p: Value) -> Value:
    return operating_stc_absorb_p


@chapter.quantity(**_copied("I,abs,hot", "A", "PWM current at absorption, hottest cells", "operating_hot_absorb_i"))
def pwm_i_absorb_hot(operating_hot_absorb_i: Value) -> Value:
    return operating_hot_absorb_i


@chapter.quantity(**_copied("P,abs,hot", "W", "PWM power at absorption, hottest cells", "operating_hot_absorb_p"))
def pwm_p_absorb_hot(operating_hot_absorb_p: Value) -> Value:
    return operating_hot_absorb_p


@chapter.quantity(**_copied("", "", "Share of rated power, empty battery, STC", "operating_stc_low_share"))
def pwm_utilisation_low(operating_stc_low_share: Value) -> Value:
    return operating_stc_low_share


@chapter.quantity(**_copied("", "", "Share of rated power at absorption, STC", "operating_stc_absorb_share"))
def pwm_utilisation_absorb(operating_stc_absorb_share: Value) -> Value:
    return operating_stc_absorb_share


@chapter.quantity(**_copied("", "", "Share of rated power at absorption, hottest cells", "operating_hot_absorb_share"))
def pwm_utilisation_hot(operating_hot_absorb_share: Value) -> Value:
    return operating_hot_absorb_share


@chapter.quantity(
    symbol="",
    unit="Wh",
    label="Energy left unused on an ordinary day under PWM",
    words="Rated power less the power at absorption, through the hours of full sun.",
    formula="MAX(0,array_pmp-pwm_p_absorb)*site_sun_hours",
    source=own_rule("rough: full-sun hours at STC"),
)
def pwm_unused_day(array_pmp: Value, pwm_p_absorb: Value, site_sun_hours: Value) -> Value:
    return np.maximum(0, array_pmp - pwm_p_absorb) * site_sun_hours


@chapter.quantity(
    symbol="Pmp,hot",
    unit="W",
    label="Array maximum power on the hottest afternoon",
    words="All modules times the peak of the curve at the hottest cells.",
    formula="array_series*array_parallel*peak_hot_pmp",
    source=KIRCHHOFF,
)
def array_pmp_hot(array_series: Value, array_parallel: Value, peak_hot_pmp: Value) -> Value:
    return array_series * array_parallel * peak_hot_pmp


@chapter.quantity(
    symbol="P,MPPT,hot",
    unit="W",
    label="MPPT power into the battery, hottest cells",
    words="Array maximum power at the hottest cells times the controller's efficiency, before any current limit.",
    formula="array_pmp_hot*controller_efficiency/whole_percent",
    source=cite("circuit-laws", "conservation of energy"),
)
def mppt_p_hot(array_pmp_hot: Value, controller_efficiency: Value, whole_percent: Value) -> Value:
    return array_pmp_hot * controller_efficiency / whole_percent


@chapter.quantity(
    symbol="I,MPPT",
    unit="A",
    label="MPPT output current at absorption, STC",
    words="Rated power times efficiency, divided by the absorption voltage, before any current limit.",
    formula="array_pmp*controller_efficiency/whole_percent/battery_v_absorb",
    source=cite("circuit-laws", "conservation of energy"),
)
def mppt_i_out(array_pmp: Value, controller_efficiency: Value, whole_percent: Value, battery_v_absorb: Value) -> Value:
    return array_pmp * controller_efficiency / whole_percent / battery_v_absorb


@chapter.quantity(
    symbol="I,MPPT,low",
    unit="A",
    label="Highest MPPT output current: empty battery, STC",
    words="With the light on the rear, at the load disconnect voltage: the lower the battery, the higher the current.",
    formula="array_pmp*(1+module_bifacial_gain/whole_percent)*controller_efficiency/whole_percent/battery_v_low",
    source=cite("circuit-laws", "conservation of energy"),
)
def mppt_i_out_low(
    array_pmp: Value, module_bifacial_gain: Value, whole_percent: Value, controller_efficiency: Value, battery_v_low: Value
) -> Value:
    both_sides = array_pmp * (1 + module_bifacial_gain / whole_percent)
    return both_sides * controller_efficiency / whole_percent / battery_v_low


@chapter.quantity(
    symbol="",
    unit="",
    label="Share of full-sun MPPT power cut off by the rated charge current",
    words="What the rated charge current cannot carry at absorption.",
    formula="MAX(0,1-controller_i_max/mppt_i_out)",
    source=cite("circuit-laws", "conservation of energy"),
)
def mppt_clipping(controller_i_max: Value, mppt_i_out: Value) -> Value:
    return np.maximum(0, 1 - controller_i_max / mppt_i_out)


@chapter.quantity(
    symbol="V,MPPT",
    unit="V",
    label="Array voltage that an MPPT controller needs",
    words="Highest charge voltage plus the headroom.",
    formula="battery_v_high+controller_start_headroom",
    source=common_practice("headroom of the maker's sheet"),
)
def mppt_v_needed(battery_v_high: Value, controller_start_headroom: Value) -> Value:
    return battery_v_high + controller_start_headroom


@chapter.quantity(
    symbol="T,mean",
    unit="°C",
    label="Air temperature taken for the year",
    words="Half way between the two extremes.",
    formula="site_t_min+(site_t_max-site_t_min)/2",
    source=own_rule("rough, until months are entered"),
)
def site_t_mean(site_t_min: Value, site_t_max: Value) -> Value:
    return site_t_min + (site_t_max - site_t_min) / 2


# irradiance in W/m², and the share of a year's energy that arrives near it
BINS = ((100, 0.04), (200, 0.05), (300, 0.12), (500, 0.21), (750, 0.53), (1000, 0.05))
WEIGHTS = cite("cec-weights", "weights of the six power levels", FROM_MEMORY)
BIN_ROWS = tuple((f"g{sun}", f"{sun} W/m²", {"sun": float(sun), "weight": weight}) for sun, weight in BINS)

year = chapter.grid(
    Grid(
        "year",
        "The curve through the year",
        "Six irradiances, each with its share of a year's energy in a sunny climate.",
        WEIGHTS,
        tuple(Row(key, words, numbers=numbers) for key, words, numbers in BIN_ROWS),
        "Curve",
        numbers={"sun": ("irradiance", "W/m²"), "weight": ("share of the year's energy", "")},
    )
)


@year.column(symbol="T,cell", unit="°C", words="cell temperature", formula="site_t_mean+cell_t_rise*sun/g_stc")
def t_cell(site_t_mean: Value, cell_t_rise: Value, sun: Value, g_stc: Value) -> Value:
    return site_t_mean + cell_t_rise * sun / g_stc


condition_columns(year)

year_search = chapter.grid(
    Grid(
        "year_search",
        "Current of one module through the year",
        "Three rows for each irradiance, at the battery's float voltage: the middle of an ordinary charge.",
        cite("de-soto", "single-diode equation"),
        tuple(row for key, words, _ in BIN_ROWS for row in steps(key, words, given_condition(key, "year") | {"v": "levels_float_v"})),
        "Curve",
    )
)
current_columns(year_search)

year_peak = chapter.grid(
    Grid(
        "year_peak",
        "Peak of one module through the year",
        "Two rows for each irradiance.",
        cite("de-soto", "single-diode equation"),
        tuple(row for key, words, _ in BIN_ROWS for row in peak_steps(key, words, given_condition(key, "year"))),
        "Curve",
    )
)
peak_columns(year_peak)

year_yield = chapter.grid(
    Grid(
        "year_yield",
        "PWM against MPPT through the year",
        "Power under each controller, and the running sums of energy for each kWh/m² of sun.",
        WEIGHTS,
        tuple(
            Row(key, words, {"i_module": f"year_search_{key}_i", "pmp": f"year_peak_{key}_pmp"}, numbers, start=number == 0)
            for number, (key, words, numbers) in enumerate(BIN_ROWS)
        ),
        "Power",
        numbers={"sun": ("irradiance", "W/m²"), "weight": ("share of the year's energy", "")},
    )
)


@year_yield.column(symbol="P,PWM", unit="W", words="PWM power into the battery at float", formula="array_parallel*i_module*battery_v_float")
def p_pwm(array_parallel: Value, i_module: Value, battery_v_float: Value) -> Value:
    return array_parallel * i_module * battery_v_float


@year_yield.column(
    symbol="P,MPPT",
    unit="W",
    words="MPPT power into the battery, within the rated charge current",
    formula="MIN(array_series*array_parallel*pmp*controller_efficiency/whole_percent,controller_i_max*battery_v_float)",
)
def p_mppt(
    array_series: Value,
    array_parallel: Value,
    pmp: Value,
    controller_efficiency: Value,
    whole_percent: Value,
    controller_i_max: Value,
    battery_v_float: Value,
) -> Value:
    converted = array_series * array_parallel * pmp * controller_efficiency / whole_percent
    return np.minimum(converted, controller_i_max * battery_v_float)


@year_yield.running(
    symbol="Σ PWM", unit="W", words="PWM power at {g_stc:unit} that would give the same energy, summed", formula="weight*p_pwm*g_stc/sun"
)
def sum_pwm(weight: Value, p_pwm: Value, g_stc: Value, sun: Value) -> Value:
    return weight * p_pwm * g_stc / sun


@year_yield.running(symbol="Σ MPPT", unit="W", words="the same for MPPT", formula="weight*p_mppt*g_stc/sun")
def sum_mppt(weight: Value, p_mppt: Value, g_stc: Value, sun: Value) -> Value:
    return weight * p_mppt * g_stc / sun


@chapter.quantity(
    symbol="",
    unit="",
    label="Yearly energy that an MPPT controller would gain over PWM, as a share",
    words="Ratio of the two sums, less 1. Negative where the MPPT unit's losses outweigh its gain.",
    formula='IF(year_yield_g1000_sum_pwm>0,year_yield_g1000_sum_mppt/year_yield_g1000_sum_pwm-1,"")',
    source=WEIGHTS,
)
def mppt_gain(year_yield_g1000_sum_pwm: Value, year_yield_g1000_sum_mppt: Value) -> Value:
    gain = np.divide(year_yield_g1000_sum_mppt, year_yield_g1000_sum_pwm) - 1
    return np.where(year_yield_g1000_sum_pwm > 0, gain, np.nan)


@chapter.quantity(
    kind="flag",
    unit="",
    label="Array within the largest that an MPPT controller accepts",
    words="True as well where the sheet gives no largest array.",
    formula='IF(controller_max_pv_power="",TRUE,ROUND(array_pmp,6)<=ROUND(controller_max_pv_power,6))',
    source=common_practice("limit of the maker's sheet"),
    optional=("controller_max_pv_power",),
)
def power_fits(controller_max_pv_power: Value, array_pmp: Value) -> Value:
    return np.isnan(controller_max_pv_power) | (round_half_away(array_pmp, 6) <= round_half_away(controller_max_pv_power, 6))


chapter.limit(
    name="utilisation",
    match=True,
    label="PWM uses the array well",
    words="Power into the battery at absorption and STC, not below {utilisation_lowest:%} of rated power.",
    value="pwm_utilisation_absorb",
    at_least="utilisation_lowest",
    unless=(("controller_type", "MPPT"),),
    source=common_practice("a quarter of the array is paid for and not used"),
    advice=("About ", "pwm_unused_day", " Wh a day of full sun are left unused."),
    sentences={
        PASS: "At absorption, with cells at {t_stc:unit}, the battery takes most of the array's rated power. The sheet Power shows what is "
        "left on a hot afternoon.",
        NOTE: "At absorption much of the array's rated power is left unused, since the module's voltage does not fit the "
        "battery. Modules of the battery's class, another number in series, or an MPPT controller would recover it.",
        NOT_APPLICABLE: "An MPPT controller takes the array's full power.",
    },
)


chapter.limit(
    name="mppt_window",
    match=True,
    label="Array voltage within the MPPT window",
    words="Array Vmp at the hottest cells, not below the highest charge voltage and the controller's headroom.",
    value="array_vmp_hot",
    at_least="mppt_v_needed",
    unless=(("controller_type", "PWM"),),
    source=common_practice("headroom of the maker's sheet"),
    sentences={
        PASS: "Even on the hottest afternoon the MPPT controller finds the array's peak.",
        NOTE: "On the hottest afternoon the array's peak lies below what the MPPT controller needs: it may not start, or "
        "work below the peak. Put more modules in series.",
        NOT_APPLICABLE: "A PWM controller has no such window.",
    },
)


@chapter.check(
    match=True,
    label="Array power within what the MPPT controller accepts",
    words="Rated power of the array, not above the largest array that the controller accepts, if it gives one.",
    value="array_pmp",
    at_most="controller_max_pv_power",
    formula='IF(controller_type="PWM","N/A",IF(controller_max_pv_power="","NOT JUDGED",IF(power_fits,"PASS","NOTE")))',
    source=common_practice("limit of the maker's sheet"),
    optional=("controller_max_pv_power",),
    asks=("controller_max_pv_power",),
    sentences={
        PASS: "The array is within what the maker accepts.",
        NOTE: "The array is larger than the controller's maker accepts. Ask the maker whether it only limits its output, or "
        "whether it is harmed: then put fewer modules.",
        NOT_JUDGED: "The largest array that the controller's maker accepts is not entered.",
        NOT_APPLICABLE: "A PWM controller converts nothing: its current is what counts.",
    },
)
def mppt_power(controller_type: Value, controller_max_pv_power: Value, power_fits: Value) -> Value:
    judged = np.where(np.isnan(controller_max_pv_power), NOT_JUDGED, where_pass(power_fits == 1, NOTE))
    return np.where(controller_type == "PWM", NOT_APPLICABLE, judged)
