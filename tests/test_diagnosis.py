"""The finding of the day: faults made with pvlib are named, what cannot be told apart is said to be, and junk gives none."""

from __future__ import annotations

import re
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.answers import evaluate
from tests.compared import wrong_in
from tests.engines import engine
from tests.roof import (
    DAY,
    FULL,
    Roof,
    at_the_peak,
    beside_the_peak,
    compensated,
    design,
    every_case,
    faulty,
    found_on_the_day,
    holding,
    readings,
    stacked,
)
from tests.strategies import as_reference, junk_for
from tests.support import evaluation, model, whole_example, write_stale
from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.tasks import DEFAULT, ENTERED
from workbook_builder.language.chapters import assembled
from workbook_builder.language.declare import Part
from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.sources import common_practice
from workbook_builder.system import CHAPTERS
from workbook_builder.system.commissioning.diagnosis import EXPLANATIONS

FINDINGS = [str(key) for key in next(table for table in model().tables if table.name == "findings").column("key").values]
HEALTHY = {"bulk", "full"}
SUNS, CELLS = (350.0, 700.0, 1050.0), (15.0, 40.0, 65.0)
READINGS = [entry.name for entry in model().inputs if entry.name.startswith("reading_") and entry.name != "reading_insulation"]


def key(inputs: dict[str, Any]) -> str:
    return str(evaluation().all_values(inputs)["finding_key"])


def fitting(inputs: dict[str, Any]) -> set[str]:
    values = evaluation().all_values(inputs)
    return {name for name in EXPLANATIONS if values[f"fits_{name}"] == 1}


@pytest.mark.parametrize("finding", FINDINGS)
def test_each_finding_is_reached_by_a_system_that_has_that_fault(finding: str) -> None:
    assert key(found_on_the_day()[finding]) == finding


def on_many_days(**changes: Any) -> list[Roof]:
    return [faulty(DAY, sun=sun, t_cell=t_cell, **changes) for sun in SUNS for t_cell in CELLS]


# what is wrong, the share of time closed, and what must be among the explanations
FAULTS: dict[str, tuple[dict[str, Any], float, str]] = {
    "sound, charging": ({}, 1.0, "bulk"),
    "sound, nearly full": ({"battery": 28.4}, 0.75, "full"),
    "sound, full": ({"battery": 27.6}, 0.3, "full"),
    "sound, floating on hardly any current": ({"battery": 27.6}, 0.03, "full"),
    "one string missing": ({"suns": (1.0, 1.0)}, 1.0, "missing"),
    "two strings missing": ({"suns": (1.0,)}, 1.0, "missing"),
    "one string in half shade": ({"suns": (1.0, 1.0, 0.5)}, 1.0, "shade"),
    "all strings dirty": ({"suns": (0.8, 0.8, 0.8)}, 1.0, "shade"),
    "one module in series instead of two": ({"series": 1}, 1.0, "class"),
    "a bad joint": ({"r_battery": 0.25}, 1.0, "drop"),
    "limited too early": ({}, 0.5, "early"),
    "passing nothing": ({}, 0.0, "idle"),
    "a string missing behind a full battery": ({"battery": 28.4, "suns": (1.0, 1.0)}, 0.6, "weak"),
    "three modules in series, nearly full": ({"battery": 28.4, "series": 3}, 0.3, "class"),
}


METERS = ("averaging", "true RMS")
Day = tuple[str, Roof, str]


@cache
def many_days() -> tuple[list[Day], dict[str, Any]]:
    """Every fault on every day with each meter, and what the workbook says of all of them at once."""
    days = [(fault, roof, meter) for fault, (changes, _, _) in FAULTS.items() for roof in on_many_days(**changes) for meter in METERS]
    return days, evaluation().all_values(stacked([readings(roof, FAULTS[fault][1], meter) for fault, roof, meter in days]))


def test_the_true_explanation_fits_on_every_day_with_either_meter() -> None:
    days, values = many_days()
    missed = [day for place, day in enumerate(days) if values[f"fits_{FAULTS[day[0]][2]}"][place] != 1]
    assert not missed


def test_a_fault_is_never_called_healthy() -> None:
    days, values = many_days()
    faults = [place for place, (fault, _, _) in enumerate(days) if FAULTS[fault][2] not in HEALTHY]
    assert [days[place] for place in faults if values["finding_key"][place] in HEALTHY] == []
    assert len(faults) > len(days) / 2


