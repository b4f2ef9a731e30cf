"""The current-voltage curve of the module, from its data sheet alone, in steps that a reader can follow.

The single-diode equation has five unknowns. For a trial series resistance four of them follow directly from what the
sheet gives: short circuit, maximum power (value and peak), and how the power falls with temperature. Open circuit then
says how far off the trial was, and a few rows later the resistance is found. At other temperatures and irradiances the
five values are scaled after De Soto; a voltage gives its current in three rows, and the peak its place in two.
"""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import FROM_MEMORY, cite, own_rule
from workbook_builder.language.values import Value
from workbook_builder.system.module.curve_steps import condition_columns, given_condition, peak_columns, peak_steps

chapter = Part(
    "curve",
    "Current-voltage curve of the module",
    "A PWM controller holds the array at the battery's voltage: what counts is the current there, hot and cold.",
    sheet="Curve",
)

DE_SOTO = cite("de-soto", "equations of the five parameters", FROM_MEMORY)
SINGLE_DIODE = cite("de-soto", "single-diode equation")
JUDGED = own_rule("judged from the open CEC module set, so that no other shape than crystalline silicon's is accepted")

chapter.constant("absolute_zero", -273.15, "°C", "Absolute zero", "0 K", cite("si"))
chapter.constant("t_stc_kelvin", 298.15, "K", "Cell temperature at standard test conditions, absolute", "T0", cite("stc"))
chapter.constant("boltzmann", 8.617333262e-5, "eV/K", "Boltzmann's constant", "k", cite("si"))
chapter.constant("gap_energy", 1.121, "eV", "Band gap of silicon at {t_stc:unit}", "Eg", cite("de-soto", "Eg"))
chapter.constant("gap_slope", 0.0002677, "1/K", "Fall of the band gap per kelvin", "", cite("de-soto", "Eg(T)"))
chapter.constant(
    "gamma_usual",
    -0.45,
    "%/°C",
    "Power coefficient taken where the sheet gives neither it nor that of Voc",
    "γ",
    cite("cec-modules", "median of its crystalline modules"),
)
FIT = cite("cec-modules", "least squares over its 36-, 60- and 72-cell modules, by this project")
chapter.constant("gamma_fit", -0.2, "%/°C", "Power coefficient estimated from those of Voc and Isc: constant part", "", FIT)
chapter.constant("gamma_fit_beta", 0.8, "", "the same: share of the coefficient of Voc", "", FIT)
chapter.constant("gamma_fit_alpha", 0.33, "", "the same: share of the coefficient of Isc", "", FIT)
chapter.constant(
    "fill_highest", 0.9, "", "Fill factor above which a data sheet is refused", "FF", own_rule("no crystalline cell reaches it")
)
chapter.constant("curve_small", 1e-9, "", "Smallest number under a logarithm or a quotient", "", own_rule("arithmetic"))
chapter.constant("curve_flat", 1e-13, "", "Smallest change between two trials", "", own_rule("arithmetic"))
chapter.constant("curve_tolerance", 1e-6, "", "Largest residual of an accepted curve", "", own_rule("far below any meter"))
chapter.constant("curve_r_share", 0.98, "", "Highest trial as a share of the highest resistance", "", own_rule("arithmetic"))
chapter.constant("curve_bend_low", 14, "", "Lowest Voc/a of an accepted curve", "", JUDGED)
chapter.constant("curve_bend_high", 36, "", "Highest Voc/a of an accepted curve", "", JUDGED)
chapter.constant("curve_shunt_share", 0.4, "", "Largest share of Isc that the shunt takes at Voc", "", JUDGED)
chapter.constant("curve_excess_limit", 0.06, "", "Largest difference of the curve's Isc from the sheet's", "", JUDGED)
chapter.constant("step_floor", 0.3, "", "Lowest divisor of a step", "", own_rule("keeps a step from leaping"))


