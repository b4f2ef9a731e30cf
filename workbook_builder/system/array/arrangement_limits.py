"""What limits an arrangement: the very checks of the design at other numbers, and the first of them that fails or notes."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.values import Value
from workbook_builder.language.variations import Axis, Variation
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOTE
from workbook_builder.system.array.arrangements import BY_BOTH, BY_PARALLEL, BY_SERIES, NONE, PARALLEL, RULE, SERIES, checks_at, first_that

chapter = Part("arrangements", continues=True)

by_series = chapter.grid(
    Grid(
        "by_series",
        "What limits the modules in series",
        "The first check of voltage that fails, and the first that has a note.",
        RULE,
        tuple(
            Row(
                f"s{n}",
                f"{n} in series",
                checks_at(f"by_series_s{n}", BY_SERIES)
                | {
                    "voltage_class": "check_voltage_class",
                    "cold_block": "check_cold_block",
                    "duty_voltage": f"by_series_s{n}_duty_voltage",
                },
            )
            for n in SERIES
        ),
        "Arrangements",
        single=True,
    )
)


@by_series.column(
    kind="text",
    words="rating that the voltage breaks",
    formula='IF(cold_voltage="FAIL","controller voltage",IF(module_voltage="FAIL","module voltage",'
    'IF(code_voltage="FAIL","code voltage",IF(devices_voltage="FAIL","device voltage","nothing"))))',
)
def rating(cold_voltage: Value, module_voltage: Value, code_voltage: Value, devices_voltage: Value) -> Value:
    return first_that(
        FAIL,
        {
            "controller voltage": cold_voltage,
            "module voltage": module_voltage,
            "code voltage": code_voltage,
            "device voltage": devices_voltage,
        },
    )


@by_series.column(
    kind="text",
    words="what fails whatever the number of modules",
    formula='IF(voltage_class="FAIL","controller setting",IF(cold_block="FAIL","cold charging",battery_fault_1))',
)
def blocked(voltage_class: Value, cold_block: Value, battery_fault_1: Value) -> Value:
    first = first_that(FAIL, {"controller setting": voltage_class, "cold charging": cold_block})
    return np.where(first == NONE, battery_fault_1, first)


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


@by_series.column(
    kind="text",
    symbol="weak by",
    words="first check that has a note",
    named=True,
    formula='IF(vmp_window="NOTE","PWM window",IF(hot_afternoon="NOTE","hot afternoon",IF(cold_charge="NOTE","cold charge",'
    'IF(mppt_window="NOTE","MPPT window","nothing"))))',
)
def weakness(vmp_window: Value, hot_afternoon: Value, cold_charge: Value, mppt_window: Value) -> Value:
    return first_that(
        NOTE, {"PWM window": vmp_window, "hot afternoon": hot_afternoon, "cold charge": cold_charge, "MPPT window": mppt_window}
    )


by_parallel = chapter.grid(
    Grid(
        "by_parallel",
        "What limits the strings in parallel",
        "The first check of current that fails, and the first that has a note.",
        RULE,
        tuple(
            Row(
                f"p{n}",
                f"{n} in parallel",
                checks_at(f"by_parallel_p{n}", BY_PARALLEL) | {"duty_current": f"by_parallel_p{n}_duty_current"},
            )
            for n in PARALLEL
        ),
        "Arrangements",
        single=True,
    )
)


@by_parallel.column(
    kind="text",
    words="string fuses that fail or cannot be judged, or a refused duty",
    optional=("string_fuse",),
    formula='IF(OR(string_fuse="FAIL",string_fuse="INCOMPLETE"),"string fuse",IF(duty_current="refused","code duty","nothing"))',
)
def late_current_fault(string_fuse: Value, duty_current: Value) -> Value:
    refused = np.where(duty_current == "refused", "code duty", NONE)
    return np.where((string_fuse == FAIL) | (string_fuse == INCOMPLETE), "string fuse", refused)


@by_parallel.column(
    kind="text",
    symbol="fails by",
    words="first check that fails; string fuses that cannot be judged are not taken for granted",
    named=True,
    formula='IF(array_current="FAIL","rated current",IF(short_circuit="FAIL","short-circuit limit",'
    'IF(input_protection="FAIL","input protection",late_current_fault)))',
)
def current_fault(array_current: Value, short_circuit: Value, input_protection: Value, late_current_fault: Value) -> Value:
    early = {"rated current": array_current, "short-circuit limit": short_circuit, "input protection": input_protection}
    found = first_that(FAIL, early)
    return np.where(found != NONE, found, late_current_fault)


@by_parallel.column(
    kind="text",
    symbol="weak by",
    words="first check that has a note",
    named=True,
    formula='IF(array_current="NOTE","margin on current","nothing")',
)
def current_weakness(array_current: Value) -> Value:
    return first_that(NOTE, {"margin on current": array_current})


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
            "charge_v_needed": "list_v_needed",
            "charge_v_needed_cold": "list_v_needed_cold",
            "levels_absorb_v_array": "list_v_absorb",
            "loop_r": "curve_r",
        },
    )
)