def test_the_fault_is_named_alone_with_an_averaging_meter_on_most_days() -> None:
    days, values = many_days()
    alone = dict.fromkeys(FAULTS, 0)
    for (fault, _, meter), finding in zip(days, values["finding_key"], strict=True):
        alone[fault] += meter == "averaging" and finding == FAULTS[fault][2]
    assert min(alone.values()) > len(SUNS) * len(CELLS) / 2, alone


OFF = (("reading_g", 0.1, 0.0), ("reading_t_module", 0.0, 3.0), ("reading_v_pv", 0.01, 0.0), ("reading_i_pv", 0.03, 0.0))


def test_a_reading_that_is_off_by_nearly_all_its_uncertainty_still_leads_to_the_true_explanation() -> None:
    """A shadow or dirt of a fifth is left out: in a sun that is read a tenth too low, no instrument could see it."""
    cases, truths = [], []
    for changes, duty, truth in FAULTS.values():
        exact = readings(faulty(DAY, **changes), duty)
        for (name, share, step), sign in product(OFF, (-0.9, 0.9) if truth != "shade" else ()):
            cases.append(exact | {name: exact[name] * (1 + sign * share) + sign * step})
            truths.append((truth, name, sign))
    values = evaluation().all_values(stacked(cases))
    assert [truth for place, truth in enumerate(truths) if values[f"fits_{truth[0]}"][place] != 1] == []


def test_the_number_of_missing_strings_is_the_true_one() -> None:
    for missing in (1, 2):
        values = evaluation().all_values(readings(faulty(DAY, suns=(1.0,) * (3 - missing))))
        assert values["day_strings_missing"] == missing


# ---- what cannot be told apart


def test_with_a_guessed_sun_a_missing_string_and_shade_cannot_be_told_apart() -> None:
    inputs = readings(faulty(DAY, suns=(1.0, 1.0)), reading_g=None, reading_sky="full sun")
    assert fitting(inputs) == {"missing", "shade"}
    values = evaluate(inputs)
    assert values["commissioning_finding"].startswith("More than one explanation fits: ")
    for part in ("explanation_first", "explanation_second"):
        assert values[part] in values["commissioning_finding"]
        assert values[f"{part}_next"]
    assert values["explanation_third"] is None


def test_one_string_of_five_needs_a_better_irradiance_meter_than_a_cheap_one() -> None:
    inputs = readings(faulty(DAY, suns=(1.0,) * 4), array_parallel=5)
    assert fitting(inputs) == {"missing", "shade"}
    assert fitting(inputs | {"reading_g_uncertainty": 2, "reading_t_uncertainty": 1}) == {"missing"}


def test_nearly_closed_all_the_time_is_told_from_a_drop_by_what_the_controller_says() -> None:
    inputs = readings(FULL, 0.9)
    assert fitting(inputs) == {"full", "drop"}
    assert key(inputs | {"reading_mode": "absorption or float"}) == "full"
    assert key(inputs | {"reading_mode": "bulk"}) == "drop"


def test_battery_volts_on_a_dead_input_are_an_open_circuit_or_a_short_string() -> None:
    assert fitting(design(DAY, reading_v_pv=DAY.battery, reading_i_pv=0.0)) == {"open", "class"}


def test_reversed_polarity_is_said_even_in_the_dark_and_before_anything_else_is_read() -> None:
    assert key(design(faulty(DAY, sun=60.0), reading_v_pv=-20.0, reading_i_pv=0.0)) == "reversed"
    assert key({"reading_v_pv": -20.0}) == "reversed"


def test_volts_of_charging_with_one_more_module_in_series_are_not_called_sound_without_a_warning() -> None:
    """In bulk the battery holds any string at its own volts: the sheet says that this state cannot show it."""
    values = evaluate(readings(faulty(DAY, series=3)))
    assert values["finding_key"] == "bulk"
    assert "Open-circuit volts cannot be seen in this state" in values["commissioning_next"]


def test_a_bank_of_another_voltage_is_never_judged_as_this_one() -> None:
    for volts in (12.6, 51.0):
        assert fitting(readings(faulty(DAY, battery=volts, series=4))) <= {"class", "idle"}
        assert key(readings(faulty(DAY, battery=volts, series=4))) == "class"


# ---- a wrong set point

ABSORPTION, FLOAT, BANK = 28.8, 27.4, -0.048  # V, V and V/K of the bank of the design
HELD = [(volts, t, duty) for volts, duty in ((ABSORPTION, 0.6), (FLOAT, 0.3)) for t in (-5.0, 10.0, 25.0, 40.0)]


