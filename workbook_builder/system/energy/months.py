"""The year: what the array gives and the loads take, month by month."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL, EntryTable
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import INCOMPLETE, NOT_JUDGED, NOTE, PASS
from workbook_builder.system.module.curve_steps import condition_columns, current_columns, given_condition, peak_columns, peak_steps, steps

chapter = Part(
    "energy",
    "Energy through the year",
    "The sun of each month in the plane of the array, from a weather service. Without it the energy is not judged. Under a PWM "
    "controller the yield follows from the current at the battery's voltage, not from rated power.",
    sheet="Energy",
)

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December")
DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
ITEMS = tuple((name[:3].lower(), name) for name in MONTHS)
table = EntryTable(
    "months",
    "Table of months",
    "A blank temperature means half way between the two extremes; a blank share all of the loads.",
    ITEMS,
    (("sun", "Sun (kWh/m²/d)"), ("air", "Air by day (°C)"), ("load", "Share of the loads (%)")),
)
chapter.entry_table(table)
chapter.table(read_table(TEMPLATES / "calendar.csv", "calendar", "Months", own_rule("the usual calendar")))
for _item, _name in ITEMS:
    chapter.number(
        f"{_item}_sun",
        "kWh/m²/d",
        0,
        12,
        f"{_name}: daily irradiation in the plane of the array",
        blank=OPTIONAL,
        table="months",
        where="weather service or atlas, monthly mean",
    )
    chapter.number(
        f"{_item}_air",
        "°C",
        -60,
        60,
        f"{_name}: mean air temperature by day",
        blank="=site_t_mean",
        blank_source=own_rule("half way between the extremes"),
        table="months",
        where="weather service",
    )
    chapter.number(
        f"{_item}_load",
        "%",
        0,
        300,
        f"{_name}: share of the loads",
        blank=100,
        blank_source=own_rule("the same all year"),
        table="months",
        where="seasonal loads",
    )

LOSS = cite("nrel-losses", "loss set")
for _key, _label, _value, _source in (
    ("soiling", "dirt on the modules", 2, LOSS),
    ("shading", "shading", 3, LOSS),
    ("mismatch", "mismatch of modules", 2, LOSS),
    ("ageing", "ageing until the end of the battery's life", 4, common_practice("0.5 to 1 % a year")),
    ("other", "connections, first light and tolerance", 3, LOSS),
):
    chapter.number(f"loss_{_key}", "%", 0, 50, f"Loss by {_label}", blank=_value, blank_source=_source, where="your judgement")
chapter.number(
    "energy_ratio_target",
    "",
    1,
    3,
    "Array-to-load ratio to reach in the worst month",
    blank=1.1,
    blank_source=cite("ieee-1562", "1.1…1.2 not critical, 1.3…1.4 critical", FROM_MEMORY),
    where="1.3 or more for critical loads or little sun",
)
chapter.number(
    "site_latitude",
    "",
    -66,
    66,
    "Latitude in degrees, south negative",
    blank=OPTIONAL,
    where="only for the rough estimate of sun beside the months",
)
chapter.constant(
    "sun_typical",
    700,
    "W/m²",
    "Irradiance that stands for a day's hours of sun",
    "G,typ",
    own_rule("above the energy-weighted mean of weather years, 470 to 690, so that hot noons count"),
)
chapter.constant("watts_per_kilowatt", 1000, "W/kW", "Watts in a kilowatt", "", cite("si"))
chapter.constant(
    "sun_spread",
    0.6,
    "",
    "Spread of single days around the month's mean, taken as even",
    "",
    own_rule("days lie evenly between 40 and 160 % of the mean"),
)


@chapter.quantity(
    symbol="k,loss",
    unit="",
    label="Share that is left after the losses of the array",
    words="Each loss takes its share of the rest.",
    formula="(1-loss_soiling/whole_percent)*(1-loss_shading/whole_percent)*(1-loss_mismatch/whole_percent)"
    "*(1-loss_ageing/whole_percent)*(1-loss_other/whole_percent)",
    source=LOSS,
)
def loss_factor(
    loss_soiling: Value, whole_percent: Value, loss_shading: Value, loss_mismatch: Value, loss_ageing: Value, loss_other: Value
) -> Value:
    left = 1.0
    for loss in (loss_soiling, loss_shading, loss_mismatch, loss_ageing, loss_other):
        left = left * (1 - loss / whole_percent)
    return left


months = chapter.grid(
    Grid(
        "months_at",
        "The curve in each month",
        "Cells at the month's air by day and the irradiance that stands for its hours of sun.",
        cite("de-soto", "equations of the five parameters", FROM_MEMORY),
        tuple(Row(item, name, {"air": f"{item}_air", "sun": "sun_typical"}) for item, name in ITEMS),
        "Curve",
    )
)


@months.column(symbol="T,cell", unit="°C", words="cell temperature", formula="air+cell_t_rise*sun/g_stc")
def t_cell(air: Value, cell_t_rise: Value, sun: Value, g_stc: Value) -> Value:
    return air + cell_t_rise * sun / g_stc


condition_columns(months)

month_search = chapter.grid(
    Grid(
        "month_search",
        "Current of one module in each month",
        "Three rows for each month, at the battery's float voltage.",
        cite("de-soto", "single-diode equation"),
        tuple(row for item, name in ITEMS for row in steps(item, name, given_condition(item, "months_at") | {"v": "levels_float_v"})),
        "Curve",
    )
)
current_columns(month_search)

month_peak = chapter.grid(
    Grid(
        "month_peak",
        "Peak of one module in each month",
        "Two rows for each month.",
        cite("de-soto", "single-diode equation"),
        tuple(row for item, name in ITEMS for row in peak_steps(item, name, given_condition(item, "months_at"))),
        "Curve",
    )
)
peak_columns(month_peak)

balance = chapter.grid(
    Grid(
        "balance",
        "The months",
        "Energy into the battery under each controller, what reaches the loads after the battery's loss, and what the loads ask.",
        own_rule("daily means; the battery smooths single days"),
        tuple(
            Row(
                item,
                name,
                {"sun": f"{item}_sun", "share": f"{item}_load", "i_module": f"month_search_{item}_i", "pmp": f"month_peak_{item}_pmp"},
                {"month": float(number), "days": float(days)},
                start=number == 1,
                named=number == 12,
            )
            for number, ((item, name), days) in enumerate(zip(ITEMS, DAYS, strict=True), 1)
        ),
        "Energy",
        numbers={"month": ("month", ""), "days": ("days", "")},
    )
)


@balance.column(symbol="h", unit="h/d", words="hours of the typical irradiance", formula="sun*watts_per_kilowatt/sun_typical")
def hours(sun: Value, watts_per_kilowatt: Value, sun_typical: Value) -> Value:
    return sun * watts_per_kilowatt / sun_typical


@balance.column(
    symbol="E,PWM", unit="Wh/d", words="into the battery under PWM", formula="array_parallel*i_module*battery_v_float*hours*loss_factor"
)
def pwm(array_parallel: Value, i_module: Value, battery_v_float: Value, hours: Value, loss_factor: Value) -> Value:
    return array_parallel * i_module * battery_v_float * hours * loss_factor


@balance.column(
    symbol="P,MPPT",
    unit="W",
    words="MPPT power at the typical irradiance, after the losses",
    formula="array_series*array_parallel*pmp*controller_efficiency/whole_percent*loss_factor",
)
def mppt_power(
    array_series: Value, array_parallel: Value, pmp: Value, controller_efficiency: Value, whole_percent: Value, loss_factor: Value
) -> Value:
    return array_series * array_parallel * pmp * controller_efficiency / whole_percent * loss_factor


@balance.column(
    symbol="E,MPPT",
    unit="Wh/d",
    words="into the battery under MPPT, within the rated charge current",
    formula="MIN(mppt_power,controller_i_max*battery_v_float)*hours",
)
def mppt(mppt_power: Value, controller_i_max: Value, battery_v_float: Value, hours: Value) -> Value:
    return np.minimum(mppt_power, controller_i_max * battery_v_float) * hours


@balance.column(
    symbol="E,avail",
    unit="Wh/d",
    words="available to the loads under this controller",
    formula='IF(controller_type="MPPT",mppt,pwm)*battery_efficiency/whole_percent',
)
def available(controller_type: Value, mppt: Value, pwm: Value, battery_efficiency: Value, whole_percent: Value) -> Value:
    return np.where(controller_type == "MPPT", mppt, pwm) * battery_efficiency / whole_percent


@balance.column(
    symbol="E,load",
    unit="Wh/d",
    words="asked by the loads, and by inverter and controller themselves",
    formula="(load_wh_design-load_wh_always)*share/whole_percent+load_wh_always",
)
def asked(load_wh_design: Value, load_wh_always: Value, share: Value, whole_percent: Value) -> Value:
    return (load_wh_design - load_wh_always) * share / whole_percent + load_wh_always


@balance.column(symbol="surplus", unit="Wh/d", words="surplus, or deficit if negative", formula="available-asked")
def surplus(available: Value, asked: Value) -> Value:
    return available - asked


@balance.column(symbol="ratio", words="array-to-load ratio", formula='IF(asked>0,available/asked,"")')
def ratio(asked: Value, available: Value) -> Value:
    return np.where(asked > 0, np.divide(available, asked), np.nan)


@balance.column(symbol="rejected", unit="Wh/d", words="energy that a full battery rejects", formula="MAX(0,surplus)")
def rejected(surplus: Value) -> Value:
    return np.maximum(0, surplus)


@balance.column(
    symbol="full days",
    words="days on which the battery is expected to become full",
    formula="days*MAX(0,MIN(1,(1+sun_spread-1/MAX(ratio,curve_small))/(2*sun_spread)))",
)
def full_days(days: Value, sun_spread: Value, ratio: Value, curve_small: Value) -> Value:
    share = (1 + sun_spread - 1 / np.maximum(ratio, curve_small)) / (2 * sun_spread)
    return days * np.maximum(0, np.minimum(1, share))


@balance.column(
    symbol="worst",
    words="lowest ratio so far",
    named=True,
    optional=("previous_worst", "ratio"),
    formula='IF(COUNT(previous_worst,ratio)=0,"",MIN(previous_worst,ratio))',
)
def worst(previous_worst: Value, ratio: Value) -> Value:
    return np.fmin(previous_worst, ratio)


@balance.start(formula='IF(ratio="","",ratio)')
def worst_start(ratio: Value) -> Value:
    return ratio


@balance.column(
    symbol="worst month",
    words="its month",
    named=True,
    optional=("ratio", "previous_worst", "previous_worst_month"),
    formula='IF(ratio="",previous_worst_month,IF(previous_worst="",month,'
    "IF(ROUND(ratio,9)<ROUND(previous_worst,9),month,previous_worst_month)))",
)
def worst_month(ratio: Value, previous_worst_month: Value, previous_worst: Value, month: Value) -> Value:
    lower = np.isnan(previous_worst) | (round_half_away(ratio, 9) < round_half_away(previous_worst, 9))
    return np.where(np.isnan(ratio), previous_worst_month, np.where(lower, month, previous_worst_month))


@balance.start(formula='IF(ratio="","",month)')
def worst_month_start(ratio: Value, month: Value) -> Value:
    return np.where(np.isnan(ratio), np.nan, month)


@balance.running(symbol="entered", words="months with a sun so far", optional=("sun",), formula='IF(sun="",0,1)')
def known(sun: Value) -> Value:
    return ~np.isnan(sun) * 1.0


@chapter.quantity(
    unit="",
    label="Months with an entered sun",
    words="All twelve are needed, or none.",
    formula="balance_dec_known",
    source=own_rule("optional part"),
)
def months_entered(balance_dec_known: Value) -> Value:
    return balance_dec_known


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the energy is judged",
    words="It needs loads and the sun of all months.",
    formula='IF(OR(months_entered=0,loads_state="not run"),"not run",'
    'IF(OR(ROUND(months_entered,0)<ROUND(months_in_year,0),loads_state="unfinished"),"unfinished","run"))',
    source=own_rule("optional part"),
)
def energy_state(months_entered: Value, loads_state: Value, months_in_year: Value) -> Value:
    none = (months_entered == 0) | (loads_state == "not run")
    part = (months_entered < months_in_year) | (loads_state == "unfinished")
    return np.where(none, "not run", np.where(part, "unfinished", "run"))


@chapter.quantity(
    symbol="",
    unit="",
    label="Worst month: array-to-load ratio",
    words="The lowest of the year.",
    formula='IF(energy_state="run",balance_dec_worst,"")',
    source=cite("ieee-1562", "array-to-load ratio", FROM_MEMORY),
    optional=("balance_dec_worst",),
)
def energy_worst_ratio(energy_state: Value, balance_dec_worst: Value) -> Value:
    return np.where(energy_state == "run", balance_dec_worst, np.nan)


@chapter.quantity(
    symbol="",
    unit="",
    label="Worst month: its number",
    words="1 is January.",
    formula='IF(energy_state="run",balance_dec_worst_month,"")',
    source=own_rule("the first, if several are equal"),
    optional=("balance_dec_worst_month",),
)
def energy_worst_month(energy_state: Value, balance_dec_worst_month: Value) -> Value:
    return np.where(energy_state == "run", balance_dec_worst_month, np.nan)


@chapter.quantity(
    kind="text",
    unit="",
    label="Worst month",
    words="Its name.",
    formula="INDEX(calendar_month,ROUND(energy_worst_month,0))",
    source=own_rule("the first, if several are equal"),
)
def energy_worst_name(energy_worst_month: Value, *, calendar: Table) -> Value:
    names = np.array(["", *calendar.column("month").values], dtype=object)
    return names[np.where(np.isnan(energy_worst_month), 0, energy_worst_month).astype(int)]


@chapter.quantity(
    symbol="Np",
    unit="",
    label="Strings in parallel that would reach the target",
    words="In the worst month, rounded up; empty where the array gives nothing.",
    formula='IF(ROUND(energy_worst_ratio,6)>0,ROUNDUP(ROUND(array_parallel*energy_ratio_target/energy_worst_ratio,9),0),"")',
    source=cite("ieee-1562", "array-to-load ratio", FROM_MEMORY),
)
def array_parallel_needed(array_parallel: Value, energy_ratio_target: Value, energy_worst_ratio: Value) -> Value:
    strings = np.ceil(round_half_away(np.divide(array_parallel * energy_ratio_target, energy_worst_ratio), 9))
    return np.where(round_half_away(energy_worst_ratio, 6) > 0, strings, np.nan)


@chapter.quantity(
    symbol="",
    unit="d",
    label="Days to refill the battery after the days without sun, worst month",
    words="Days without sun by the share that the array gives above the loads; empty if it gives none.",
    formula='IF(energy_worst_ratio>1,autonomy_days/(energy_worst_ratio-1),"")',
    source=own_rule("loads go on while it refills"),
)
def recharge_days(energy_worst_ratio: Value, autonomy_days: Value) -> Value:
    return np.where(energy_worst_ratio > 1, np.divide(autonomy_days, energy_worst_ratio - 1), np.nan)


chapter.limit(
    name="energy",
    label="Energy through the year",
    words="Array-to-load ratio of the worst month, not below the target.",
    value="energy_worst_ratio",
    at_least="energy_ratio_target",
    unless=(("energy_state", "not run", NOT_JUDGED), ("energy_worst_ratio", "", INCOMPLETE)),
    source=cite("ieee-1562", "1.1…1.2 not critical, 1.3…1.4 critical", FROM_MEMORY),
    asks=("load1_w", "load1_hours", "jan_sun"),
    advice=(
        "About ",
        "array_parallel_advised",
        " strings in parallel would do, and fail none of the checks on the sheet Arrangements.",
        "More of these strings alone are not known to reach the target and to pass the other checks: choose a larger controller and "
        "battery, or smaller loads.",
    ),
    sentences={
        PASS: "Even in the worst month the array gives more than the loads take.",
        NOTE: "In the worst month the array gives too little: the battery will be empty at times. More modules, smaller loads, "
        "or another source.",
        NOT_JUDGED: "The sun of the months, or the loads, are not entered.",
        INCOMPLETE: "The sun of some months, a row of loads, or something of the array is missing: complete it on Entries.",
    },
)


chapter.constant("months_in_year", 12, "", "Months in a year", "", cite("si"))
chapter.constant("pi", 3.14159265358979, "", "Circle's ratio", "π", cite("si"))
ASTRONOMY = cite("duffie-beckman", "declination and daily extraterrestrial irradiation", FROM_MEMORY)
chapter.constant("half_turn", 180, "", "Degrees of half a turn", "180°", cite("si"))
chapter.constant("tilt_of_earth", 23.44, "", "Tilt of the earth's axis, degrees", "", ASTRONOMY)
chapter.constant("days_in_year", 365.24, "", "Days in a year", "", ASTRONOMY)
chapter.constant("days_since_solstice", 10, "", "Days of the old year after its December solstice", "", ASTRONOMY)
chapter.constant("eccentricity", 0.0167, "", "Eccentricity of the earth's orbit", "", ASTRONOMY)
chapter.constant("solar_constant", 1.367, "", "Irradiance outside the air, kW/m²", "", ASTRONOMY)
chapter.constant("orbit_swing", 0.033, "", "Swing of that irradiance through the year", "", ASTRONOMY)
chapter.constant("share_clear", 0.75, "", "Share that reaches the ground on a clear day", "", common_practice("clear sky, dry"))
chapter.constant("share_usual", 0.55, "", "Share that reaches the ground on an ordinary day", "", common_practice("half cloudy"))

rough = chapter.grid(
    Grid(
        "rough_sun",
        "Rough estimate of the sun from the latitude alone, on level ground",
        "Not a design figure: it knows nothing of the climate. Use it only to see whether an entered month is plausible.",
        ASTRONOMY,
        tuple(
            Row(item, name, numbers={"day": float(day)})
            for (item, name), day in zip(ITEMS, (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344), strict=True)
        ),
        "Energy",
        single=True,
        numbers={"day": ("day of the year", "")},
    )
)


@rough.column(
    symbol="λ",
    words="place on the earth's orbit since the December solstice, radians",
    formula="2*pi/days_in_year*(day+days_since_solstice)+2*eccentricity*SIN(2*pi/days_in_year*(day-2))",
)
def place(pi: Value, days_in_year: Value, day: Value, days_since_solstice: Value, eccentricity: Value) -> Value:
    turn = 2 * pi / days_in_year
    return turn * (day + days_since_solstice) + 2 * eccentricity * np.sin(turn * (day - 2))


@rough.column(symbol="δ", words="declination, radians", formula="pi/2-ACOS(-SIN(tilt_of_earth*pi/half_turn)*COS(place))")
def declination(pi: Value, tilt_of_earth: Value, half_turn: Value, place: Value) -> Value:
    # the arc sine, by the one arc function that is allowed in a cell
    return pi / 2 - np.arccos(-np.sin(tilt_of_earth * pi / half_turn) * np.cos(place))


@rough.column(symbol="φ", words="latitude, radians", formula="site_latitude*pi/half_turn")
def latitude(site_latitude: Value, pi: Value, half_turn: Value) -> Value:
    return site_latitude * pi / half_turn


@rough.column(
    symbol="ω",
    words="half the day, radians",
    formula="ACOS(MAX(-1,MIN(1,-SIN(latitude)*SIN(declination)/COS(latitude)/COS(declination))))",
)
def sunset(latitude: Value, declination: Value) -> Value:
    return np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1, 1))


@rough.column(
    symbol="H0",
    words="outside the air, kWh/m² a day",
    formula="hours_in_day/pi*solar_constant*(1+orbit_swing*COS(2*pi*day/days_in_year))"
    "*(COS(latitude)*COS(declination)*SIN(sunset)+sunset*SIN(latitude)*SIN(declination))",
)
def outside(
    hours_in_day: Value,
    pi: Value,
    solar_constant: Value,
    orbit_swing: Value,
    day: Value,
    days_in_year: Value,
    latitude: Value,
    declination: Value,
    sunset: Value,
) -> Value:
    strength = solar_constant * (1 + orbit_swing * np.cos(2 * pi * day / days_in_year))
    path = np.cos(latitude) * np.cos(declination) * np.sin(sunset) + sunset * np.sin(latitude) * np.sin(declination)
    return hours_in_day / pi * strength * path


@rough.column(symbol="clear", words="clear days, kWh/m² a day, rough", formula="share_clear*outside")
def clear(share_clear: Value, outside: Value) -> Value:
    return share_clear * outside


@rough.column(symbol="ordinary", words="ordinary days, kWh/m² a day, rough", formula="share_usual*outside")
def ordinary(share_usual: Value, outside: Value) -> Value:
    return share_usual * outside


chapter.constant("hours_in_day", 24, "", "Hours in a day", "", cite("si"))