@chapter.quantity(
    symbol="ΔT,sun",
    unit="K",
    label="Cells warmer than the air in full sun",
    words="From NOCT, measured at {g_noct:unit} and {t_noct_air:unit} air, scaled to full sun.",
    formula="(module_noct-t_noct_air)/g_noct*g_stc",
    source=cite("ross", "T = T,air + (NOCT − 20)/800·G"),
)
def cell_t_rise(module_noct: Value, t_noct_air: Value, g_noct: Value, g_stc: Value) -> Value:
    return (module_noct - t_noct_air) / g_noct * g_stc


@chapter.quantity(
    symbol="T,hot",
    unit="°C",
    label="Cell temperature on the hottest afternoon",
    words="Highest air temperature plus the warming by full sun.",
    formula="site_t_max+cell_t_rise",
    source=cite("ross", "T = T,air + (NOCT − 20)/800·G"),
)
def cell_t_hot(site_t_max: Value, cell_t_rise: Value) -> Value:
    return site_t_max + cell_t_rise


@chapter.quantity(
    symbol="T,cold sun",
    unit="°C",
    label="Cell temperature in full sun while the battery is coldest",
    words="Coldest battery temperature, taken as the air's, plus the warming by full sun.",
    formula="battery_t_min+cell_t_rise",
    source=cite("ross", "T = T,air + (NOCT − 20)/800·G"),
)
def cell_t_cold_sun(battery_t_min: Value, cell_t_rise: Value) -> Value:
    return battery_t_min + cell_t_rise


@chapter.quantity(
    symbol="Imp,FF",
    unit="A",
    label="Current at maximum power at which the fill factor would be impossible",
    words="Fill factor above which a sheet is refused, times Voc times Isc, by Vmp.",
    formula="fill_highest*module_voc*module_isc/module_vmp",
    source=own_rule("fill factor = Vmp·Imp/(Voc·Isc)"),
)
def imp_highest(fill_highest: Value, module_voc: Value, module_isc: Value, module_vmp: Value) -> Value:
    return fill_highest * module_voc * module_isc / module_vmp


@chapter.quantity(
    symbol="α",
    unit="A/K",
    label="Temperature coefficient of Isc, in amperes",
    words="Per cent of the module's Isc.",
    formula="module_alpha_isc/whole_percent*module_isc",
    source=cite("stc", "definition"),
)
def alpha_isc(module_alpha_isc: Value, whole_percent: Value, module_isc: Value) -> Value:
    return module_alpha_isc / whole_percent * module_isc


@chapter.quantity(
    symbol="γ,est",
    unit="%/°C",
    label="Power coefficient where the sheet gives none",
    words="Estimated from the coefficients of Voc and Isc; without that of Voc, the usual one.",
    formula='IF(module_beta_voc="",gamma_usual,gamma_fit+gamma_fit_beta*module_beta_voc+gamma_fit_alpha*module_alpha_isc)',
    source=FIT,
    optional=("module_beta_voc",),
)
def gamma_estimate(
    module_beta_voc: Value, gamma_usual: Value, gamma_fit: Value, gamma_fit_beta: Value, gamma_fit_alpha: Value, module_alpha_isc: Value
) -> Value:
    fitted = gamma_fit + gamma_fit_beta * module_beta_voc + gamma_fit_alpha * module_alpha_isc
    return np.where(np.isnan(module_beta_voc), gamma_usual, fitted)


@chapter.quantity(
    symbol="γ",
    unit="1/K",
    label="Power coefficient used for the curve",
    words="The sheet's, or the estimate; as a share.",
    formula='IF(module_gamma_pmp="",gamma_estimate,module_gamma_pmp)/whole_percent',
    source=cite("stc", "definition"),
    optional=("module_gamma_pmp",),
)
def gamma_used(module_gamma_pmp: Value, gamma_estimate: Value, whole_percent: Value) -> Value:
    return np.where(np.isnan(module_gamma_pmp), gamma_estimate, module_gamma_pmp) / whole_percent