@pytest.mark.parametrize(("volts", "t_battery", "duty"), HELD)
def test_a_controller_that_holds_its_set_point_at_the_batterys_temperature_is_healthy(volts: float, t_battery: float, duty: float) -> None:
    today = volts + BANK * (t_battery - 25)
    values = evaluate(compensated(readings(holding(DAY, today), duty), reading_t_battery=t_battery))
    assert values["finding_key"] == "full"
    held = "absorption" if volts == ABSORPTION else "float, or absorption set too low"
    assert f" Now at {held} (battery as read)." in values["commissioning_next"]
    assert values["day_v_absorb"] == pytest.approx(ABSORPTION + BANK * (t_battery - 25))
    assert values["day_v_float"] == pytest.approx(FLOAT + BANK * (t_battery - 25))


@pytest.mark.parametrize("wrong", [-0.6, 0.6])
@pytest.mark.parametrize(("volts", "t_battery", "duty"), HELD)
def test_a_controller_set_six_tenths_of_a_volt_wrong_is_noticed(volts: float, t_battery: float, duty: float, wrong: float) -> None:
    today = volts + BANK * (t_battery - 25)
    assert key(compensated(readings(holding(DAY, today + wrong), duty), reading_t_battery=t_battery)) in {"neither", "early"}


def test_a_controller_that_is_not_compensated_although_it_should_be_is_noticed_in_the_cold() -> None:
    cool = compensated(readings(holding(DAY, ABSORPTION), 0.6), reading_t_battery=10)
    assert key(cool) == "neither"
    # at 0 °C its absorption happens to be the float of a right one: then that is said
    assert "or absorption set too low" in evaluate(cool | {"reading_t_battery": 0})["commissioning_next"]


def test_a_battery_above_absorption_is_never_called_healthy_whatever_the_controller_says() -> None:
    for mode in (None, "bulk", "absorption or float"):
        assert key(readings(holding(DAY, ABSORPTION + 1.0), reading_mode=mode)) == "neither"
        assert key(readings(holding(DAY, ABSORPTION + 1.0), 0.6, reading_mode=mode)) == "neither"


def test_a_controller_that_says_absorption_at_volts_of_bulk_is_not_called_healthy() -> None:
    said = {"reading_mode": "absorption or float"}
    assert key(readings(DAY) | said) == "neither"
    assert key(readings(holding(DAY, ABSORPTION)) | said) == "bulk"  # the first minutes of absorption: all goes in


def test_without_the_batterys_temperature_the_airs_is_taken_then_25_degrees_and_it_is_said_to_be_unsure() -> None:
    held = compensated(readings(holding(DAY, ABSORPTION), 0.6))
    for changes, volts, words in (({"reading_t_air": 20}, ABSORPTION - 5 * BANK, "20 °C"), ({}, ABSORPTION, "25 °C")):
        values = evaluate(held | changes)
        assert values["day_v_absorb"] == pytest.approx(volts)
        assert f"unsure: battery taken as {words}" in values["commissioning_next"]
    assert evaluate(held | {"reading_t_air": 40, "reading_t_battery": 20})["day_t_battery"] == 20
    assert "unsure" not in evaluate(held | {"controller_tempcomp": "no"})["commissioning_next"]


def test_set_points_that_are_too_near_to_each_other_are_both_named() -> None:
    near = readings(holding(DAY, 28.4), 0.6, battery_v_absorb=28.6, battery_v_float=28.2)
    assert " Now at absorption or float (" in evaluate(near)["commissioning_next"]


def test_a_temperature_that_is_not_read_never_makes_a_set_point_surer() -> None:
    held = compensated(readings(holding(DAY, ABSORPTION), 0.6))
    read, guessed = evaluate(held | {"reading_t_battery": 25}), evaluate(held)
    assert guessed["day_v_set_tolerance"] > read["day_v_set_tolerance"]
    # meter 1 %, controller 0.7 %, and 3 K or 15 K of 48 mV/K, by hand
    assert read["day_v_set_tolerance"] == pytest.approx(0.380, abs=0.001)
    assert guessed["day_v_set_tolerance"] == pytest.approx(0.801, abs=0.001)


def test_by_pencil_a_set_point_of_today_is_as_sure_as_with_a_temperature_that_is_read() -> None:
    held = compensated(readings(holding(DAY, ABSORPTION), 0.6))
    for read in ({}, {"reading_t_battery": 25}):
        values = evaluate(held | read)
        assert values["day_by_hand"].endswith("− 25) ÷ 1000, ± 0.38 V")
    assert values["day_v_hand_tolerance"] == pytest.approx(values["day_v_set_tolerance"])
    assert evaluate(held | {"battery_v_absorb": "x"})["day_by_hand"] is None


