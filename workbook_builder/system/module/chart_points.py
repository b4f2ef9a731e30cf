"""Points of the charts: the curves swept along the diode's voltage, the battery's band, and the operating points.

Swept that way the curve needs no search: each diode voltage gives its current directly. These cells feed charts only
and show 0 while they are not known.
"""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.values import Value
from workbook_builder.system.controller.power import LEVELS
from workbook_builder.system.module.curve import CONDITIONS
from workbook_builder.system.module.curve_steps import given_condition

chapter = Part(
    "points",
    "Points of the charts",
    "Swept along the diode's voltage the curve needs no search. These cells only feed the charts; they show 0 until the curve is known.",
    sheet="Curve",
)

SWEPT = (("stc", "standard test conditions"), ("hot", "hottest afternoon"), ("cold", "full sun, battery coldest"))
# closer together where the curve bends
SHARES = (0, 0.3, 0.5, 0.6, 0.66, 0.71, 0.75, 0.79, 0.82, 0.85, 0.88, 0.91, 0.93, 0.95, 0.97, 0.985, 1)


def _swept(condition: str, words: str) -> Grid:
    grid = Grid(
        f"points_{condition}",
        f"Curve of the array, {words}",
        "From short circuit to open circuit.",
        cite("de-soto", "single-diode equation"),
        tuple(Row(f"n{number}", f"point {number}", given_condition(condition), {"share": share}) for number, share in enumerate(SHARES, 1)),
        "Curve",
        chart=True,
        numbers={"share": ("share of Voc'", "")},
    )

    @grid.column(symbol="w", unit="V", words="diode voltage of one module", formula="share*voc_top")
    def w(share: Value, voc_top: Value) -> Value:
        return share * voc_top

    @grid.column(
        symbol="rest", unit="A", words="what diode and shunt leave of the light current", formula="light-one_ampere*EXP(log_i0+w/a)-g*w"
    )
    def rest(light: Value, one_ampere: Value, log_i0: Value, w: Value, a: Value, g: Value) -> Value:
        return light - one_ampere * np.exp(log_i0 + w / a) - g * w

    @grid.column(
        symbol="i",
        unit="A",
        words="current of one module: next to nothing is nothing",
        formula="IF(rest<curve_small*one_ampere,0,MIN(isc,rest))",
    )
    def i(rest: Value, curve_small: Value, one_ampere: Value, isc: Value) -> Value:
        # programs differ in what they leave of two nearly equal numbers
        return np.where(rest < curve_small * one_ampere, 0 * isc, np.minimum(isc, rest))

    @grid.column(symbol="V", unit="V", words="array voltage", formula="MAX(0,w-i*curve_r)*array_series")
    def voltage(w: Value, i: Value, curve_r: Value, array_series: Value) -> Value:
        return np.maximum(0, w - i * curve_r) * array_series

    @grid.column(symbol="I", unit="A", words="array current", formula="i*array_parallel")
    def current(i: Value, array_parallel: Value) -> Value:
        return i * array_parallel

    @grid.column(symbol="P", unit="W", words="array power", formula="voltage*current")
    def power(voltage: Value, current: Value) -> Value:
        return voltage * current

    return grid


for _condition, _words in SWEPT:
    chapter.grid(_swept(_condition, _words))

band = chapter.grid(
    Grid(
        "band",
        "The battery's band of voltages, seen at the array",
        "From load disconnect to the highest charge voltage, each with the drops that do not depend on the current.",
        own_rule("where a PWM controller can hold the array"),
        tuple(
            Row(
                f"{edge}{height}",
                f"{words}, {'top' if height else 'foot'}",
                {"v_level": f"levels_{edge}_v_array"},
                {"height": float(height)},
            )
            for edge, words in (("low", "lower edge"), ("high", "upper edge"))
            for height in (0, 1)
        ),
        "Curve",
        chart=True,
        numbers={"height": ("share of the height", "")},
    )
)


@band.column(symbol="V", unit="V", words="array voltage", formula="v_level")
def voltage(v_level: Value) -> Value:
    return v_level


@band.column(symbol="I", unit="A", words="height in the chart of currents", formula="height*array_isc_max")
def current(height: Value, array_isc_max: Value) -> Value:
    return height * array_isc_max


@band.column(symbol="P", unit="W", words="height in the chart of powers", formula="height*array_pmp*code_current_factor")
def power(height: Value, array_pmp: Value, code_current_factor: Value) -> Value:
    return height * array_pmp * code_current_factor


marks = chapter.grid(
    Grid(
        "marks",
        "Operating points under PWM at absorption",
        "Where the array sits while the controller's switch is closed.",
        cite("circuit-laws"),
        tuple(
            Row(condition, words, {"v_level": f"operating_{condition}_absorb_array", "i_level": f"operating_{condition}_absorb_i"})
            for condition, words in SWEPT
        ),
        "Curve",
        chart=True,
    )
)


@marks.column(symbol="V", unit="V", words="array voltage", formula="v_level")
def mark_voltage(v_level: Value) -> Value:
    return v_level


@marks.column(symbol="I", unit="A", words="array current", formula="i_level")
def mark_current(i_level: Value) -> Value:
    return i_level


@marks.column(symbol="P", unit="W", words="array power", formula="mark_voltage*mark_current")
def mark_power(mark_voltage: Value, mark_current: Value) -> Value:
    return mark_voltage * mark_current


usable = chapter.grid(
    Grid(
        "usable",
        "Usable power over battery voltage",
        "The table of the sheet Power, for its chart.",
        cite("circuit-laws"),
        tuple(
            Row(f"{condition}_{level}", f"{words}: {level_words}", {"v_battery": name, "p_battery": f"operating_{condition}_{level}_p"})
            for condition, words, _, _ in CONDITIONS
            for level, level_words, name in LEVELS
        ),
        "Curve",
        chart=True,
    )
)


@usable.column(symbol="V,bat", unit="V", words="battery voltage", formula="v_battery")
def usable_voltage(v_battery: Value) -> Value:
    return v_battery


@usable.column(symbol="P", unit="W", words="power into the battery", formula="p_battery")
def usable_power(p_battery: Value) -> Value:
    return p_battery