@chapter.quantity(
    symbol="E",
    unit="eV",
    label="Constant gap energy that stands for the falling band gap",
    words="De Soto's gap falls along a straight line; in his exponent that equals a constant, slightly higher gap.",
    formula="gap_energy*(1+gap_slope*t_stc_kelvin)",
    source=cite("de-soto", "Eg(T), rearranged"),
)
def gap_effective(gap_energy: Value, gap_slope: Value, t_stc_kelvin: Value) -> Value:
    return gap_energy * (1 + gap_slope * t_stc_kelvin)


@chapter.quantity(
    symbol="K",
    unit="1/K",
    label="Relative growth of the diode's saturation current per kelvin, at {t_stc:unit}",
    words="Logarithmic slope of T³·exp(−E/kT).",
    formula="3/t_stc_kelvin+gap_effective/(boltzmann*t_stc_kelvin^2)",
    source=DE_SOTO,
)
def saturation_slope(t_stc_kelvin: Value, gap_effective: Value, boltzmann: Value) -> Value:
    return 3 / t_stc_kelvin + gap_effective / (boltzmann * t_stc_kelvin**2)


@chapter.quantity(
    symbol="Rs,max",
    unit="Ω",
    label="Highest conceivable series resistance",
    words="The whole fall from Voc to Vmp would be in the resistance.",
    formula="(module_voc-module_vmp)/module_imp",
    source=SINGLE_DIODE,
)
def r_highest(module_voc: Value, module_vmp: Value, module_imp: Value) -> Value:
    return (module_voc - module_vmp) / module_imp


shape = chapter.grid(
    Grid(
        "shape",
        "Finding the series resistance",
        "Each row tries one resistance. Short circuit, the peak and its fall with temperature give diode current, bend and "
        "shunt directly; the misfit at open circuit tells how far off the trial was. The first two rows are guesses, each "
        "later row draws a straight line through the two above. Where the sheet would need a negative shunt, none is used, and its "
        "short circuit is met a little above the sheet's own.",
        DE_SOTO,
        (
            Row("trial1", "first trial", numbers={"share": 0.2}, start=True),
            Row("trial2", "second trial", numbers={"share": 0.5}, start=True),
            *(Row(f"step{number}", f"step {number}") for number in range(1, 5)),
        ),
        "Curve",
        numbers={"share": ("share of the highest", "")},
    )
)


@shape.column(
    symbol="R",
    unit="Ω",
    words="trial series resistance",
    named=True,
    formula="IF(ABS(previous_f-earlier_f)<curve_flat,previous_r,MAX(0,MIN(curve_r_share*r_highest,"
    "previous_r-previous_f*(previous_r-earlier_r)/(previous_f-earlier_f))))",
)
def r(
    previous_f: Value, earlier_f: Value, curve_flat: Value, previous_r: Value, curve_r_share: Value, r_highest: Value, earlier_r: Value
) -> Value:
    flat = np.abs(previous_f - earlier_f) < curve_flat
    slope = np.where(flat, 1.0, previous_f - earlier_f)
    step = previous_r - previous_f * (previous_r - earlier_r) / slope
    return np.where(flat, previous_r, np.maximum(0, np.minimum(curve_r_share * r_highest, step)))


@shape.column(symbol="m", unit="V", words="Vmp − Imp·R", formula="module_vmp-module_imp*r")
def m(module_vmp: Value, module_imp: Value, r: Value) -> Value:
    return module_vmp - module_imp * r


@shape.column(symbol="s", unit="V", words="Vmp − (Isc − Imp)·R", formula="module_vmp-(module_isc-module_imp)*r")
def s(module_vmp: Value, module_isc: Value, module_imp: Value, r: Value) -> Value:
    return module_vmp - (module_isc - module_imp) * r


@shape.column(symbol="w", unit="V", words="diode voltage at the peak: Vmp + Imp·R", formula="module_vmp+module_imp*r")
def w(module_vmp: Value, module_imp: Value, r: Value) -> Value:
    return module_vmp + module_imp * r


@shape.column(
    symbol="b", unit="A", words="current lost before the peak, less the shunt-like part", formula="module_isc-module_imp-module_imp*s/m"
)
def b(module_isc: Value, module_imp: Value, s: Value, m: Value) -> Value:
    return module_isc - module_imp - module_imp * s / m


