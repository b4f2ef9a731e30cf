"""Cables: ampacity and drop as calculated by hand, the smallest size as found by trial, unfinished runs, laws."""

from __future__ import annotations

from typing import Any

import pint
import pytest

from tests.answers import evaluate
from tests.support import evaluation, example
from workbook_builder.language.profiles import load_profile

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
CODES = {"nec-2023": ("12 AWG", "4 AWG", "90C", 75), "iec-60364-7-712": ("4 mm2", "25 mm2", "XLPE 90C", 70)}
RUNS = ("string", "array", "battery", "load", "inverter")
PLACED = ("string", "array", "load")
SIZES = {profile: next(t for t in load_profile(profile).tables if t.name == "conductors").column("size").values for profile in CODES}


def alone(profile: str, key: str = "array", **changes: Any) -> dict[str, Any]:
    """The example with one run entered and no other, easy on its conductor."""
    _, thick, insulation, terminals = CODES[profile]
    usual: dict[str, Any] = {"length": 8, "size": thick, "insulation": insulation, "ambient": 35, "grouped": 2}
    usual |= ({"place": "indoors"} if key in PLACED else {}) | changes
    return example(run_terminals_t=terminals) | {f"run_{key}_{name}": value for name, value in usual.items() if value is not None}


def one_run(profile: str, key: str = "array", **changes: Any) -> dict[str, Any]:
    """The example with one run entered, and the others so short and thick that they do not decide."""
    easy: dict[str, Any] = {}
    for other in RUNS:
        easy |= {} if other == key else alone(profile, other, length=0.2, size=SIZES[profile][-1])
    return easy | alone(profile, key, **changes)


def values_of(profile: str, inputs: dict[str, Any]) -> dict[str, Any]:
    return evaluation(profile).all_values(inputs)


def carried(profile: str, **changes: Any) -> float:
    return float(values_of(profile, one_run(profile, **changes))["runs_array_carries"])


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("size", [0, 3, 8])
def test_the_drop_is_current_times_resistance_out_and_back(profile: str, size: int) -> None:
    name = SIZES[profile][size]
    values = values_of(profile, one_run(profile, size=name, length=17.5))
    ohms = next(t for t in load_profile(profile).tables if t.name == "conductors").exact(name, "size", "ohm_km")
    warm, base, alpha = (75, 75, 0.00323) if profile == "nec-2023" else (70, 20, 0.00393)
    volts = (
        2
        * UNITS.Quantity(17.5, "m")
        * UNITS.Quantity(float(ohms) * (1 + alpha * (warm - base)), "ohm / km")
        * UNITS.Quantity(values["array_imp"], "A")
    )
    assert values["run_array_drop"] == pytest.approx(volts.to("V").magnitude, rel=1e-12)
    assert values["losses_array_percent"] == pytest.approx(volts.to("V").magnitude / 24 * 100, rel=1e-12)


def test_a_gauge_that_is_too_thin_for_the_table_scales_to_the_published_drop() -> None:
    """16 AWG, 4.99 ohms per thousand feet, 100 ft, 4 A, 24 V: 4.0 V, 16.7 %. The table begins at 14 AWG, 3.14 ohms."""
    feet = UNITS.Quantity(100, "foot").to("m").magnitude
    design = one_run("nec-2023", length=feet, size="14 AWG", insulation="75C")
    design |= {"module_imp": 4.0, "module_isc": 4.3, "array_parallel": 1}
    values = values_of("nec-2023", design | {"module_pmp": None})
    volts = values["run_array_drop"] * 4.99 / 3.14
    assert abs(volts - 4.0) <= 0.05
    assert abs(volts - 3.992) <= 0.001
    assert abs(volts / 24 * 100 - 16.63) <= 0.01


def test_ampacities_of_90_degrees_fall_as_the_residence_example_prints() -> None:
    """At 68 °C 40 and 55 A carry 23.2 and 31.9 A: in free air those are 12 and 10 AWG, in a raceway 10 and 8 AWG."""
    for size, printed in (("10 AWG", 23.2), ("8 AWG", 31.9)):
        values = values_of("nec-2023", one_run("nec-2023", size=size, ambient=68))
        assert values["runs_array_f_air"] == 0.58
        assert values["runs_array_by_insulation"] * values["runs_array_f_air"] == pytest.approx(printed, abs=0.05)
    values = values_of("nec-2023", one_run("nec-2023", size="10 AWG", ambient=45))
    assert values["runs_array_by_insulation"] * values["runs_array_f_air"] == pytest.approx(34.8, abs=1e-9)


