"""Duties of the code: each is asked where voltage, current and place say so, passes by a yes alone, and is never asked elsewhere."""

from __future__ import annotations

import csv
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import evaluate
from tests.strategies import PROFILES
from tests.support import evaluation, example, model
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.profile_rules import DUTY_KEYS

SETTINGS = settings(derandomize=True, deadline=None, database=None, max_examples=25)
NEC, IEC = ("nec-2020", "nec-2023"), ("iec-62548", "iec-60364-7-712")
FREE: dict[str, Any] = {
    "array_parallel": 1,
    "controller_type": "MPPT",
    "controller_v_max": 400,
    "devices_v_min": 500,
    "module_pmp": None,
    "module_beta_voc": -0.3,
    "site_t_min": 25,
    "voc_method": "coefficient",
}
"""A string whose cold voltage is that of the label, so that each threshold can be met to the volt."""

# key → voltage, current, and a design of its place; what the requirement says, not the tables of the profiles
ASKED: dict[str, tuple[tuple[str, ...], float | None, float | None, dict[str, Any]]] = {
    "arc_fault": (NEC, 80, None, {"site_place": "not on a building", "array_circuit_inside": "no"}),
    "shutdown_outside": (NEC, 30, None, {"site_place": "other building"}),
    "shutdown_inside": (NEC, 80, None, {"site_place": "other building"}),
    "ground_fault": (NEC, 30, 8, {"site_place": "not on a building", "array_circuit_inside": "no"}),
    "metal_raceway": (NEC, 30, 8, {"array_circuit_inside": "equipment building only"}),
    "live_parts": (NEC, 30, None, {}),
    "array_switch": (NEC, None, 30, {}),
    "double_insulation": (IEC, 60, None, {}),
}


def string_of(volts: float, amps: float) -> dict[str, Any]:
    """One module whose array has this voltage and this highest current."""
    isc = amps / 1.25
    return FREE | {"array_series": 1, "module_voc": volts, "module_vmp": volts * 0.8, "module_isc": isc, "module_imp": isc * 0.93}


@pytest.mark.parametrize("key", ASKED)
def test_a_duty_is_asked_from_its_voltage_or_current_on_and_below_never(key: str) -> None:
    codes, from_volts, from_amps, place = ASKED[key]
    tried = [(25.0, 7.0, False)]
    if from_volts:
        tried += [(from_volts - 0.01, 5.0, False), (from_volts, 5.0, True), (from_volts + 20, 5.0, True)]
    if from_amps:
        tried += [(20.0, from_amps - 0.01, False), (20.0, from_amps, True)]
    for profile in PROFILES:
        for volts, amps, reached in tried:
            for answer, outcome in (("yes", "PASS"), ("no", "FAIL"), ("not known", "NOT JUDGED"), (None, "NOT JUDGED")):
                inputs = example(**string_of(volts, amps) | place | {f"confirm_{key}": answer})
                values = evaluate(inputs, profile)
                assert values["array_voc_cold"] == pytest.approx(volts)
                assert values["array_isc_max"] == pytest.approx(amps)
                if profile in codes:
                    assert values[f"check_duty_{key}"] == (outcome if reached else "N/A"), (profile, volts, amps, answer)
                elif key not in ("ground_fault", "live_parts", "array_switch"):  # the other code has its own thresholds for these
                    assert values[f"check_duty_{key}"] == "N/A", (profile, volts, amps, answer)


@pytest.mark.parametrize("profile", IEC)
def test_the_other_duties_of_the_iec_are_asked_from_its_own_thresholds(profile: str) -> None:
    for volts, outcome in ((59.9, "N/A"), (60, "FAIL")):
        values = evaluate(example(**string_of(volts, 5) | {"confirm_ground_fault": "no", "confirm_live_parts": "no"}), profile)
        assert values["check_duty_ground_fault"] == values["check_duty_live_parts"] == outcome
    values = evaluate(example(**string_of(20, 5) | {"confirm_cable_laying": "no", "confirm_array_switch": None}), profile)
    assert (values["check_duty_cable_laying"], values["check_duty_array_switch"]) == ("FAIL", "NOT JUDGED")