@shape.column(
    symbol="n",
    unit="A/K",
    words="fall of the peak's current per kelvin at fixed voltage",
    formula="alpha_isc-gamma_used*module_imp*module_vmp/m",
)
def n(alpha_isc: Value, gamma_used: Value, module_imp: Value, module_vmp: Value, m: Value) -> Value:
    return alpha_isc - gamma_used * module_imp * module_vmp / m


@shape.column(symbol="D", unit="A·V/K", words="determinant of the two conditions", formula="n*s-b*w/t_stc_kelvin")
def determinant(n: Value, s: Value, b: Value, w: Value, t_stc_kelvin: Value) -> Value:
    return n * s - b * w / t_stc_kelvin


@shape.column(
    symbol="z'",
    unit="1/V",
    words="bend 1/a if the shunt is free",
    formula="IF(determinant=0,0,(n-b*saturation_slope)/determinant)",
)
def bend_free(determinant: Value, n: Value, b: Value, saturation_slope: Value) -> Value:
    return np.where(determinant == 0, 0, np.divide(n - b * saturation_slope, determinant))


@shape.column(
    symbol="G",
    unit="S",
    words="shunt conductance, never negative",
    named=True,
    formula="IF(bend_free*s=1,0,MAX(0,module_imp/m-b*bend_free/(1-bend_free*s)))",
)
def g(bend_free: Value, s: Value, module_imp: Value, m: Value, b: Value) -> Value:
    free = module_imp / m - np.divide(b * bend_free, 1 - bend_free * s)
    return np.where(bend_free * s == 1, 0 * module_imp / m, np.maximum(0, free))


@shape.column(
    symbol="d", unit="A", words="diode current at the peak", named=True, formula="(n+w/t_stc_kelvin*(module_imp/m-g))/saturation_slope"
)
def d(n: Value, w: Value, t_stc_kelvin: Value, module_imp: Value, m: Value, g: Value, saturation_slope: Value) -> Value:
    return (n + w / t_stc_kelvin * (module_imp / m - g)) / saturation_slope


@shape.column(symbol="z", unit="1/V", words="bend 1/a used", named=True, formula="IF(d=0,0,(module_imp/m-g)/d)")
def bend(d: Value, module_imp: Value, m: Value, g: Value) -> Value:
    return np.where(d == 0, 0, np.divide(module_imp / m - g, d))


@shape.column(
    symbol="f",
    unit="",
    words="misfit at open circuit; 0 when the resistance is right",
    named=True,
    formula="IF(d=0,1,LN(MAX(curve_small,1+(module_imp-g*(module_voc-w))/d))-(module_voc-w)*bend)",
)
def f(d: Value, curve_small: Value, module_imp: Value, g: Value, module_voc: Value, w: Value, bend: Value) -> Value:
    ratio = np.divide(module_imp - g * (module_voc - w), d)
    return np.where(d == 0, 1, np.log(np.maximum(curve_small, 1 + ratio)) - (module_voc - w) * bend)


@shape.start(formula="share*r_highest")
def r_start(share: Value, r_highest: Value) -> Value:
    return share * r_highest


@chapter.quantity(
    symbol="Voc/a",
    unit="",
    label="Bend of the curve at open circuit",
    words="Voc in units of the ideality voltage.",
    formula="module_voc*shape_step4_bend",
    source=SINGLE_DIODE,
)
def curve_bend(module_voc: Value, shape_step4_bend: Value) -> Value:
    return module_voc * shape_step4_bend


@chapter.quantity(
    kind="flag",
    unit="",
    label="A curve of crystalline silicon passes through the data sheet",
    words="The misfit is gone, the resistance is between its bounds, and bend and shunt are those of crystalline cells.",
    formula="AND(ABS(shape_step4_f)<curve_tolerance,shape_step4_r>0,shape_step4_r<curve_r_share*r_highest,shape_step4_d>0,"
    "curve_bend>curve_bend_low,curve_bend<curve_bend_high)",
    source=JUDGED,
)
def curve_found(
    shape_step4_f: Value,
    curve_tolerance: Value,
    shape_step4_r: Value,
    curve_r_share: Value,
    r_highest: Value,
    shape_step4_d: Value,
    curve_bend: Value,
    curve_bend_low: Value,
    curve_bend_high: Value,
) -> Value:
    inside = (shape_step4_r > 0) & (shape_step4_r < curve_r_share * r_highest) & (shape_step4_d > 0)
    bent = (curve_bend > curve_bend_low) & (curve_bend < curve_bend_high)
    return (np.abs(shape_step4_f) < curve_tolerance) & inside & bent