@pytest.mark.parametrize("profile", CODES)
def test_hotter_air_never_raises_what_a_cable_carries_nor_do_neighbours(profile: str) -> None:
    insulations = next(t for t in load_profile(profile).tables if t.name == "insulations").column("name").values
    for insulation in insulations:
        warmer: tuple[float, ...] = (-20, 5, 10, 10.1, 29, 30, 31, 44, 45.2, 55, 58, 64, 71, 80)
        for name, steps in (("ambient", warmer), ("grouped", (1, 2, 3, 4, 6, 7, 9, 12, 14))):
            carries = [carried(profile, insulation=insulation, **{name: step}) for step in steps]
            known = [amps for amps in carries if amps == amps]  # noqa: PLR0124 - NaN where the table ends
            assert known == sorted(known, reverse=True), (insulation, name)
            assert len(set(known)) > 2
            # once the table has ended it does not begin again
            assert carries[: len(known)] == known


@pytest.mark.parametrize("profile", CODES)
def test_a_thicker_cable_never_carries_less_nor_drops_more(profile: str) -> None:
    found = [values_of(profile, one_run(profile, size=size)) for size in SIZES[profile]]
    carries, drops = ([values[name] for values in found] for name in ("runs_array_carries", "run_array_drop"))
    assert carries == sorted(carries)
    assert drops == sorted(drops, reverse=True)
    assert len(set(drops)) == len(drops)


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("key", RUNS)
def test_a_longer_cable_always_drops_more_and_is_never_judged_better(profile: str, key: str) -> None:
    found = [values_of(profile, one_run(profile, key, length=length)) for length in (0.2, 1, 5, 20, 60, 150)]
    drops = [values[f"run_{key}_drop"] for values in found]
    outcomes = [values["check_voltage_drop"] for values in found]
    assert drops == sorted(drops)
    assert len(set(drops)) == len(drops)
    assert outcomes == sorted(outcomes, key=("PASS", "NOTE").index)
    assert set(outcomes) == {"PASS", "NOTE"}


@pytest.mark.parametrize("profile", CODES)
def test_warmer_terminals_never_lower_what_a_cable_carries_nor_its_drop(profile: str) -> None:
    warm = (60, 75, 90) if profile == "nec-2023" else (70, 80, 90)
    found = [values_of(profile, one_run(profile) | {"run_terminals_t": t}) for t in warm]
    for name in ("runs_array_carries", "run_array_drop"):
        assert [values[name] for values in found] == sorted(values[name] for values in found)


@pytest.mark.parametrize("profile", CODES)
def test_a_cable_is_at_least_as_warm_as_the_air_around_it(profile: str) -> None:
    """The drop counts the resistance of the warm conductor; air of 80 °C leaves none at 60 or 70 °C."""
    cooler, hotter = CODES[profile][3], 80
    values = values_of(profile, one_run(profile, ambient=hotter) | {"run_terminals_t": cooler})
    as_warm = values_of(profile, one_run(profile, ambient=hotter) | {"run_terminals_t": hotter})
    assert values["run_array_drop"] >= as_warm["run_array_drop"]


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize(
    ("key", "changes"),
    [
        ("array", {}),
        ("array", {"length": 40}),
        ("array", {"ambient": 60, "grouped": 6}),
        ("battery", {"length": 1}),
        ("battery", {"length": 3, "ambient": 50}),
        ("load", {"length": 15}),
        ("load", {"length": 140}),
    ],
)
def test_the_smallest_conductor_is_the_first_that_passes_when_tried(profile: str, key: str, changes: dict[str, Any]) -> None:
    tried = [evaluate(one_run(profile, key, **changes | {"size": size}), profile) for size in SIZES[profile]]
    does = [
        size
        for size, values in zip(SIZES[profile], tried, strict=True)
        if values["check_conductors"] == values["check_voltage_drop"] == "PASS"
    ]
    assert {values[f"run_{key}_smallest"] for values in tried} == {does[0] if does else "none"}


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("key", RUNS)
def test_a_run_with_a_length_but_no_conductor_is_unfinished(profile: str, key: str) -> None:
    values = evaluate(one_run(profile, key, size=None), profile)
    assert values["runs_state"] == "unfinished"
    assert values["check_conductors"] == values["check_voltage_drop"] == "INCOMPLETE"
    assert values["verdict"] in ("INCOMPLETE", "FAIL")
    if key == "battery":
        assert values["check_battery_fuse"] in ("INCOMPLETE", "FAIL")


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize(
    ("field", "junk"),
    [("length", 151), ("length", "12 m"), ("size", "5 mm2"), ("insulation", "paper"), ("grouped", 0), ("ambient", 90)],
)
def test_a_run_with_a_refused_entry_is_not_passed(profile: str, field: str, junk: Any) -> None:
    values = evaluate(one_run(profile, **{field: junk}), profile)
    assert values["check_conductors"] == "INCOMPLETE"
    assert values["check_voltage_drop"] in ("INCOMPLETE", "PASS") if field in ("grouped", "ambient") else "INCOMPLETE"
    assert values["verdict"] in ("INCOMPLETE", "FAIL")


