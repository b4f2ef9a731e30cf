"""How much of the rated current still flows at absorption under PWM: on the hottest afternoon, and to a cold battery."""

from typing import Any

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import NOT_APPLICABLE, NOTE, PASS
from workbook_builder.system.module.curve_steps import current_columns, given_condition, steps

chapter = Part("charging", continues=True)

CHARGES = own_rule(
    "a tenth less current in the hottest hour costs less than the losses that the year counts; at much less the knee of the curve is "
    "passed, and each further tenth of a volt costs several per cent"
)
chapter.constant("charge_share_least", 0.9, "", "Share of the rated current Imp that is to flow at absorption under PWM", "", CHARGES)


def _without_cables(symbol: str, rise: str, when: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": "V",
        "label": f"Array voltage at absorption {when}, before the drop of entered cables",
        "words": "Absorption voltage, its rise by compensation, the controller's drop, and the assumed drops of cables. The drop of "
        "entered cables follows the current.",
        "formula": f"battery_v_absorb+{rise}+controller_v_drop+cable_v_assumed",
        "source": cite("circuit-laws", "series voltages add"),
    }


@chapter.quantity(**_without_cables("V,chg,fix", "charge_v_rise", "on the hottest afternoon"))
def charge_v_fixed(battery_v_absorb: Value, charge_v_rise: Value, controller_v_drop: Value, cable_v_assumed: Value) -> Value:
    return battery_v_absorb + charge_v_rise + controller_v_drop + cable_v_assumed


@chapter.quantity(**_without_cables("V,chg,fix,cold", "charge_v_rise_cold", "while the battery is coldest"))
def charge_v_fixed_cold(battery_v_absorb: Value, charge_v_rise_cold: Value, controller_v_drop: Value, cable_v_assumed: Value) -> Value:
    return battery_v_absorb + charge_v_rise_cold + controller_v_drop + cable_v_assumed


@chapter.quantity(
    symbol="v,chg",
    unit="V",
    label="Module voltage at absorption on the hottest afternoon, before the drop of entered cables",
    words="Each module of a string takes its share.",
    formula="charge_v_fixed/array_series",
    source=cite("circuit-laws", "series voltages add"),
)
def charge_v_module(charge_v_fixed: Value, array_series: Value) -> Value:
    return charge_v_fixed / array_series


@chapter.quantity(
    symbol="v,chg,cold",
    unit="V",
    label="Module voltage at absorption while the battery is coldest, before the drop of entered cables",
    words="Each module of a string takes its share.",
    formula="charge_v_fixed_cold/array_series",
    source=cite("circuit-laws", "series voltages add"),
)
def charge_v_module_cold(charge_v_fixed_cold: Value, array_series: Value) -> Value:
    return charge_v_fixed_cold / array_series


charge_search = chapter.grid(
    Grid(
        "charge_search",
        "Current of one module at absorption, hot and cold",
        "Three rows each, at the charge voltage that compensation raises.",
        cite("de-soto", "single-diode equation"),
        (
            *steps("hot", "hottest afternoon", given_condition("hot") | {"v": "charge_v_module"}),
            *steps("cold", "full sun while the battery is coldest", given_condition("cold") | {"v": "charge_v_module_cold"}),
        ),
        "Curve",
    )
)
current_columns(charge_search)


def _share(symbol: str, key: str, when: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": "",
        "label": f"Share of the rated current that flows at absorption {when}",
        "words": "Current of one module on the curve at the charge voltage, as a share of its rated current Imp.",
        "formula": f"charge_search_{key}_i/module_imp",
        "source": cite("de-soto", "single-diode equation"),
    }


@chapter.quantity(**_share("I/Imp,hot", "hot", "on the hottest afternoon"))
def charge_share_hot(charge_search_hot_i: Value, module_imp: Value) -> Value:
    return charge_search_hot_i / module_imp


@chapter.quantity(**_share("I/Imp,cold", "cold", "while the battery is coldest"))
def charge_share_cold(charge_search_cold_i: Value, module_imp: Value) -> Value:
    return charge_search_cold_i / module_imp


chapter.limit(
    name="hot_afternoon",
    match=True,
    label="Charges fully on the hottest afternoon",
    words="Share of the rated current Imp that still flows at the absorption voltage with the hottest cells, not below "
    "{charge_share_least:%}.",
    value="charge_share_hot",
    at_least="charge_share_least",
    unless=(("controller_type", "MPPT"),),
    source=CHARGES,
    sentences={
        PASS: "On the hottest afternoon the array still lifts the battery to absorption with nearly all of its current.",
        NOTE: "On the hottest afternoon less than {charge_share_least:%} of the rated current flows at absorption: the array's voltage is "
        "too low for it. The battery may never be full in the hot season. More cells in series, larger or shorter cables, or an MPPT "
        "controller would help.",
        NOT_APPLICABLE: "An MPPT controller converts the voltage; its own window is what counts.",
    },
)


chapter.limit(
    name="cold_charge",
    match=True,
    label="Charges fully while the battery is cold",
    words="Share of the rated current Imp that flows in full sun at the compensated absorption voltage of the coldest battery, not "
    "below {charge_share_least:%}.",
    value="charge_share_cold",
    at_least="charge_share_least",
    unless=(("controller_type", "MPPT"),),
    source=own_rule("a cold battery wants more volts, and the cold array gives more: both are compared in one hour"),
    sentences={
        PASS: "The array reaches the raised charge voltage of a cold battery with nearly all of its current.",
        NOTE: "A cold battery wants a higher charge voltage than the sunlit array reaches with {charge_share_least:%} of its rated "
        "current: the battery is not filled in the cold season. More cells in series, less drop, or a warmer place for the battery would "
        "help.",
        NOT_APPLICABLE: "An MPPT controller converts the voltage; its own window is what counts.",
    },
)
