"""What limits an arrangement: the very checks of the design at other numbers, and the first of them that fails or notes."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.first_check import NONE, FirstCheck
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.values import Value
from workbook_builder.language.variations import Axis, Variation
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE
from workbook_builder.system.array.arrangements import (
    BY_BOTH,
    BY_PARALLEL,
    BY_SERIES,
    PARALLEL,
    RULE,
    SERIES,
    checks_at,
    first_column,
)

chapter = Part("arrangements", continues=True)

by_series = chapter.grid(
    Grid(
        "by_series",
        "What limits the modules in series",
        "The first check of voltage that fails, the first that is not judged, and the first that has a note.",
        RULE,
        tuple(
            Row(
                f"s{n}",
                f"{n} in series",
                checks_at(f"by_series_s{n}", BY_SERIES)
                | {"voltage_found": "check_voltage_found", "duty_voltage": f"by_series_s{n}_duty_voltage"},
                {"number": float(n)},
                start=n == SERIES[0],
            )
            for n in SERIES
        ),
        "Arrangements",
        single=True,
        numbers={"number": ("modules in series", "")},
    )
)
first_column(
    by_series,
    "rating",
    FirstCheck(
        FAIL,
        {
            "cold_voltage": "controller voltage",
            "module_voltage": "module voltage",
            "code_voltage": "code voltage",
            "devices_voltage": "device voltage",
        },
    ),
    "rating that the voltage breaks",
)


@by_series.column(
    kind="text",
    words="what fails whatever the number of modules",
    named=True,
    formula='IF(setting_fault<>"nothing",setting_fault,IF(setting_fault_late<>"nothing",setting_fault_late,battery_fault_1))',
)
def blocked(setting_fault: Value, setting_fault_late: Value, battery_fault_1: Value) -> Value:
    late = np.where(setting_fault_late != NONE, setting_fault_late, battery_fault_1)
    return np.where(setting_fault != NONE, setting_fault, late)


@by_series.column(
    kind="text",
    symbol="fails by",
    words="first check that fails, whatever the strings in parallel",
    named=True,
    formula='IF(rating<>"nothing",rating,IF(blocked<>"nothing",blocked,IF(can_charge="FAIL","cannot charge",'
    'IF(duty_voltage="refused","code duty","nothing"))))',
)
def fault(rating: Value, blocked: Value, can_charge: Value, duty_voltage: Value) -> Value:
    refused = np.where(duty_voltage == "refused", "code duty", NONE)
    late = np.where(blocked != NONE, blocked, np.where(can_charge == FAIL, "cannot charge", refused))
    return np.where(rating != NONE, rating, late)


first_column(
    by_series,
    "open",
    FirstCheck(NOT_JUDGED, {"voltage_found": "automatic setting", "devices_voltage": "device voltage"}, before="setting_open"),
    "first safety check that is not judged",
    "not judged",
    named=True,
)
first_column(
    by_series, "tight", FirstCheck(NOTE, {"voltage_margin": "voltage margin"}), "whether the margin below the controller's limit has a note"
)
first_column(
    by_series,
    "weakness",
    FirstCheck(
        NOTE,
        {"vmp_window": "PWM window", "hot_afternoon": "hot afternoon", "cold_charge": "cold charge", "mppt_window": "MPPT window"},
        before="tight",
    ),
    "first check that has a note",
    "weak by",
    named=True,
)


@by_series.column(
    symbol="most",
    words="most modules so far that fail no check",
    named=True,
    formula='IF(fault="nothing",number,previous_most)',
)
def most(fault: Value, number: Value, previous_most: Value) -> Value:
    return np.where(fault == NONE, number, previous_most)


@by_series.start(formula='IF(fault="nothing",number,0)')
def most_start(fault: Value, number: Value) -> Value:
    return np.where(fault == NONE, number, 0 * number)


def _at(n: int) -> dict[str, str]:
    """Return what the names of a row of the list stand for at that number of strings."""
    key = f"by_parallel_p{n}"
    return checks_at(key, BY_PARALLEL) | {name: f"{key}_{name}" for name in ("string_back_over", "duty_current")}


by_parallel = chapter.grid(
    Grid(
        "by_parallel",
        "What limits the strings in parallel",
        "The first check of current that fails, the first that is not judged, and the first that has a note.",
        RULE,
        tuple(Row(f"p{n}", f"{n} in parallel", _at(n)) for n in PARALLEL),
        "Arrangements",
        single=True,
    )
)


@by_parallel.column(
    kind="text",
    words="string fuses that fail or cannot be judged without the module's maximum series fuse, the array's device, or a refused duty",
    optional=("string_fuse", "string_back_over", "array_protection"),
    formula='IF(OR(string_fuse="FAIL",string_fuse="INCOMPLETE",AND(string_fuse="NOT JUDGED",string_back_over="")),"string fuse",'
    'IF(array_protection="FAIL","array device",IF(duty_current="refused","code duty","nothing")))',
)
def late_current_fault(string_fuse: Value, string_back_over: Value, array_protection: Value, duty_current: Value) -> Value:
    unknown = (string_fuse == NOT_JUDGED) & np.isnan(string_back_over)
    refused = np.where(array_protection == FAIL, "array device", np.where(duty_current == "refused", "code duty", NONE))
    return np.where((string_fuse == FAIL) | (string_fuse == INCOMPLETE) | unknown, "string fuse", refused)


first_column(
    by_parallel,
    "current_fault",
    FirstCheck(
        FAIL,
        {"array_current": "rated current", "short_circuit": "short-circuit limit", "input_protection": "input protection"},
        after="late_current_fault",
    ),
    "first check that fails; string fuses that cannot be judged are not taken for granted",
    "fails by",
    named=True,
)
first_column(
    by_parallel,
    "current_open",
    FirstCheck(
        NOT_JUDGED,
        {"short_circuit": "short-circuit limit", "input_protection": "input protection", "string_fuse": "string fuse"},
    ),
    "first safety check that is not judged",
    "not judged",
    named=True,
)
first_column(
    by_parallel,
    "current_weakness",
    FirstCheck(NOTE, {"array_current": "margin on current"}),
    "first check that has a note",
    "weak by",
    named=True,
)


chapter.variation(
    Variation(
        "arrangements",
        "The checks at other numbers of modules",
        "The very checks of the sheet Verdicts, and what they rest on, with these numbers in place of the design's.",
        (
            Axis("array_series", "by_series", "s", "{} in series", tuple(float(n) for n in SERIES)),
            Axis("array_parallel", "by_parallel", "p", "{} in parallel", tuple(float(n) for n in PARALLEL)),
        ),
        (
            *(f"check_{name}" for name in (*BY_SERIES, *BY_PARALLEL, *BY_BOTH)),
            "duty_voltage",
            "duty_current",
            "pwm_p_absorb_hot",
            "mppt_p_hot",
        ),
        "Arrangements",
        "Curve",
        # cables are chosen for the arrangement: until then their allowed drops stand for them
        {
            "charge_v_fixed": "list_v_needed",
            "charge_v_fixed_cold": "list_v_needed_cold",
            "levels_absorb_v_array": "list_v_absorb",
            "loop_r": "curve_r",
        },
    )
)