# ---- an MPPT controller


@pytest.mark.parametrize(
    ("what", "inputs"),
    [
        ("bulk", at_the_peak(DAY)),
        ("missing", at_the_peak(faulty(DAY, suns=(1.0, 1.0)))),
        ("shade", at_the_peak(faulty(DAY, suns=(0.8, 0.8, 0.8)))),
        ("full", beside_the_peak(FULL)),
        ("early", beside_the_peak(DAY)),
        ("weak", beside_the_peak(faulty(FULL, suns=(1.0, 1.0)))),
    ],
)
def test_an_mppt_controller_is_judged_at_maximum_power(what: str, inputs: dict[str, Any]) -> None:
    assert key(inputs) == what
    values = evaluate(inputs)
    assert values["reading_duty_source"] == "maximum power"
    assert values["day_duty_v"] is values["day_duty_i"] is None
    assert values["reading_v_mean"] == values["reading_v_rms"] == values["day_v_on"]


# ---- fail-safe


@cache
def verdicts_of_the_example() -> dict[str, Any]:
    values = evaluate(whole_example())
    return {name: value for name, value in values.items() if name == "verdict" or name.startswith("check_")}


@pytest.mark.parametrize("name", READINGS)
def test_junk_in_a_reading_gives_no_finding_and_leaves_the_design_alone(name: str) -> None:
    entry = next(entry for entry in model().inputs if entry.name == name)
    typed = np.array([as_reference({name: junk}).get(name) for junk in junk_for(entry).values()] + [None], dtype=object)[:-1]
    values = evaluate(whole_example() | {name: typed})
    assert {known: values[known] for known in verdicts_of_the_example()} == verdicts_of_the_example()
    refused = ~np.isin(values[f"status_{name}"], [ENTERED, DEFAULT])
    assert refused.sum() > len(typed) / 2
    assert set(values["finding_key"][refused]) == {"waiting"}
    assert set(values["commissioning_finding"][refused]) == {"No finding yet"}


NEEDED = ("reading_v_battery", "reading_v_pv", "reading_i_pv")


@pytest.mark.parametrize(
    "blank",
    [(name,) for name in NEEDED]
    + [("reading_g", "reading_sky"), ("reading_t_module", "reading_t_air"), ("module_voc",), ("controller_type",)],
)
def test_without_one_of_the_needed_figures_there_is_no_finding(blank: tuple[str, ...]) -> None:
    assert key(whole_example(**dict.fromkeys(blank))) == "waiting"


def test_the_design_is_judged_without_any_reading() -> None:
    bare = {name: value for name, value in whole_example().items() if not re.match(r"(reading|string[0-9]+|item[0-9]+)_", name)}
    values = evaluate(bare)
    assert values["verdict"] == verdicts_of_the_example()["verdict"] == "PASS"
    assert values["finding_key"] == "waiting"


def test_a_check_of_the_design_that_rests_on_a_reading_is_refused() -> None:
    trial = Part("trial", "Trial", "A check that must not be.")

    @trial.check(
        label="Sun",
        words="Sun is there.",
        formula='IF(reading_v_battery>0,"PASS","NOTE")',
        source=common_practice(),
        sentences={"PASS": "There is.", "NOTE": "There is none."},
    )
    def sun_is_there(reading_v_battery: Any) -> Any:
        return np.where(reading_v_battery > 0, "PASS", "NOTE")

    with pytest.raises(DeclarationError, match="rests on entries of the installed system; got reading_v_battery"):
        Model((*CHAPTERS, *assembled([trial])), load_profile("nec-2023"))


def test_arrays_of_readings_are_judged_as_each_of_them() -> None:
    amps = np.array([22.0, 15.0, 18.0, 0.0, np.nan])
    base = design(DAY, reading_v_pv=26.3)
    many = evaluate(base | {"reading_i_pv": amps})
    for place, one in enumerate(amps):
        assert many["commissioning_finding"][place] == evaluate(base | {"reading_i_pv": one})["commissioning_finding"]


# ---- in the spreadsheet


@pytest.fixture(scope="module")
def workbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_stale(tmp_path_factory.mktemp("diagnosis") / "workbook.xlsx")


@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
def test_every_cell_agrees_on_designs_that_reach_every_finding(workbook: Path, name: str) -> None:
    chosen = dict(list(every_case().items())[:: 1 if name == "libreoffice" else 5])
    with engine(name).open(workbook) as book:
        wrong = wrong_in(engine(name), book, chosen)
    assert not wrong
