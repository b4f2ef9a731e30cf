"""The charts of the sheet Power: lines differ by dash and mark, so that they survive a black-and-white print."""

from __future__ import annotations

from workbook_builder.file.plan import Chart, Plan, Series, Sheet
from workbook_builder.system.controller.power import LEVELS
from workbook_builder.system.module.chart_points import SWEPT
from workbook_builder.system.module.curve import CONDITIONS

FREE = {"Power": 44, "Energy": 22}  # rows kept free for the charts
DASHES = {"stc": ("solid", ""), "hot": ("long_dash", ""), "cold": ("square_dot", ""), "noct": ("dash_dot", "")}
FILLS = ("#C8C8C8", "#7A7A7A", "#000000")
MARKERS = {"stc": "circle", "hot": "triangle", "cold": "square", "noct": "diamond"}


def add(plan: Plan, sheet: Sheet, top: int) -> None:
    """Place the three charts at a row of a sheet; the points stand on other sheets."""
    sheet.charts += [
        _curves(plan, top, 0, "current", "Current (A)", "Current of the array over its voltage", "current-voltage curve"),
        _curves(plan, top, 8, "power", "Power (W)", "Power of the array over its voltage", "power-voltage curve"),
        _usable(plan, top + FREE["Power"] // 2),
    ]


def _curves(plan: Plan, row: int, column: int, what: str, y_title: str, title: str, words: str) -> Chart:
    series = [
        Series(label, plan.column(f"points_{key}", "voltage"), plan.column(f"points_{key}", what), DASHES[key][0]) for key, label in SWEPT
    ]
    for title_of_edge, rows in (("battery low", (0, 2)), ("battery highest", (2, 4))):
        x, y = plan.column("band", "voltage", rows), plan.column("band", what, rows)
        series.append(Series(title_of_edge, x, y, "round_dot", width=1.0))
    for number, (key, label) in enumerate(SWEPT):
        x = plan.column("marks", "mark_voltage", (number, number + 1))
        y = plan.column("marks", f"mark_{what}", (number, number + 1))
        # one inside the other, so that marks at the same place are all seen
        series.append(Series(f"PWM at absorption, {label}", x, y, "none", MARKERS[key], marker_size=13 - 4 * number, fill=FILLS[number]))
    description = (
        f"The {words} of the array at standard test conditions, on the hottest afternoon and in the coldest sun. Two dotted "
        "upright lines bound the voltages at which the battery holds the array under a PWM controller; marks show the "
        "operating points at absorption."
    )
    return Chart(row, column, title, "Array voltage (V)", y_title, description, tuple(series))


def _usable(plan: Plan, row: int) -> Chart:
    series = []
    for number, (key, label, _, _) in enumerate(CONDITIONS):
        rows = (number * len(LEVELS), (number + 1) * len(LEVELS))
        x, y = plan.column("usable", "usable_voltage", rows), plan.column("usable", "usable_power", rows)
        series.append(Series(label, x, y, DASHES[key][0], MARKERS[key]))
    return Chart(
        row,
        0,
        "Usable power over battery voltage, PWM",
        "Battery voltage (V)",
        "Power into the battery (W)",
        "Power that a PWM controller passes into the battery, from load disconnect to the highest charge voltage, under four conditions.",
        tuple(series),
        from_zero=False,
    )


def add_year(plan: Plan, sheet: Sheet, top: int) -> None:
    """Place the chart of the months: what is available, and what the loads ask."""
    month = plan.number_column("balance", "month")
    lines = (("available to the loads", "available", "solid", "circle"), ("asked by the loads", "asked", "long_dash", "square"))
    series = tuple(Series(label, month, plan.column("balance", name), dash, marker) for label, name, dash, marker in lines)
    sheet.charts.append(
        Chart(
            top,
            0,
            "Energy a day, month by month",
            "Month",
            "Energy (Wh/d)",
            "Energy that the array makes available to the loads in each month, and what the loads ask.",
            series,
            from_zero=False,
        )
    )
