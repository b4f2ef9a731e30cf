"""What is read on the roof on the day of commissioning, and the sun and the cell temperature that follow from it."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value
from workbook_builder.system.module.curve_steps import condition_columns, current_columns, given_condition, peak_columns, peak_steps, steps

SHEET, STEPS = "Commissioning", "Diagnosis"
chapter = Part(
    "readings",
    "Readings of the day",
    "Read all within one minute, sun and controller steady. What you cannot read stays blank.",
    sheet=STEPS,
    typed_on=SHEET,
)

ROUGH = common_practice("sun high, before the array")
chapter.table(
    read_table(
        TEMPLATES / "skies.csv",
        "skies",
        "Irradiance by the look of the sky",
        ROUGH,
        "Used only where nothing was measured.",
    )
)
BACK = cite("sandia-array", "open rack", FROM_MEMORY)
chapter.constant("back_to_cell", 3, "K", "Cells warmer than the back of the module at {g_stc:unit}", "", BACK)
chapter.constant(
    "g_measured_uncertainty",
    10,
    "%",
    "Uncertainty of a cheap irradiance meter",
    "",
    common_practice("pocket meters, and how they are held"),
)
chapter.constant("g_guessed_uncertainty", 30, "%", "Uncertainty of irradiance guessed from the sky", "", ROUGH)
chapter.constant(
    "t_back_uncertainty",
    3,
    "K",
    "Uncertainty of the cell temperature from the back of a module",
    "",
    common_practice("one point of one module"),
)
chapter.constant(
    "t_air_uncertainty", 8, "K", "Uncertainty of the cell temperature from the air's", "", common_practice("wind and mounting")
)

chapter.number(
    "reading_g", "W/m²", 1, 1600, "Irradiance in the plane of the array, measured", blank=OPTIONAL, where="meter held flat on a module"
)
chapter.choice(
    "reading_sky",
    ("full sun", "thin haze", "bright cloud", "overcast"),
    "Or the look of the sky",
    blank=OPTIONAL,
    where="only if irradiance is blank",
)
chapter.number(
    "reading_t_module", "°C", -40, 100, "Temperature of the back of a module", blank=OPTIONAL, where="sensor taped to the middle of it"
)
chapter.number(
    "reading_t_air", "°C", -40, 60, "Or temperature of the air", blank=OPTIONAL, where="in the shade; for cells only if no module is read"
)
chapter.number(
    "reading_t_battery",
    "°C",
    -40,
    80,
    "Temperature of the battery",
    blank=OPTIONAL,
    where="sensor on its side; blank: the air's, then {t_battery:unit}",
)
chapter.number("reading_v_battery", "V", 1, 100, "Battery volts", blank=OPTIONAL, where="meter on the battery's own terminals")
chapter.number(
    "reading_v_pv", "V", -1500, 1500, "PV volts at the controller", blank=OPTIONAL, where="meter on the PV input; with its minus sign"
)
chapter.number("reading_i_pv", "A", -400, 400, "PV amps", blank=OPTIONAL, where="clamp for direct current, arrow to the controller")
chapter.choice(
    "reading_meter",
    ("averaging", "true RMS"),
    "What the meter shows",
    blank="averaging",
    blank_source=common_practice("direct-voltage ranges"),
    where="true RMS only if it says so",
)
chapter.choice(
    "reading_mode",
    ("bulk", "absorption or float", "off or fault"),
    "What the controller says it does",
    blank=OPTIONAL,
    where="its display or lamp",
)
chapter.number(
    "reading_g_uncertainty",
    "%",
    1,
    60,
    "Irradiance may be off by",
    blank="=g_uncertainty_default",
    blank_source=ROUGH,
    where="sheet of the irradiance meter",
)
chapter.number(
    "reading_t_uncertainty",
    "K",
    1,
    20,
    "Cell temperature off by",
    blank="=t_uncertainty_default",
    blank_source=common_practice("one sensor"),
    where="your judgement",
)
chapter.number(
    "reading_v_uncertainty",
    "%",
    0.1,
    10,
    "Volts may be off by",
    blank=1,
    blank_source=common_practice("hand meters"),
    where="sheet of the meter",
)
chapter.number(
    "reading_i_uncertainty",
    "%",
    0.1,
    10,
    "Amps may be off by",
    blank=3,
    blank_source=common_practice("direct-current clamps"),
    where="sheet of the clamp",
)


def _default(what: str, name: str, words: str, first: str, other: str) -> dict[str, Any]:
    return {
        "label": f"Uncertainty of {what}, if not entered",
        "words": words,
        "formula": f'IF({name}="",{other},{first})',
        "source": common_practice("measured, or guessed"),
        "optional": (name,),
    }


@chapter.quantity(
    unit="%",
    **_default(
        "the irradiance",
        "reading_g",
        "Smaller where it was measured.",
        "g_measured_uncertainty",
        "g_guessed_uncertainty",
    ),
)
def g_uncertainty_default(reading_g: Value, g_guessed_uncertainty: Value, g_measured_uncertainty: Value) -> Value:
    return np.where(np.isnan(reading_g), g_guessed_uncertainty, g_measured_uncertainty)


@chapter.quantity(
    unit="K",
    **_default(
        "the cell temperature",
        "reading_t_module",
        "Smaller where a module was measured.",
        "t_back_uncertainty",
        "t_air_uncertainty",
    ),
)
def t_uncertainty_default(reading_t_module: Value, t_air_uncertainty: Value, t_back_uncertainty: Value) -> Value:
    return np.where(np.isnan(reading_t_module), t_air_uncertainty, t_back_uncertainty)


@chapter.quantity(
    symbol="G,sky",
    unit="W/m²",
    label="Irradiance by the look of the sky",
    words="The table's row.",
    formula="INDEX(skies_g,MATCH(reading_sky,skies_sky,0))",
    source=ROUGH,
)
def day_g_sky(reading_sky: Value, *, skies: Table) -> Value:
    return skies.exact(reading_sky, "sky", "g")


@chapter.quantity(
    symbol="G",
    unit="W/m²",
    label="Irradiance that is counted with",
    words="The measured one; for want of it the sky's.",
    formula='IF(reading_g="",IF(reading_sky="","",day_g_sky),reading_g)',
    source=own_rule("a measurement before a guess"),
    optional=("reading_g", "reading_sky", "day_g_sky"),
)
def day_g(reading_g: Value, reading_sky: Value, day_g_sky: Value) -> Value:
    return np.where(np.isnan(reading_g), np.where(reading_sky == "", np.nan, day_g_sky), reading_g)


@chapter.quantity(
    symbol="T,back",
    unit="°C",
    label="Cell temperature from the back of the module",
    words="A little warmer, with the sun.",
    formula="reading_t_module+back_to_cell*day_g/g_stc",
    source=BACK,
)
def day_t_by_back(reading_t_module: Value, back_to_cell: Value, day_g: Value, g_stc: Value) -> Value:
    return reading_t_module + back_to_cell * day_g / g_stc


@chapter.quantity(
    symbol="T,air",
    unit="°C",
    label="Cell temperature from the air",
    words="Warmer by NOCT, with the sun.",
    formula="reading_t_air+cell_t_rise*day_g/g_stc",
    source=cite("ross", "T = T,air + (NOCT − 20)/800·G"),
)
def day_t_by_air(reading_t_air: Value, cell_t_rise: Value, day_g: Value, g_stc: Value) -> Value:
    return reading_t_air + cell_t_rise * day_g / g_stc


@chapter.quantity(
    symbol="T",
    unit="°C",
    label="Cell temperature that is counted with",
    words="From the module; for want of it from the air.",
    formula='IF(reading_t_module="",IF(reading_t_air="","",day_t_by_air),day_t_by_back)',
    source=own_rule("the nearer measurement"),
    optional=("reading_t_module", "reading_t_air", "day_t_by_air", "day_t_by_back"),
)
def day_t_cell(reading_t_module: Value, reading_t_air: Value, day_t_by_air: Value, day_t_by_back: Value) -> Value:
    by_air = np.where(np.isnan(reading_t_air), np.nan, day_t_by_air)
    return np.where(np.isnan(reading_t_module), by_air, day_t_by_back)


@chapter.quantity(
    symbol="G,low",
    unit="W/m²",
    label="The same with less sun, by its uncertainty",
    words="Less by the per cent entered.",
    formula="day_g*(1-reading_g_uncertainty/whole_percent)",
    source=own_rule("sensitivity by a second calculation"),
)
def day_g_low(day_g: Value, reading_g_uncertainty: Value, whole_percent: Value) -> Value:
    return day_g * (1 - reading_g_uncertainty / whole_percent)


@chapter.quantity(
    symbol="T,high",
    unit="°C",
    label="The same with warmer cells, by their uncertainty",
    words="Warmer by the kelvins entered.",
    formula="day_t_cell+reading_t_uncertainty",
    source=own_rule("sensitivity by a second calculation"),
)
def day_t_high(day_t_cell: Value, reading_t_uncertainty: Value) -> Value:
    return day_t_cell + reading_t_uncertainty


# the day as read, and twice a little off: what differs is the uncertainty of a prediction
CASES = (
    ("now", "as read", "day_g", "day_t_cell"),
    ("dim", "less sun", "day_g_low", "day_t_cell"),
    ("warm", "warmer cells", "day_g", "day_t_high"),
)

day = chapter.grid(
    Grid(
        "day",
        "The curve on the day",
        "As read, and a little off in sun and temperature.",
        cite("de-soto", "equations of the five parameters", FROM_MEMORY),
        tuple(Row(key, words, {"sun": sun, "t_cell": t_cell}) for key, words, sun, t_cell in CASES),
        "Curve",
    )
)
condition_columns(day)


@day.column(
    symbol="Voc",
    unit="V",
    words="open-circuit voltage by the sheet's coefficient, lower with less sun",
    named=True,
    formula="module_voc*(1+module_beta_hot/whole_percent*(t_cell-t_stc))+a*LN(sun/g_stc)",
)
def voc(
    module_voc: Value, module_beta_hot: Value, whole_percent: Value, t_cell: Value, t_stc: Value, a: Value, sun: Value, g_stc: Value
) -> Value:
    return module_voc * (1 + module_beta_hot / whole_percent * (t_cell - t_stc)) + a * np.log(sun / g_stc)


day_peak = chapter.grid(
    Grid(
        "day_peak",
        "The maximum-power point on the day",
        "Two rows.",
        cite("de-soto", "single-diode equation"),
        tuple(peak_steps("now", "as read", given_condition("now", "day"))),
        "Curve",
    )
)
peak_columns(day_peak)


def searched() -> list[Row]:
    """Return the rows that find a module's current on the day: at the predicted voltage, and at the one that was read."""
    return [
        row
        for key, words, _, _ in CASES
        for at, volts, v, r in (
            ("on", "predicted volts", "day_v_module", "day_r_module"),
            ("read", "volts read", "day_v_module_read", "day_r_module_read"),
        )
        for row in steps(f"{key}_{at}", f"{words}, {volts}", given_condition(key, "day") | {"v": v, "loop_r": r})
    ]


day_search = chapter.grid(
    Grid(
        "day_search",
        "Current of one module on the day",
        "Three rows for each case, at the predicted volts and at those read.",
        cite("de-soto", "single-diode equation"),
        tuple(searched()),
        "Curve",
    )
)
current_columns(day_search)
