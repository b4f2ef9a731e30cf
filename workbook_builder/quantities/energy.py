"""The year: what the array gives and the loads take, month by month."""

import numpy as np

from workbook_builder.declare import NOT_APPLICABLE, NOTE, OPTIONAL, PASS, Chapter, EntryTable
from workbook_builder.grids import Grid, Row
from workbook_builder.quantities.curve import condition_columns, current_columns, given_condition, peak_columns, three_rows
from workbook_builder.quantities.verdicts import where_pass
from workbook_builder.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.tables import round_half_away

chapter = Chapter(
    "energy",
    "Energy through the year",
    "The sun of each month in the plane of the array, from a weather service. Without it the energy is not judged. Under a PWM "
    "controller the yield follows from the current at the battery's voltage, not from rated power.",
    sheet="Energy",
)

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip
DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
ITEMS = tuple((name[:3].lower(), name) for name in MONTHS)
table = EntryTable(
    "months", "Table of months", "A blank temperature means half way between the two extremes; a blank share all of the loads.",
    ITEMS, (("sun", "Sun (kWh/m²/d)"), ("air", "Air by day (°C)"), ("load", "Share of the loads (%)")),
)  # fmt: skip
chapter.entry_tables.append(table)
for _item, _name in ITEMS:
    chapter.number(f"{_item}_sun", "kWh/m²/d", 0, 12, f"{_name}: daily irradiation in the plane of the array", blank=OPTIONAL,
                   table="months", where="weather service or atlas, monthly mean")  # fmt: skip
    chapter.number(f"{_item}_air", "°C", -60, 60, f"{_name}: mean air temperature by day", blank="=site_t_mean",
                   blank_source=own_rule("half way between the extremes"), table="months", where="weather service")  # fmt: skip
    chapter.number(f"{_item}_load", "%", 0, 300, f"{_name}: share of the loads", blank=100,
                   blank_source=own_rule("the same all year"), table="months", where="seasonal loads")  # fmt: skip

LOSS = cite("nrel-losses", "loss set")
for _key, _label, _value, _source in (
    ("soiling", "dirt on the modules", 2, LOSS), ("shading", "shading", 3, LOSS), ("mismatch", "mismatch of modules", 2, LOSS),
    ("ageing", "ageing until the end of the battery's life", 4, common_practice("0.5 to 1 % a year")),
    ("other", "connections, first light and tolerance", 3, LOSS),
):  # fmt: skip
    chapter.number(f"loss_{_key}", "%", 0, 50, f"Loss by {_label}", blank=_value, blank_source=_source, where="your judgement")
chapter.number("energy_ratio_target", "", 1, 3, "Array-to-load ratio to reach in the worst month", blank=1.1,
               blank_source=cite("ieee-1562", "1.1…1.2 not critical, 1.3…1.4 critical", FROM_MEMORY),
               where="1.3 or more for critical loads or little sun")  # fmt: skip
chapter.number("site_latitude", "", -66, 66, "Latitude in degrees, south negative", blank=OPTIONAL,
               where="only for the rough estimate of sun beside the months")  # fmt: skip
chapter.constant("sun_typical", 600, "W/m²", "Irradiance that stands for a day's hours of sun", "G,typ",
                 cite("cec-weights", "energy-weighted mean of the six levels, rounded", FROM_MEMORY))  # fmt: skip
chapter.constant("watts_per_kilowatt", 1000, "W/kW", "Watts in a kilowatt", "", cite("si"))
chapter.constant("sun_spread", 0.6, "", "Spread of single days around the month's mean, taken as even", "",
                 own_rule("days lie evenly between 40 and 160 % of the mean"))  # fmt: skip


@chapter.quantity(
    symbol="k,loss", unit="", label="Share that is left after the losses of the array", words="Each loss takes its share of the rest.",
    formula="(1-loss_soiling/whole_percent)*(1-loss_shading/whole_percent)*(1-loss_mismatch/whole_percent)"
    "*(1-loss_ageing/whole_percent)*(1-loss_other/whole_percent)",
    source=LOSS,
)  # fmt: skip
def loss_factor(loss_soiling, whole_percent, loss_shading, loss_mismatch, loss_ageing, loss_other):
    left = 1.0
    for loss in (loss_soiling, loss_shading, loss_mismatch, loss_ageing, loss_other):
        left = left * (1 - loss / whole_percent)
    return left


months = chapter.grid(Grid(
    "months_at", "The curve in each month", "Cells at the month's air by day and the irradiance that stands for its hours of sun.",
    cite("de-soto", "equations of the five parameters", FROM_MEMORY),
    tuple(Row(item, name, {"air": f"{item}_air", "sun": "sun_typical"}) for item, name in ITEMS), "Curve",
))  # fmt: skip


@months.column(symbol="T,cell", unit="°C", words="cell temperature", formula="air+cell_t_rise*sun/g_stc")
def t_cell(air, cell_t_rise, sun, g_stc):
    return air + cell_t_rise * sun / g_stc


condition_columns(months)

