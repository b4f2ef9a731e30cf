"""What meters show of a switching controller, the predictions of the day, strings one by one, and the acceptance list."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from tests.answers import evaluate
from tests.roof import DAY, FULL, SIGNED, Roof, design, faulty, readings, shown, wave
from tests.support import evaluation, example, model, whole_example
from workbook_builder.evaluation.outcome import row_status
from workbook_builder.file.building import plan_for
from workbook_builder.file.plan import Entry, Formula, Sheet
from workbook_builder.language.profiles import built_in, load_profile
from workbook_builder.sheets import entries
from workbook_builder.system.commissioning import meters

DUTIES = (0.05, 0.2, 0.4, 0.6, 0.8, 0.95)
METERS = ("averaging", "true RMS")
DAYS = [faulty(DAY, sun=sun, t_cell=t, battery=v) for sun, t, v in ((1000, 25, 25), (900, 50, 28.4), (400, 20, 27), (1050, 68, 26))]


# ---- the wave of two levels


@pytest.mark.parametrize(
    ("duty", "high", "low", "mean", "rms"),
    [
        (0.5, 100.0, 0.0, 50.0, 70.71),  # a teaching text on pulsed voltages: 50 V and 70.71 V
        (0.4, 14.4, 21.0, 18.36, 18.64),
        (0.4, 14.4, 0.0, 5.76, 9.11),
    ],  # series and shunt regulation, worked by hand
)
def test_mean_and_rms_of_two_levels_are_the_published_ones(duty: float, high: float, low: float, mean: float, rms: float) -> None:
    assert meters.reading_v_mean(duty, high, low) == pytest.approx(mean, abs=0.005)
    assert meters.reading_v_rms(duty, high, low) == pytest.approx(rms, abs=0.005)


def test_mean_and_rms_of_a_pulsed_current_are_those_worked_by_hand() -> None:
    assert meters.reading_i_mean(0.4, 6.0) == pytest.approx(2.40, abs=0.005)
    assert meters.reading_i_rms(0.4, 6.0) == pytest.approx(3.79, abs=0.005)


@pytest.mark.parametrize("duty", [0.0, *DUTIES, 1.0])
def test_mean_and_rms_are_those_of_a_sampled_wave(duty: float) -> None:
    volts, amps = wave(FULL, duty)
    on, off, current = FULL.closed()[0], FULL.open_volts(), FULL.closed()[1]
    assert meters.reading_v_mean(duty, on, off) == pytest.approx(float(np.mean(volts)), rel=1e-9)
    assert meters.reading_v_rms(duty, on, off) == pytest.approx(float(np.sqrt(np.mean(volts**2))), rel=1e-9)
    assert meters.reading_i_mean(duty, current) == pytest.approx(float(np.mean(amps)), rel=1e-9, abs=1e-12)
    assert meters.reading_i_rms(duty, current) == pytest.approx(float(np.sqrt(np.mean(amps**2))), rel=1e-9, abs=1e-12)


def test_the_longer_the_switch_is_open_the_higher_the_volts_and_the_lower_the_amps() -> None:
    duty = np.linspace(1, 0, 50)
    for volts in (meters.reading_v_mean(duty, 14.0, 20.0), meters.reading_v_rms(duty, 14.0, 20.0)):
        assert (np.diff(volts) > 0).all()
    for amps in (meters.reading_i_mean(duty, 8.0), meters.reading_i_rms(duty, 8.0)):
        assert (np.diff(amps) < 0).all()
    assert (meters.reading_v_rms(duty, 14.0, 20.0) >= meters.reading_v_mean(duty, 14.0, 20.0) - 1e-12).all()
    assert (meters.reading_i_rms(duty, 8.0) >= meters.reading_i_mean(duty, 8.0)).all()


@pytest.mark.parametrize("meter", METERS)
@pytest.mark.parametrize("duty", DUTIES)
def test_the_share_of_time_is_found_from_the_volts_and_from_the_amps(duty: float, meter: str) -> None:
    values = evaluate(readings(FULL, duty, meter))
    assert values["day_duty_v"] == pytest.approx(duty, abs=values["day_duty_v_tolerance"])
    assert values["day_duty_i"] == pytest.approx(duty, abs=values["day_duty_i_tolerance"])
    assert values["day_duty_agreement"] == "they agree"
    surer = min(("day_duty_v", "day_duty_i"), key=lambda name: values[f"{name}_tolerance"])
    assert values["reading_duty"] == values[surer]


@pytest.mark.parametrize("meter", METERS)
@pytest.mark.parametrize("duty", DUTIES)
def test_each_kind_of_meter_is_predicted_from_the_readings_of_the_other(duty: float, meter: str) -> None:
    values, (volts, amps) = evaluate(readings(FULL, duty, meter)), wave(FULL, duty)
    for kind, name in (("averaging", "mean"), ("true RMS", "rms")):
        assert values[f"reading_v_{name}"] == pytest.approx(shown(volts, kind), abs=values["reading_v_tolerance"])
        # the root makes the uncertainty of a small share of time larger in amps
        uncertain = max(values["reading_i_tolerance"], values["day_i_on"] * min(values["day_duty_v_tolerance"], 0.1))
        assert values[f"reading_i_{name}"] == pytest.approx(shown(amps, kind), abs=uncertain)


def test_a_reading_at_either_level_gives_all_or_none_of_the_time() -> None:
    at = evaluate(design(FULL, reading_v_pv=20.0, reading_i_pv=0.0))
    closed = evaluate(design(FULL, reading_v_pv=at["day_v_on"], reading_i_pv=at["day_i_on"]))
    opened = evaluate(design(FULL, reading_v_pv=at["day_voc"], reading_i_pv=0.0))
    assert (closed["day_duty_v"], closed["day_duty_i"]) == pytest.approx((1, 1))
    assert (opened["day_duty_v"], opened["day_duty_i"]) == pytest.approx((0, 0))
    assert (at["reading_duty"], opened["reading_duty"]) == (1.0, 0.0)


# ---- predictions


@pytest.mark.parametrize("roof", DAYS, ids=lambda roof: f"{roof.sun} {roof.t_cell}")
def test_predictions_meet_the_single_diode_of_the_open_set(roof: Roof) -> None:
    values, (volts, amps) = evaluate(design(roof, reading_v_pv=30.0, reading_i_pv=5.0)), roof.closed()
    assert values["day_t_cell"] == pytest.approx(roof.t_cell)
    assert values["day_v_on"] == pytest.approx(volts, abs=values["day_v_on_tolerance"])
    assert values["day_i_on"] == pytest.approx(amps, rel=0.02)
    assert values["day_voc"] == pytest.approx(roof.open_volts(), rel=0.025)
    assert values["day_isc"] == pytest.approx(roof.current(0.0) / 3, rel=0.01)
    assert values["day_voc_tolerance"] > abs(values["day_voc"] - roof.open_volts())
    peak = evaluate(design(roof, controller_type="MPPT", reading_v_pv=30.0, reading_i_pv=5.0))
    assert peak["day_v_on"] == pytest.approx(roof.peak()[0], abs=peak["day_v_on_tolerance"])
    assert peak["day_i_on"] == pytest.approx(roof.peak()[1], rel=0.03)


def test_entered_cables_lower_the_volts_at_the_controller_as_ohm_says() -> None:
    values = evaluation().all_values(whole_example())
    lost = values["losses_battery_resistance"] * values["day_i_on"]
    assert values["day_v_on"] == pytest.approx(28.5 + 0.2 + lost)
    outside = values["losses_array_resistance"] + values["strings_resistance"]
    at_module = values["day_v_on"] + outside * values["day_i_on"]
    assert values["day_v_module"] * 2 + values["cable_r"] * values["day_i_on"] == pytest.approx(at_module)


def test_the_cell_temperature_is_that_of_the_back_or_else_of_the_air_by_noct() -> None:
    by_back = evaluate(example(reading_g=800, reading_t_module=50, reading_t_air=10))
    assert by_back["day_t_cell"] == pytest.approx(50 + 3 * 0.8)
    by_air = evaluate(example(reading_g=800, reading_t_module=None, reading_t_air=20))
    assert by_air["day_t_cell"] == pytest.approx(45)  # NOCT itself: 800 W/m² at 20 °C air
    assert (by_back["reading_t_uncertainty"], by_air["reading_t_uncertainty"]) == (3, 8)


def test_a_measured_sun_comes_before_the_look_of_the_sky_and_is_surer() -> None:
    measured = evaluate(example(reading_g=640, reading_sky="full sun"))
    guessed = evaluate(example(reading_g=None, reading_sky="thin haze"))
    assert (measured["day_g"], measured["reading_g_uncertainty"]) == (640, 10)
    assert (guessed["day_g"], guessed["reading_g_uncertainty"]) == (700, 30)
    assert guessed["day_i_on_tolerance"] > 2 * measured["day_i_on_tolerance"]


@pytest.mark.parametrize("name", ["reading_g_uncertainty", "reading_t_uncertainty", "reading_v_uncertainty", "reading_i_uncertainty"])
def test_a_larger_uncertainty_never_narrows_a_tolerance(name: str) -> None:
    tolerances = ("day_v_on_tolerance", "day_i_on_tolerance", "day_voc_tolerance", "day_duty_v_tolerance", "day_duty_i_tolerance")
    rows = [evaluate(example(**{name: value})) for value in (1, 2, 5, 10)]
    for before, after in pairwise(rows):
        assert all(after[one] >= before[one] for one in tolerances)
        assert any(after[one] > before[one] for one in tolerances)


def test_the_tolerance_of_the_amps_is_the_root_of_the_sum_of_its_squares() -> None:
    values = evaluation().all_values(example(reading_g=900, reading_g_uncertainty=10, reading_t_uncertainty=3, reading_i_uncertainty=3))
    dim = evaluation().all_values(example(reading_g=810, reading_t_module=values["day_t_cell"] - 3 * 0.81))["day_i_on"]
    warm = evaluation().all_values(example(reading_g=900, reading_t_module=50.0))["day_i_on"]
    on = values["day_i_on"]
    none = max(0.2, 0.02 * 3 * values["day_isc"])
    wanted = np.sqrt((on - dim) ** 2 + (on - warm) ** 2 + on**2 * (0.03**2 + 0.03**2) + none**2)
    assert values["day_i_on_tolerance"] == pytest.approx(wanted, rel=1e-6)


# ---- strings


def strings(**read: Any) -> dict[str, Any]:
    values = evaluate(design(DAY, reading_v_pv=30.0, reading_i_pv=5.0, **read))
    return evaluation().all_values(design(DAY, reading_v_pv=30.0, reading_i_pv=5.0, **read)) | {"state": values["strings_state"]}


def said(values: Mapping[str, Any], number: int) -> tuple[str, ...]:
    return tuple(values[f"judged_string{number}_{name}"] for name in ("voc_says", "isc_says", "mark"))


def test_sound_strings_agree_and_other_lines_say_that_there_is_none() -> None:
    voc, isc = DAY.open_volts(), DAY.current(0.0) / 3
    values = strings(**{f"string{n}_{what}": one for n in (1, 2, 3) for what, one in (("voc", voc), ("isc", isc))})
    assert [said(values, n) for n in (1, 2, 3)] == [("ok", "ok", "✓")] * 3
    assert said(values, 4) == ("not in the design", "not in the design", "–")
    assert values["state"] == "all agree"


@pytest.mark.parametrize(("share", "word"), [(0.94, "low"), (0.951, "ok"), (1.049, "ok"), (1.06, "high")])
def test_volts_of_a_string_agree_within_five_per_cent(share: float, word: str) -> None:
    voc = strings()["day_voc"]
    assert said(strings(string1_voc=voc * share), 1)[0] == word


def test_amps_of_a_string_agree_within_the_uncertainty_of_sun_clamp_and_arrays() -> None:
    known = strings()
    allowed = np.sqrt(0.1**2 + 0.03**2 + 0.03**2)
    for share, word in ((1 - allowed - 0.01, "low"), (1 - allowed + 0.01, "ok"), (1 + allowed - 0.01, "ok"), (1 + allowed + 0.01, "high")):
        assert said(strings(string1_isc=known["day_isc"] * share), 1)[1] == word


def test_a_module_less_a_reversed_and_a_dead_string_are_said_to_be_so() -> None:
    voc = DAY.open_volts()
    values = strings(string1_voc=voc / 2, string2_voc=-voc, string3_voc=0.1, string3_isc=0.05)
    assert said(values, 1) == ("low", "not measured", "✗")
    assert said(values, 2) == ("reversed", "not measured", "✗")
    assert said(values, 3) == ("missing", "missing", "✗")
    assert values["state"] == "look at those marked ✗"


def test_strings_that_are_not_all_measured_never_agree_as_a_whole() -> None:
    voc, isc = DAY.open_volts(), DAY.current(0.0) / 3
    both = {f"string{n}_{what}": one for n in (1, 2) for what, one in (("voc", voc), ("isc", isc))}
    assert strings(**both)["state"] == "not all are measured"
    assert strings(**both, string3_voc=voc)["state"] == "not all are measured"
    junk = strings(**both, string3_voc=voc, string3_isc="eight")
    assert junk["state"] == "not all are measured"
    assert junk["judged_string3_isc_says"] == ""


def test_more_strings_than_the_design_has_are_not_passed_over() -> None:
    both = {"voc": DAY.open_volts(), "isc": DAY.current(0.0) / 3}
    values = strings(**{f"string{n}_{what}": one for n in range(1, 5) for what, one in both.items()})
    assert values["state"] == "too many strings"


def test_no_string_is_judged_in_little_sun() -> None:
    values = evaluation().all_values(design(faulty(DAY, sun=200.0), string1_voc=20.0, string1_isc=3.0))
    assert said(values, 1) == ("too dark", "too dark", "–")
    assert values["strings_state"] == "too dark"


def test_a_reversed_string_is_said_to_be_so_in_any_light_and_without_any_other_reading() -> None:
    for inputs in (design(faulty(DAY, sun=60.0), string2_voc=-38.0), {"array_parallel": 3, "string2_voc": -38.0}):
        values = evaluation().all_values(inputs)
        assert said(values, 2) == ("reversed", "not measured", "✗")
        assert values["strings_state"] == "look at those marked ✗"


# ---- the acceptance list


def test_the_acceptance_list_has_the_eleven_tests_of_the_checklist_carried_on() -> None:
    items = [item for table in model().entry_tables if table.name == "handover" for item, _ in table.items]
    assert items == [f"item{n}" for n in range(62, 73)]


def test_nothing_is_complete_by_being_left_blank() -> None:
    values = evaluate({})
    assert values["commissioning_open"] == 11
    assert values["commissioning_state"].startswith("not complete")


def test_it_is_complete_when_each_test_is_settled_and_signed() -> None:
    assert evaluate(SIGNED)["commissioning_state"] == "complete"
    assert evaluate(SIGNED | {"item70_done": "does not apply"})["commissioning_state"] == "complete"


@pytest.mark.parametrize(
    "change",
    [
        {"item62_done": "not done"},
        {"item72_done": None},
        {"item66_by": None},
        {"item66_by": "  "},
        {"item71_date": None},
        {"item67_done": "perhaps"},
        {"reading_insulation": 0.5},
        {"reading_insulation": "good"},
    ],
)
def test_one_test_open_unsigned_or_failed_leaves_it_incomplete(change: dict[str, Any]) -> None:
    assert evaluate(SIGNED | change)["commissioning_state"] != "complete"


def test_insulation_is_good_from_one_megohm() -> None:
    for value, word in ((1.0, "good"), (25, "good"), (0.99, "too low"), (0, "too low")):
        assert evaluate({"reading_insulation": value})["insulation_state"].startswith(word)
    assert evaluate({})["insulation_state"] == "not measured"


# ---- the sheet


def commissioning(profile: str = "nec-2023", *, example: bool = False) -> Sheet:
    return next(sheet for sheet in plan_for(load_profile(profile), example=example).sheets if sheet.name == "Commissioning")


@pytest.mark.parametrize("profile", built_in())
def test_both_pages_of_every_profile_say_that_the_example_is_one(profile: str) -> None:
    titles = {example: commissioning(profile, example=example).cells[0, 0].content for example in (True, False)}
    assert "EXAMPLE" in str(titles[True])
    assert "EXAMPLE" not in str(titles[False])
    assert commissioning(profile, example=True).repeat_row == 0


def test_the_second_page_begins_with_a_heading() -> None:
    made = commissioning()
    (second,) = made.row_breaks
    assert made.cells[second, 0].style == "section"


def test_what_to_do_about_another_reading_stands_on_paper_without_any_entry() -> None:
    made = commissioning()
    head = next(row for (row, _), cell in made.cells.items() if cell.content == "If it reads something else")
    rows = range(head + 1, made.row_breaks[0])
    for row in rows:
        assert all(isinstance(made.cells[row, column].content, str) and made.cells[row, column].content for column in (0, 2, 5))
    told = " | ".join(str(made.cells[row, 0].content) for row in rows)
    for words in ("minus sign", "half, or two thirds", "0 V", "one string", "unlike", "not at the line Today", "None of these"):
        assert words in told


def test_no_word_about_the_typing_stands_beside_a_test() -> None:
    shown = {cell.content.key for cell in commissioning().cells.values() if isinstance(cell.content, Formula)}
    assert {f"handed_item{n}_says" for n in range(62, 73)} <= shown
    assert not {f"row_status_item{n}" for n in range(62, 73)} & shown
    assert {f"row_status_string{n}" for n in range(1, 9)} <= shown


def test_a_row_in_which_nothing_is_typed_has_no_status_and_none_says_accepted() -> None:
    items = ("lamp", "pump", "lamp", "pump")
    assert row_status(items, "lamp", ("default", "entered", "default", "entered")) == ""
    assert row_status(items, "lamp", ("entered", "missing", "default", "missing")) == "readable"
    assert row_status(items, "lamp", ("entered", "default", "out of range", "default")) == "REFUSED"


def test_what_is_accepted_is_short_in_print_and_whole_in_the_message_of_the_cell() -> None:
    made = commissioning()
    row = next(row for (row, _), cell in made.cells.items() if isinstance(cell.content, Entry) and cell.content.name == "reading_v_pv")
    assert str(made.cells[row, entries.WHERE].content).endswith("; −1500 to 1500")
    (message,) = [rule for rule in made.validations if (rule.row, rule.column) == (row, entries.ENTRY)]
    assert "from -1500 to 1500 V" in message.prompt
    assert "from -1500 to 1500 V" in message.error


def test_readings_strings_and_tests_are_typed_on_the_sheet_that_is_carried_to_the_roof() -> None:
    plan = plan_for(load_profile("nec-2023"))
    on_roof = {entry.name for sheet, _, _, entry in plan.entries() if sheet.name == "Commissioning"}
    design_of = {entry.name for entry in model().design_inputs}
    assert on_roof == {entry.name for entry in model().inputs} - design_of
    assert {name.split("_")[0].rstrip("0123456789") for name in on_roof} == {"reading", "string", "item"}
