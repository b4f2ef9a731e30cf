"""Enclosure and site: heat and the derated current, hydrogen, water and dust, the load output, and what only a person confirms."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import evaluate
from tests.compared import wrong_in
from tests.engines import engine
from tests.strategies import PROFILES, plausible
from tests.support import evaluation, example, example_inputs, model, write_stale
from workbook_builder.system.place.confirmations import QUESTIONS

SETTINGS = settings(derandomize=True, deadline=None, database=None, max_examples=15)
DRAWN = 120
CHECKS = (
    "enclosure_current",
    "enclosure_ip",
    "altitude",
    "load_output",
    "devices_voltage",
    "switching",
    "ventilation",
    "spark_distance",
    "confirmed_safety",
    "confirmed",
    "management",
)
CONFIRM = [f"confirm_{key}" for key, _, _ in QUESTIONS]
GOOD_WORK = {"confirm_reconnect", "confirm_mesh"}
SAFETY = set(CONFIRM) - GOOD_WORK
NAMED = ("confirm_by", "confirm_date")
CURVE = ("controller_t_full", "controller_derating", "controller_t_highest")
OPTIONAL = (
    *CONFIRM,
    *NAMED,
    *CURVE,
    "enclosure_place",
    "enclosure_rise",
    "enclosure_ip",
    "site_altitude",
    "controller_switching",
    "controller_load_output",
    "controller_i_load",
    "controller_i_own",
    "devices_v_min",
    "battery_place",
    "battery_spark_distance",
    "enclosure_shared",
    "confirm_management",
    "ventilation_opening",
)
JUNK = dict.fromkeys(set(OPTIONAL) - set(NAMED), "no such thing")


def without(*names: str, **changes: Any) -> dict[str, Any]:
    return example(**dict.fromkeys(names) | changes)


DESIGNS = {
    "as the example": example(),
    "all of it blank": without(*OPTIONAL),
    "everything lacking": example(
        enclosure_place="closed box in the sun",
        site_t_max=42,
        enclosure_ip=62,
        site_altitude=3200,
        controller_i_load=3,
        devices_v_min=40,
        controller_switching="shunt",
        ventilation_opening=120,
        confirm_earthing="no",
        confirm_mesh="no",
    ),
    "half of it known": without(
        "controller_derating",
        "controller_i_load",
        "ventilation_opening",
        "confirm_isolators",
        "confirm_surge",
        site_t_max=45,
        enclosure_ip=44,
        controller_load_output="all loads",
    ),
    "sparks too near": example(battery_spark_distance=1500),
    "a battery in a box with the controller": example(battery_place="box or cabinet", enclosure_shared="yes"),
    "LiFePO4 within its limits": example(battery_chemistry="LiFePO4", controller_tempcomp="no"),
    "LiFePO4 beyond its limits": example(battery_chemistry="LiFePO4", controller_tempcomp="no", confirm_management="no"),
    "LiFePO4, limits not known": without("confirm_management", battery_chemistry="LiFePO4", controller_tempcomp="no"),
    "mesh missing": example(confirm_mesh="no"),
    "an inverter on the load output": example(controller_load_output="all loads", controller_i_load=100),
    "nobody's name": without("confirm_by"),
    "junk everywhere": example(**JUNK),
    "a row of loads unfinished, warm without a curve": without(*CURVE, "load1_hours", site_t_max=38),
    "not warm without a curve, nothing on the output": without(*CURVE, controller_load_output="no", battery_place="open air"),
    "too hot to work at all": example(site_t_max=46, controller_t_full=20, controller_t_highest=46, enclosure_rise=6),
    "an MPPT controller that limits itself": example(controller_type="MPPT", site_t_max=55, battery_chemistry="LiFePO4"),
    "below the code's factor only": example(controller_i_max=30),
    "hotter than a curve without slope, and too small anyway": without("controller_derating", site_t_max=45, controller_i_max=25),
    "no capacity": without("battery_capacity", "array_series"),
    "no lowest temperature, no controller": without("site_t_min", "controller_type"),
}
CODES = ("nec-2023", "iec-62548")


@pytest.fixture(scope="module")
def workbooks(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("enclosure")
    return {profile: write_stale(folder / f"{profile}.xlsx", profile) for profile in CODES}


@pytest.mark.parametrize("profile", CODES)
@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
def test_every_cell_agrees_where_these_checks_give_every_outcome(name: str, profile: str, workbooks: dict[str, Path]) -> None:
    chosen = engine(name)
    tried = dict(list(DESIGNS.items())[:: 1 if name == "libreoffice" else 4])
    with chosen.open(workbooks[profile]) as book:
        assert not wrong_in(chosen, book, tried, profile)


@pytest.mark.parametrize("profile", CODES)
def test_those_designs_reach_every_outcome(profile: str) -> None:
    values = [evaluation(profile).all_values(inputs) for inputs in DESIGNS.values()]
    for check in model(profile).checks:
        if check.name.removeprefix("check_") in CHECKS:
            assert {one[check.name] for one in values} == {*check.sentences, "INCOMPLETE"}, check.name


@pytest.mark.parametrize("profile", PROFILES)
def test_the_example_passes_and_what_is_left_blank_is_said_to_be_not_judged(profile: str) -> None:
    whole = evaluate(example(), profile)
    assert {name: whole[f"check_{name}"] for name in CHECKS} == dict.fromkeys(CHECKS, "PASS") | {"management": "N/A"}
    blank = evaluate(without(*OPTIONAL), profile)
    unjudged = dict.fromkeys(CHECKS, "NOT JUDGED") | {"management": "N/A"}
    assert {name: blank[f"check_{name}"] for name in CHECKS} == unjudged


# ---- heat


@pytest.mark.parametrize(("site", "rise", "amps"), [(30, 5, 40), (35, 10, 40), (40, 10, 35), (45, 20, 20), (60, 25, 0), (60, 60, 0)])
def test_the_derated_current_is_the_straight_line_drawn_by_hand(site: float, rise: float, amps: float) -> None:
    """40 A up to 45 °C, 2.5 % less for each degree above: 35 A at 50 °C, 20 A at 65 °C, nothing from 85 °C."""
    values = evaluate(example(site_t_max=site, enclosure_rise=rise))
    assert values["enclosure_t_max"] == site + rise
    assert values["controller_i_derated"] == pytest.approx(amps, abs=1e-9)


@pytest.mark.parametrize("place", ["open wall in the shade", "ventilated room", "closed box in the shade", "closed box in the sun", None])
def test_an_unknown_place_is_as_hot_as_the_hottest(place: str | None) -> None:
    usual = {"open wall in the shade": 0, "ventilated room": 5, "closed box in the shade": 10}
    assert evaluate(example(enclosure_place=place))["enclosure_rise"] == usual.get(str(place), 20)


@pytest.mark.parametrize("profile", CODES)
def test_a_hotter_box_never_raises_the_current_nor_betters_the_verdict(profile: str) -> None:
    drawn = plausible(profile, 55, DRAWN)
    cool = evaluate(drawn, profile)
    hot = evaluate({**drawn, "enclosure_rise": np.minimum(60, cool["enclosure_rise"] + 7)}, profile)
    known = ~np.isnan(cool["controller_i_derated"]) & ~np.isnan(hot["controller_i_derated"])
    assert known.sum() > 20
    assert (hot["controller_i_derated"][known] <= cool["controller_i_derated"][known]).all()
    assert (cool["controller_i_derated"][known] <= np.broadcast_to(cool["controller_i_max"], DRAWN)[known]).all()
    rank = {"FAIL": 0, "NOT JUDGED": 1, "NOTE": 2, "PASS": 3, "INCOMPLETE": 4}
    before, after = ([rank[str(one)] for one in values["check_enclosure_current"]] for values in (cool, hot))
    assert not (np.array(after) > np.array(before)).any()
    assert (np.array(after) < np.array(before)).any()


@SETTINGS
@given(rated=st.floats(20, 60), site=st.floats(10, 55), parallel=st.integers(1, 5))
def test_a_pass_means_that_the_line_carries_the_array(rated: float, site: float, parallel: int) -> None:
    values = evaluate(example(controller_i_max=rated, site_t_max=site, array_parallel=parallel))
    left = rated * max(0.0, 1 - 0.025 * max(0.0, site + 5 - 45))
    if values["check_enclosure_current"] == "PASS":
        assert 1.25 * 9.2 * parallel <= left + 1e-6
        assert site + 5 <= 60 + 1e-6
    elif values["check_enclosure_current"] == "NOTE":  # nothing is derated, and the check of the array current says the same
        assert left == rated
        assert values["check_array_current"] == "NOTE"


def test_without_the_makers_curve_nothing_is_judged_but_too_hot_fails() -> None:
    for site in (10, 34, 35, 35.1, 50):
        assert evaluate(without(*CURVE, site_t_max=site))["check_enclosure_current"] == "NOT JUDGED"
    for site, outcome in ((40, "NOT JUDGED"), (55, "NOT JUDGED"), (55.1, "FAIL")):
        values = evaluate(without("controller_t_full", "controller_derating", site_t_max=site, controller_t_highest=60))
        assert values["check_enclosure_current"] == outcome


def test_half_a_curve_is_never_a_pass_where_it_matters() -> None:
    assert evaluate(without("controller_derating", site_t_max=40))["check_enclosure_current"] == "PASS"  # not derated at 45 °C
    assert evaluate(without("controller_derating", site_t_max=40.1))["check_enclosure_current"] == "NOT JUDGED"
    assert evaluate(without("controller_t_full", site_t_max=30))["check_enclosure_current"] == "NOT JUDGED"
    assert evaluate(without("controller_t_highest", site_t_max=30))["check_enclosure_current"] == "NOT JUDGED"


# ---- hydrogen


@pytest.mark.parametrize("profile", CODES)
def test_a_larger_bank_never_needs_less_and_a_larger_opening_never_fails_anew(profile: str) -> None:
    drawn = plausible(profile, 56, DRAWN)
    before = evaluate(drawn, profile)
    larger = evaluate({**drawn, "battery_parallel": np.minimum(20, drawn["battery_parallel"] + 1)}, profile)
    known = ~np.isnan(before["ventilation_area"])
    assert known.sum() > 40
    for name in ("ventilation_air", "ventilation_area", "ventilation_area_up", "ventilation_distance"):
        assert (larger[name][known] >= before[name][known] * (1 - 1e-12)).all(), name
    wider = evaluate({**drawn, "ventilation_opening": np.minimum(100_000, drawn["ventilation_opening"] * 3)}, profile)
    passed = before["check_ventilation"] == "PASS"
    assert passed.any()
    assert (wider["check_ventilation"][passed] == "PASS").all()
    assert ((before["check_ventilation"] == "FAIL") & (wider["check_ventilation"] == "PASS")).any()


def test_the_opening_that_is_advised_passes_and_one_square_centimetre_less_does_not() -> None:
    for capacity in (7, 100, 270, 1001):
        advised = evaluate(example(battery_capacity=capacity))["ventilation_area_up"]
        for opening, outcome in ((advised, "PASS"), (advised - 1, "FAIL")):
            values = evaluate(example(battery_capacity=capacity, ventilation_opening=opening))
            assert values["check_ventilation"] == outcome


def test_a_missing_opening_or_place_is_asked_for_and_one_too_small_names_the_area_that_is_enough() -> None:
    """30 V on 12 cells are 0.1 V above 2.40: 20 mA/Ah · e^1.1 = 60.08; 28 · 0.05 · 12 · 60.08 · 540 / 1000 = 545.1 cm²."""
    for lacking in ("ventilation_opening", "battery_place"):
        values = evaluation().all_values(without(lacking))
        assert values["check_ventilation"] == "NOT JUDGED"
        assert next(one.label for one in model().inputs if one.name == lacking) in values["meaning_check_ventilation"]
        assert values["verdict"] == "INCOMPLETE"
    assert "546 cm²" in evaluation().all_values(example(ventilation_opening=545))["meaning_check_ventilation"]


@pytest.mark.parametrize(
    ("chemistry", "high", "cells", "amps", "milliamperes"),
    [
        ("flooded", 28.8, 2.40, 40, 20.0),
        ("flooded", 28.0, 2.333, 40, 20.0),
        ("flooded", 30.0, 2.50, 40, 20 * 3.0041660),  # e to the power of 1.1
        ("flooded", 32.0, 2.667, 40, 1000 * 40 / 540),  # no more gas than the controller's current
        ("flooded", 32.0, 2.667, 5, 20.0),  # and never less than the table says
        ("AGM", 30.0, 2.50, 40, 8 * 3.0041660),
    ],
)
def test_gas_grows_with_equalization_between_the_table_and_the_whole_charge_current(
    chemistry: str, high: float, cells: float, amps: float, milliamperes: float
) -> None:
    changes = {"battery_v_float": 27, "battery_v_absorb": 28, "battery_v_high": high, "controller_i_max": amps}
    values = evaluate(example(battery_chemistry=chemistry, **changes))
    assert values["gas_v_cell"] == pytest.approx(cells, abs=5e-4)
    assert values["gas_current"] == pytest.approx(milliamperes, rel=1e-6)


@SETTINGS
@given(high=st.floats(28.8, 32), more=st.floats(0, 2), opening=st.floats(50, 1500), distance=st.floats(100, 4000))
def test_a_higher_charge_voltage_never_needs_less_air_nor_less_distance(high: float, more: float, opening: float, distance: float) -> None:
    rank = {"FAIL": 0, "PASS": 1}
    common = {"ventilation_opening": opening, "battery_spark_distance": distance}
    lower, higher = (evaluate(example(battery_v_high=volts, **common)) for volts in (high, min(32, high + more)))
    for name in ("ventilation_area", "ventilation_distance"):
        assert higher[name] >= lower[name] * (1 - 1e-12)
    for check in ("check_ventilation", "check_spark_distance"):
        assert rank[str(higher[check])] <= rank[str(lower[check])]


@pytest.mark.parametrize("place", ["room", "box or cabinet", "open air", None])
@pytest.mark.parametrize("shared", ["yes", "no", "not known", None])
@pytest.mark.parametrize("distance", [100, 1669, 1670, None])
def test_sparks_pass_only_where_they_are_known_to_be_far_and_outside_the_box(
    place: str | None, shared: str | None, distance: int | None
) -> None:
    """1669.1 mm: 28.8 times the cube root of 6 cells · 60.08 mA/Ah · 540 Ah."""
    values = evaluate(example(battery_place=place, enclosure_shared=shared, battery_spark_distance=distance))
    boxed = place in ("box or cabinet", None)
    if shared == "yes" or distance in (100, 1669):
        expected = "FAIL"
    else:
        expected = "PASS" if distance is not None and (not boxed or shared == "no") else "NOT JUDGED"
    assert values["check_spark_distance"] == expected
    lithium = example(battery_chemistry="LiFePO4", controller_tempcomp="no", battery_place=place, enclosure_shared=shared)
    assert evaluate(lithium)["check_spark_distance"] == "N/A"


# ---- water and dust, altitude, devices, load output


@pytest.mark.parametrize(
    ("place", "digits", "outcome"),
    [
        ("closed box in the shade", 54, "PASS"),
        ("closed box in the shade", 65, "PASS"),
        ("closed box in the sun", 45, "NOTE"),
        ("closed box in the sun", 62, "NOTE"),
        ("ventilated room", 20, "PASS"),
        ("ventilated room", 19, "NOTE"),
        ("ventilated room", 0, "NOTE"),
        (None, 54, "PASS"),
        (None, 53, "NOTE"),
        ("open wall in the shade", 44, "NOTE"),
    ],
)
def test_each_digit_of_ip_is_judged_by_itself(place: str | None, digits: int, outcome: str) -> None:
    assert evaluate(example(enclosure_place=place, enclosure_ip=digits))["check_enclosure_ip"] == outcome


def test_two_thousand_metres_are_usual_and_more_is_noted() -> None:
    for metres, outcome in ((-400, "PASS"), (2000, "PASS"), (2001, "NOTE"), (5000, "NOTE")):
        assert evaluate(example(site_altitude=metres))["check_altitude"] == outcome


@pytest.mark.parametrize("profile", PROFILES)
def test_devices_must_stand_the_cold_voltage(profile: str) -> None:
    cold = evaluate(example(), profile)["array_voc_cold"]
    for volts, outcome in ((cold - 0.01, "FAIL"), (cold, "PASS"), (cold + 1, "PASS")):
        assert evaluate(example(devices_v_min=volts), profile)["check_devices_voltage"] == outcome


def test_the_load_output_carries_what_hangs_on_it() -> None:
    """DC: 72 W of lamps and 45 W of refrigerator, 117 W; all loads with 230 W of AC through 90 % and 6 W idle: 378.6 W; at 22.8 V."""
    for hung, watts in (("DC loads", 117), ("all loads", 117 + 230 / 0.9 + 6)):
        amps = watts / 22.8
        for rated, outcome in ((amps - 0.01, "FAIL"), (amps + 0.01, "PASS" if hung == "DC loads" else "NOTE"), (None, "NOT JUDGED")):
            values = evaluate(example(controller_load_output=hung, controller_i_load=rated))
            assert values["load_output_i"] == pytest.approx(amps, rel=1e-12)
            assert values["check_load_output"] == outcome
    assert evaluate(example())["controller_ah_own"] == pytest.approx(0.36)


# ---- confirmations


@pytest.mark.parametrize("name", CONFIRM)
@pytest.mark.parametrize("answer", ["no", "not known", None, "maybe"])
def test_only_a_yes_confirms(name: str, answer: str | None) -> None:
    values = evaluate(example(**{name: answer}))
    own, other = ("confirmed_safety", "confirmed") if name in SAFETY else ("confirmed", "confirmed_safety")
    expected = {"no": "FAIL" if name in SAFETY else "NOTE", "maybe": "INCOMPLETE"}.get(str(answer), "NOT JUDGED")
    assert values[f"check_{own}"] == expected
    assert values[f"check_{other}"] == ("INCOMPLETE" if answer == "maybe" else "PASS")


def test_each_question_without_an_answer_is_asked_for_by_name() -> None:
    values = evaluation().all_values(without(*CONFIRM, confirm_mesh="yes", confirm_surge="not known"))
    labels = {entry.name: entry.label for entry in model().inputs}
    for check, asked in (("check_confirmed_safety", SAFETY), ("check_confirmed", [name for name in CONFIRM if name not in SAFETY])):
        assert values[check] == "NOT JUDGED"
        assert [name for name in asked if labels[name] in values[f"meaning_{check}"]] == [name for name in asked if name != "confirm_mesh"]


@pytest.mark.parametrize("name", NAMED)
def test_a_list_of_yes_without_a_name_and_a_date_is_not_judged(name: str) -> None:
    values = evaluation().all_values(without(name))
    label = next(one.label for one in model().inputs if one.name == name)
    for check in ("check_confirmed_safety", "check_confirmed"):
        assert values[check] == "NOT JUDGED"
        assert values[f"meaning_{check}"].endswith(f"Enter: {label}.")
    assert values["verdict"] == "INCOMPLETE"
    assert evaluate(without(name, confirm_earthing="no"))["check_confirmed_safety"] == "FAIL"


@SETTINGS
@given(answers=st.lists(st.sampled_from(("yes", "no", "not known", None)), min_size=len(CONFIRM), max_size=len(CONFIRM)))
def test_the_list_is_judged_as_counted_by_hand(answers: list[str | None]) -> None:
    given_answers = dict(zip(CONFIRM, answers, strict=True))
    values = evaluate(example(**given_answers))
    for check, names, refused in (("confirmed_safety", SAFETY, "FAIL"), ("confirmed", GOOD_WORK, "NOTE")):
        found = {given_answers[name] for name in names}
        assert values[f"check_{check}"] == (refused if "no" in found else "PASS" if found == {"yes"} else "NOT JUDGED")


@pytest.mark.parametrize(("answer", "outcome"), [("yes", "PASS"), ("no", "FAIL"), ("not known", "NOT JUDGED"), (None, "NOT JUDGED")])
def test_limits_of_the_battery_management_are_asked_of_lithium_only(answer: str | None, outcome: str) -> None:
    assert (
        evaluate(example(battery_chemistry="LiFePO4", controller_tempcomp="no", confirm_management=answer))["check_management"] == outcome
    )
    assert evaluate(example(confirm_management=answer))["check_management"] == "N/A"


def test_what_is_blank_never_passes() -> None:
    """Each of these entries alone left blank makes no check better than it was, and its own check is no PASS."""
    own = {
        "enclosure_ip": "enclosure_ip",
        "site_altitude": "altitude",
        "devices_v_min": "devices_voltage",
        "controller_i_load": "load_output",
        "controller_switching": "switching",
        "ventilation_opening": "ventilation",
        "battery_spark_distance": "spark_distance",
        "battery_place": "ventilation",
    }
    assert set(own) <= set(example_inputs())
    for name, check in own.items():
        assert evaluate(without(name))[f"check_{check}"] in {"N/A", "NOT JUDGED"}, name