month_search = chapter.grid(Grid(
    "month_search", "Current of one module in each month", "Three rows for each month, at the battery's float voltage.",
    cite("de-soto", "single-diode equation"),
    tuple(row for item, name in ITEMS
          for row in three_rows(item, name, given_condition(item, "months_at") | {"v": "levels_float_v"})), "Curve",
))  # fmt: skip
current_columns(month_search)

month_peak = chapter.grid(Grid(
    "month_peak", "Peak of one module in each month", "Three rows for each month.", cite("de-soto", "single-diode equation"),
    tuple(row for item, name in ITEMS for row in three_rows(item, name, given_condition(item, "months_at"))), "Curve",
))  # fmt: skip
peak_columns(month_peak)

balance = chapter.grid(Grid(
    "balance", "The months",
    "Energy into the battery under each controller, what reaches the loads after the battery's loss, and what the loads ask.",
    own_rule("daily means; the battery smooths single days"),
    tuple(
        Row(item, name, {"sun": f"{item}_sun", "share": f"{item}_load", "i_module": f"month_search_{item}_i",
                         "pmp": f"month_peak_{item}_pmp"}, {"month": float(number), "days": float(days)}, start=number == 1,
            named=number == 12)
        for number, ((item, name), days) in enumerate(zip(ITEMS, DAYS, strict=True), 1)
    ),
    "Energy", numbers={"month": ("month", ""), "days": ("days", "")},
))  # fmt: skip


@balance.column(symbol="h", unit="h/d", words="hours of the typical irradiance", formula="sun*watts_per_kilowatt/sun_typical")
def hours(sun, watts_per_kilowatt, sun_typical):
    return sun * watts_per_kilowatt / sun_typical


@balance.column(symbol="E,PWM", unit="Wh/d", words="into the battery under PWM", formula=
                "array_parallel*i_module*battery_v_float*hours*loss_factor")  # fmt: skip
def pwm(array_parallel, i_module, battery_v_float, hours, loss_factor):
    return array_parallel * i_module * battery_v_float * hours * loss_factor


@balance.column(symbol="E,MPPT", unit="Wh/d", words="into the battery under MPPT", formula=
                "array_series*array_parallel*pmp*controller_efficiency/whole_percent*hours*loss_factor")  # fmt: skip
def mppt(array_series, array_parallel, pmp, controller_efficiency, whole_percent, hours, loss_factor):
    return array_series * array_parallel * pmp * controller_efficiency / whole_percent * hours * loss_factor


@balance.column(symbol="E,avail", unit="Wh/d", words="available to the loads under this controller", formula=
                'IF(controller_type="MPPT",mppt,pwm)*battery_efficiency/whole_percent')  # fmt: skip
def available(controller_type, mppt, pwm, battery_efficiency, whole_percent):
    return np.where(controller_type == "MPPT", mppt, pwm) * battery_efficiency / whole_percent


@balance.column(symbol="E,load", unit="Wh/d", words="asked by the loads", formula="load_wh_design*share/whole_percent")
def asked(load_wh_design, share, whole_percent):
    return load_wh_design * share / whole_percent


@balance.column(symbol="surplus", unit="Wh/d", words="surplus, or deficit if negative", formula="available-asked")
def surplus(available, asked):
    return available - asked


@balance.column(symbol="ratio", words="array-to-load ratio", formula='IF(asked>0,available/asked,"")')
def ratio(asked, available):
    return np.where(asked > 0, np.divide(available, asked), np.nan)


@balance.column(symbol="rejected", unit="Wh/d", words="energy that a full battery rejects", formula="MAX(0,surplus)")
def rejected(surplus):
    return np.maximum(0, surplus)


@balance.column(symbol="full days", words="days on which the battery is expected to become full", formula=
                "days*MAX(0,MIN(1,(1+sun_spread-1/MAX(ratio,curve_small))/(2*sun_spread)))")  # fmt: skip
def full_days(days, sun_spread, ratio, curve_small):
    share = (1 + sun_spread - 1 / np.maximum(ratio, curve_small)) / (2 * sun_spread)
    return days * np.maximum(0, np.minimum(1, share))


@balance.column(symbol="worst", words="lowest ratio so far", named=True, optional=("previous_worst", "ratio"), formula=
                'IF(COUNT(previous_worst,ratio)=0,"",MIN(previous_worst,ratio))')  # fmt: skip
def worst(previous_worst, ratio):
    return np.fmin(previous_worst, ratio)


@balance.start(formula='IF(COUNT(ratio)=0,"",1*ratio)')
def worst_start(ratio):
    return 1 * ratio


@balance.column(symbol="worst month", words="its month", named=True, optional=("ratio", "worst", "previous_worst_month"), formula=
                'IF(worst="","",IF(ratio=worst,IF(previous_worst_month="",month,IF(worst=previous_worst,previous_worst_month,month)),'
                "previous_worst_month))")  # fmt: skip
def worst_month(worst, ratio, previous_worst_month, month, previous_worst):
    raise NotImplementedError