@pytest.mark.parametrize("profile", NEC)
@pytest.mark.parametrize(
    ("place", "inside", "shutdown", "raceway"),
    [
        ("dwelling", None, "FAIL", "NOT JUDGED"),
        ("other building", "no", "FAIL", "N/A"),
        (None, "yes", "FAIL", "FAIL"),
        ("not on a building", "no", "N/A", "N/A"),
        ("not on a building", "equipment building only", "N/A", "FAIL"),
        ("not on a building", "yes", "FAIL", "FAIL"),
        ("not on a building", "not known", "NOT JUDGED", "NOT JUDGED"),
        ("not on a building", None, "NOT JUDGED", "NOT JUDGED"),
    ],
)
def test_the_place_decides_and_a_place_that_is_not_known_is_not_judged(
    profile: str, place: str | None, inside: str | None, shutdown: str, raceway: str
) -> None:
    refused = {"confirm_shutdown_outside": "no", "confirm_metal_raceway": "no"}
    outdoors = {"enclosure_place": "closed box in the shade"}  # so that no other entry puts the circuit into a building
    values = evaluate(example(site_place=place, array_circuit_inside=inside, **outdoors, **refused), profile)
    assert (values["check_duty_shutdown_outside"], values["check_duty_metal_raceway"]) == (shutdown, raceway)
    met = evaluate(example(site_place=place, array_circuit_inside=inside, **outdoors), profile)
    assert {met["check_duty_shutdown_outside"], met["check_duty_metal_raceway"]} <= {"PASS", "N/A"}


@pytest.mark.parametrize("profile", NEC)
@pytest.mark.parametrize(
    ("place", "building", "outcome"),
    [
        ("dwelling", None, "FAIL"),
        ("other building", "dwelling", "FAIL"),
        ("other building", "other building", "N/A"),
        ("not on a building", "no building", "N/A"),
        ("not on a building", None, "NOT JUDGED"),
        ("other building", "not known", "NOT JUDGED"),
    ],
)
def test_the_emergency_disconnect_is_asked_at_dwellings(profile: str, place: str, building: str | None, outcome: str) -> None:
    inputs = example(site_place=place, battery_building=building, confirm_battery_emergency="no")
    assert evaluate(inputs, profile)["check_duty_battery_emergency"] == outcome


@pytest.mark.parametrize("profile", PROFILES)
def test_what_is_open_is_asked_for_by_its_name_and_what_does_not_apply_is_not(profile: str) -> None:
    blank = {f"confirm_{key}": None for key in DUTY_KEYS}
    values = evaluation(profile).all_values(example(**blank))
    labels = {entry.name: entry.label for entry in model(profile).inputs}
    for key in DUTY_KEYS:
        verdict, said = values[f"check_duty_{key}"], values[f"meaning_check_duty_{key}"]
        assert verdict in ("N/A", "NOT JUDGED")
        assert (labels[f"confirm_{key}"] in said) == (verdict == "NOT JUDGED")
        assert values[f"waited_for_confirm_{key}"] == (verdict == "NOT JUDGED")
    assert values["verdict"] == "INCOMPLETE"


@SETTINGS
@given(series=st.integers(1, 6), more=st.integers(0, 3), answer=st.sampled_from(("yes", "no", None)), profile=st.sampled_from(PROFILES))
def test_more_voltage_never_frees_from_a_duty(series: int, more: int, answer: str | None, profile: str) -> None:
    rank = {"FAIL": 0, "NOT JUDGED": 1, "PASS": 2, "N/A": 3}
    answers = {f"confirm_{key}": answer for key in DUTY_KEYS}
    before, after = (evaluate(example(array_series=n, **answers), profile) for n in (series, series + more))
    for key in DUTY_KEYS:
        assert rank[str(after[f"check_duty_{key}"])] <= rank[str(before[f"check_duty_{key}"])], key


@pytest.mark.parametrize("profile", PROFILES)
def test_every_duty_says_what_a_code_asks_or_that_it_does_not(profile: str) -> None:
    with (TEMPLATES / "profiles" / profile / "duties.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))[2:]
    assert tuple(row["key"] for row in rows) == DUTY_KEYS
    for row in rows:
        assert (row["place"] == "nowhere") == row["rule"].startswith("This code does not ask"), row["key"]
        assert min(float(row["volts"]), float(row["amps"])) < 100 or row["place"] == "nowhere", row["key"]