@pytest.mark.parametrize("profile", CODES)
def test_without_runs_the_cables_are_not_judged_and_the_match_is(profile: str) -> None:
    values = evaluate(example(), profile)
    assert values["check_conductors"] == values["check_voltage_drop"] == values["check_battery_fuse"] == "NOT JUDGED"
    assert (values["verdict_match"], values["verdict"]) == ("PASS", "INCOMPLETE")


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("key", RUNS)
def test_one_run_that_is_not_entered_leaves_the_cables_not_judged_and_a_thin_one_fails_alone(profile: str, key: str) -> None:
    thin = CODES[profile][0]
    others = one_run(profile, key, length=None, size=None)
    assert evaluate(others, profile)["check_conductors"] == evaluate(others, profile)["check_voltage_drop"] == "NOT JUDGED"
    assert evaluate(one_run(profile, key, length=0.2, size=SIZES[profile][-1]), profile)["check_conductors"] == "PASS"
    lonely = evaluate(alone(profile, key, length=0.5), profile)
    assert lonely["runs_entered"] == lonely["runs_known"] == 1
    assert lonely["check_conductors"] == "NOT JUDGED"
    if key != "string":
        direct = {f"load{row}_supply": "DC" for row in range(1, 13)} if key == "load" else {}
        failing = evaluate(alone(profile, key, size=thin, ambient=60, grouped=12) | direct, profile)
        assert failing["check_conductors"] == "FAIL"


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize(("key", "blank"), {"string": "roof in the sun", "array": "roof in the sun", "load": "indoors"}.items())
def test_a_hotter_place_never_carries_more_and_a_blank_is_one_of_the_places(profile: str, key: str, blank: str) -> None:
    """Outdoors the hottest of them; the run to the loads begins beside the battery."""
    places = ("indoors", "open air", "roof in the sun")
    found = [values_of(profile, alone(profile, key, ambient=30, place=place)) for place in (*places, None)]
    carries = [values[f"runs_{key}_carries"] for values in found]
    assert carries[:3] == sorted(carries[:3], reverse=True)
    airs = dict(zip(places, (30, 44, 63), strict=True))
    assert [values[f"runs_{key}_air"] for values in found] == [*airs.values(), airs[blank]]
    assert carries[3] == carries[places.index(blank)]
    assert values_of(profile, alone(profile, key, place="buried"))[f"runs_{key}_carries"] <= carries[0]


@pytest.mark.parametrize("profile", CODES)
def test_without_loads_nobody_is_asked_for_their_run(profile: str) -> None:
    rows = {f"load{row}_{field}": None for row in range(1, 13) for field in ("name", "w", "count", "hours", "days", "supply", "surge")}
    runs = {f"run_{key}_{what}": None for key in ("load", "inverter") for what in ("length", "size")}
    inputs = one_run(profile, "array") | rows | runs | {"inv_idle": None}
    values = evaluate({name: value for name, value in inputs.items() if value is not None}, profile)
    assert (values["runs_missing"], values["check_conductors"]) == (0, "PASS")


@pytest.mark.parametrize("profile", CODES)
def test_a_drop_of_nothing_allowed_is_never_passed_over(profile: str) -> None:
    """With 0 % allowed on a run that loses something the check must not rest on the other runs."""
    one = one_run(profile, length=100, drop_allowed=0)
    both = one | {name: value for name, value in one_run(profile, "battery", length=0.5).items() if name.startswith("run_battery")}
    assert evaluate(one, profile)["check_voltage_drop"] != "PASS"
    assert evaluate(both, profile)["check_voltage_drop"] != "PASS"


@pytest.mark.parametrize("profile", CODES)
def test_a_run_to_loads_that_are_not_entered_is_not_passed(profile: str) -> None:
    rows = {f"load{row}_{field}": None for row in range(1, 13) for field in ("w", "count", "hours", "days", "supply", "surge")}
    inputs = {name: value for name, value in (one_run(profile, "load") | rows | {"inv_idle": 0}).items() if value is not None}
    values = evaluate(inputs, profile)
    assert values["check_conductors"] == values["check_voltage_drop"] == "INCOMPLETE"


@pytest.mark.parametrize("profile", CODES)
def test_the_larger_of_two_tests_is_asked_for_and_not_their_product(profile: str) -> None:
    factor = 1.25 if profile == "nec-2023" else 1.0
    for ambient, f_air in ((30, 1.0), (45, 0.87), (60, 0.71)):
        values = values_of(profile, one_run(profile, ambient=ambient))
        assert values["run_array_ampacity"] == pytest.approx(values["array_isc_max"] * max(factor, 1 / f_air))


def test_a_continuous_current_is_raised_by_a_quarter_once() -> None:
    """32 A of a controller or an inverter, all day: 40 A, as published, and not 50 A."""
    values = values_of("nec-2023", one_run("nec-2023", "battery", ambient=30) | {"controller_i_max": 32, "controller_type": "MPPT"})
    assert values["battery_run_current"] == 40
    assert values["run_battery_ampacity"] == pytest.approx(40)