@chapter.quantity(
    symbol="j",
    unit="A",
    label="Diode current at open circuit",
    words="The diode current at the peak, grown along the bend to open circuit.",
    formula='IF(curve_found,shape_step4_d*EXP((module_voc-module_vmp-module_imp*shape_step4_r)*shape_step4_bend),"")',
    source=SINGLE_DIODE,
)
def curve_open_current(
    curve_found: Value,
    shape_step4_d: Value,
    module_voc: Value,
    module_vmp: Value,
    module_imp: Value,
    shape_step4_r: Value,
    shape_step4_bend: Value,
) -> Value:
    grown = shape_step4_d * np.exp((module_voc - module_vmp - module_imp * shape_step4_r) * shape_step4_bend)
    return np.where(curve_found == 1, grown, np.nan)


@chapter.quantity(
    symbol="IL",
    unit="A",
    label="Light current at STC",
    words="At open circuit it all goes through diode and shunt.",
    formula="curve_open_current+shape_step4_g*module_voc",
    source=SINGLE_DIODE,
)
def curve_light(curve_open_current: Value, shape_step4_g: Value, module_voc: Value) -> Value:
    return curve_open_current + shape_step4_g * module_voc


@chapter.quantity(
    symbol="ε",
    unit="",
    label="Excess of the curve's short-circuit current over the sheet's",
    words="0 where the sheet is consistent; currents are capped at the sheet's own value.",
    formula="curve_light/(1+shape_step4_g*shape_step4_r)/module_isc-1",
    source=SINGLE_DIODE,
)
def curve_excess(curve_light: Value, shape_step4_g: Value, shape_step4_r: Value, module_isc: Value) -> Value:
    return curve_light / (1 + shape_step4_g * shape_step4_r) / module_isc - 1


@chapter.quantity(
    kind="flag",
    unit="",
    label="The curve is accepted",
    words="It was found, its Isc is the sheet's within the limit, and the shunt takes no more than its share.",
    formula="IF(curve_found,AND(ABS(curve_excess)<curve_excess_limit,shape_step4_g*module_voc<curve_shunt_share*module_isc),curve_found)",
    source=JUDGED,
    optional=("curve_excess",),
)
def curve_ok(
    curve_found: Value,
    curve_excess: Value,
    curve_excess_limit: Value,
    shape_step4_g: Value,
    module_voc: Value,
    curve_shunt_share: Value,
    module_isc: Value,
) -> Value:
    within = np.abs(curve_excess) < curve_excess_limit
    return (curve_found == 1) & within & (shape_step4_g * module_voc < curve_shunt_share * module_isc)


@chapter.quantity(
    kind="text",
    unit="",
    label="What the data sheet's figures say",
    words="Whether they make a curve, and what to do if not.",
    formula='IF(curve_ok,"The figures make one curve.","No curve of crystalline silicon passes through these figures: compare '
    'Voc, Isc, Vmp, Imp and the coefficients with the data sheet.")',
    source=JUDGED,
)
def curve_note(curve_ok: Value) -> Value:
    refused = (
        "No curve of crystalline silicon passes through these figures: compare Voc, Isc, Vmp, Imp and the coefficients with the data sheet."
    )
    return np.where(curve_ok == 1, "The figures make one curve.", refused)


@chapter.quantity(
    symbol="Rs",
    unit="Ω",
    label="Series resistance of the module",
    words="Of the last trial row, if the curve is accepted.",
    formula='IF(curve_ok,shape_step4_r,"")',
    source=SINGLE_DIODE,
)
def curve_r(curve_ok: Value, shape_step4_r: Value) -> Value:
    return np.where(curve_ok == 1, shape_step4_r, np.nan)


@chapter.quantity(
    symbol="a",
    unit="V",
    label="Modified ideality voltage at STC",
    words="The inverse of the bend.",
    formula='IF(curve_ok,1/shape_step4_bend,"")',
    source=SINGLE_DIODE,
)
def curve_a(curve_ok: Value, shape_step4_bend: Value) -> Value:
    return np.where(curve_ok == 1, 1 / shape_step4_bend, np.nan)


@chapter.quantity(
    symbol="R,cable",
    unit="Ω",
    label="Resistance of the entered cables between array and battery",
    words="String cables, array run and battery run, out and back; 0 where none is entered: then the allowed drop is assumed instead.",
    formula='IF(losses_array_resistance="",0,losses_array_resistance)+IF(losses_battery_resistance="",0,losses_battery_resistance)'
    '+IF(strings_resistance="",0,strings_resistance)',
    source=cite("circuit-laws", "series resistances add"),
    optional=("losses_array_resistance", "losses_battery_resistance", "strings_resistance"),
    waits=("r_highest",),
)
def cable_r(losses_array_resistance: Value, losses_battery_resistance: Value, strings_resistance: Value) -> Value:
    parts = (losses_array_resistance, losses_battery_resistance, strings_resistance)
    array, battery, strings = (np.where(np.isnan(part), 0, part) for part in parts)
    return array + battery + strings


@chapter.quantity(
    symbol="R",
    unit="Ω",
    label="Resistance seen by one module",
    words="Its own, and its share of the cables: so the drop follows the current.",
    formula="curve_r+cable_r*array_parallel/array_series",
    source=cite("circuit-laws", "all strings' current flows in the cable, all modules share its drop"),
)
def loop_r(curve_r: Value, cable_r: Value, array_parallel: Value, array_series: Value) -> Value:
    return curve_r + cable_r * array_parallel / array_series


@chapter.quantity(
    symbol="u",
    unit="",
    label="Place of the peak on the diode's scale at STC",
    words="Diode voltage at the peak less Voc, in units of a: where the search for other peaks begins.",
    formula="(module_vmp+module_imp*curve_r-module_voc)/curve_a",
    source=own_rule("start of a search"),
)
def curve_peak_place(module_vmp: Value, module_imp: Value, curve_r: Value, module_voc: Value, curve_a: Value) -> Value:
    return (module_vmp + module_imp * curve_r - module_voc) / curve_a


chapter.constant("one_ampere", 1, "A", "Unit of the currents under a logarithm", "1 A", cite("si"))
chapter.constant("irradiance_noct", 800, "W/m²", "Irradiance of the row at NOCT", "", cite("ross"))

# the four conditions under which the array is looked at: key, words, irradiance, cell temperature
CONDITIONS = (
    ("stc", "standard test conditions", "g_stc", "t_stc"),
    ("noct", "at NOCT, an ordinary sunny day", "irradiance_noct", "module_noct"),
    ("hot", "hottest afternoon", "g_stc", "cell_t_hot"),
    ("cold", "full sun while the battery is coldest", "g_stc", "cell_t_cold_sun"),
)

conditions = chapter.grid(
    Grid(
        "conditions",
        "The five values at other conditions",
        "Bend, light current, saturation current and shunt are scaled to each row's sun and cell temperature; the resistance stays.",
        DE_SOTO,
        tuple(Row(key, words, {"sun": sun, "t_cell": t_cell}) for key, words, sun, t_cell in CONDITIONS),
        "Curve",
    )
)
condition_columns(conditions)

peak = chapter.grid(
    Grid(
        "peak",
        "The maximum-power point",
        "Two rows for each condition. The start is the peak's place at standard test conditions.",
        SINGLE_DIODE,
        tuple(row for key, words, _, _ in CONDITIONS for row in peak_steps(key, words, given_condition(key))),
        "Curve",
    )
)
peak_columns(peak)
