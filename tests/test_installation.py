"""The printed design sheet: what an installer reads on the roof agrees with the design."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.answers import evaluate
from tests.compared import expected_cells, wrong_in
from tests.engines import Book, engine
from tests.support import cables, evaluation, example, model, whole_example, write_stale
from workbook_builder.evaluation.outcome import MARKS
from workbook_builder.evaluation.printed import CHEMISTRIES, SAID, SHOWN, VERDICTS, example_names, sentences
from workbook_builder.file.building import plan_for
from workbook_builder.file.plan import Formula, Sheet, address
from workbook_builder.language.profiles import load_profile
from workbook_builder.language.wording import ABSENT
from workbook_builder.language.words import words

SHEET, PAGE = "Installation", 24  # columns of the printed page
DO_NOT_BUILD = "DO NOT BUILD FROM THIS SHEET"
WITHOUT_FUSES = {"array_parallel": 2, "controller_i_max": 60}
DESIGNS: dict[str, dict[str, Any]] = {
    "the example": whole_example(),
    "blank": {},
    "one module too many": whole_example(array_series=3),
    "string fuses that fit": whole_example(array_parallel=3, module_max_fuse=15),
    "string fuses of which none fits": whole_example(array_parallel=4, module_max_fuse=10),
    "two strings, without fuses": whole_example(**WITHOUT_FUSES),
    "twelve strings": whole_example(array_series=6, array_parallel=12),
    "one string of one module": whole_example(array_series=1, array_parallel=1),
    "no cables": example(battery_fuse_breaking=None),
    "strings of which nobody says whether they are fused": whole_example(string_device=None),
    "a cable too thin": whole_example(run_battery_size="14 AWG"),
    "MPPT": whole_example(controller_type="MPPT", controller_v_max=150),
    "LiFePO4, not compensated": whole_example(battery_chemistry="LiFePO4", controller_tempcomp="no", battery_t_min=10),
    "gel and one battery": whole_example(battery_chemistry="gel", battery_parallel=1, battery_fuse_breaking=1),
    "long names": whole_example(
        module_name="Module of a rather long type, 160 W, 36 cells, framed",
        controller_name="W" * 50,
        site_name="Health post between the mountains, district of the lakes, province of the north",
    ),
    "a module that is not known": whole_example(module_voc=None, module_max_fuse="15 A", array_parallel="many"),
}


@pytest.fixture(scope="module", params=["libreoffice", "ironcalc"])
def book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Book]]:
    path = write_stale(tmp_path_factory.mktemp("installation") / "stale.xlsx")
    with engine(request.param).open(path) as opened:
        yield request.param, opened


@cache
def sheet(profile: str = "nec-2023") -> Sheet:
    return next(one for one in plan_for(load_profile(profile)).sheets if one.name == SHEET)


@cache
def printed(design: str) -> dict[tuple[int, int], str]:
    """What the reference shows in each cell of the page, as text."""
    values = expected_cells(DESIGNS[design])
    found = {}
    for (row, column), cell in sheet().cells.items():
        if column < PAGE:
            content = values[f"{SHEET}!{address(row, column)}"] if isinstance(cell.content, Formula) else cell.content
            found[row, column] = f"{content:g}" if isinstance(content, float) else str(content)
    return found


def texts(design: str) -> list[str]:
    return [text for text in printed(design).values() if text]


def test_every_cell_agrees_with_the_reference_in_every_kind_of_design(book: tuple[str, Book]) -> None:
    name, opened = book
    assert not wrong_in(engine(name), opened, DESIGNS)


@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
def test_every_cell_agrees_with_a_code_that_names_its_cables_otherwise(name: str, tmp_path: Path) -> None:
    inputs = example(**cables("iec-62548"))
    with engine(name).open(write_stale(tmp_path / "stale.xlsx", "iec-62548")) as opened:
        assert not wrong_in(engine(name), opened, {"with its cables": inputs}, "iec-62548")


def test_the_designs_reach_every_sentence_that_can_be_shown() -> None:
    reached: dict[str, set[str]] = {key: set() for key in SAID}
    for inputs in DESIGNS.values():
        values = evaluation().all_values(inputs)
        for key in SAID:
            reached[key].add(values[f"said_{key}"])
    said_by = {check.name: {*check.sentences, "INCOMPLETE"} for check in model().checks}
    for key in ("banner", "string_fuse", "string_fuse_drawn", "battery_fuse", "breaking", "cables"):
        words_of_a_note = {"NOTE", "PASS WITH NOTES"} | ({"INCOMPLETE"} if key == "cables" else set())
        possible = said_by.get(SAID[key][0], set(sentences(key))) - words_of_a_note
        expected = {text for word, text in sentences(key).items() if word in possible}
        assert reached[key] >= expected, key


def test_it_stands_after_the_verdicts() -> None:
    names = [one.name for one in plan_for(load_profile("nec-2023")).sheets]
    assert names[names.index("Verdicts") + 1] == SHEET


@pytest.mark.parametrize("design", DESIGNS)
def test_only_a_passed_design_may_be_built_from_the_sheet(design: str) -> None:
    passed = evaluate(DESIGNS[design])["verdict"] in ("PASS", "PASS WITH NOTES")
    assert texts(design).count(DO_NOT_BUILD) == (0 if passed else 3)  # on every page


def test_some_designs_may_be_built_and_some_may_not() -> None:
    assert {DO_NOT_BUILD in texts(design) for design in DESIGNS} == {True, False}


def test_the_sentences_cover_every_word_that_decides() -> None:
    for key, (subject, _, decisive) in SAID.items():
        assert set(sentences(key)) == set(decisive), key
        if subject.startswith("check_"):
            check = next(one for one in model().checks if one.name == subject)
            assert set(check.sentences) <= set(decisive)
    assert set(SAID["banner"][2]) == set(VERDICTS) == {"PASS", "PASS WITH NOTES", "FAIL", "INCOMPLETE"}
    chemistry = next(entry for entry in model().inputs if entry.name == "battery_chemistry")
    assert chemistry.options == CHEMISTRIES


def test_every_value_that_is_prepared_is_shown() -> None:
    keys = {cell.content.key for cell in sheet().cells.values() if isinstance(cell.content, Formula)}
    assert {f"shown_{name}" for name in SHOWN} <= keys


@pytest.mark.parametrize("design", DESIGNS)
def test_a_place_for_a_value_is_never_blank(design: str) -> None:
    for place, cell in sheet().cells.items():
        if place[1] < PAGE and isinstance(cell.content, Formula) and cell.content.key.startswith(("shown_", "said_")):
            assert printed(design)[place].strip(), cell.content.key


def test_each_check_is_listed_once_with_its_mark() -> None:
    design, short = "one module too many", words()["installation"]["short"]
    values, shown = evaluation().all_values(DESIGNS[design]), printed(design)
    assert {"FAIL", "NOTE", "N/A", "PASS"} <= {values[check.name] for check in model().checks}
    assert set(short) <= {check.name for check in model().checks}
    for check in model().checks:
        label = short.get(check.name, check.label)
        assert len(label) <= 42, "a longer one is printed too small"
        places = [place for place, text in shown.items() if text == label and shown.get((place[0], place[1] - 1)) in MARKS.values()]
        assert len(places) == 1, check.label
        row, column = places[0]
        assert shown[row, column - 1] == values[f"mark_{check.name}"] == MARKS[values[check.name]]
    legend = words()["installation"]["checks"]
    assert all(mark in legend for mark in MARKS.values())


def test_what_fails_what_is_not_judged_and_what_has_no_answer_is_counted_above_the_checks() -> None:
    for design in ("one module too many", "no cables", "blank"):
        values, shown = evaluation().all_values(DESIGNS[design]), printed(design)
        for label, name in (("fail ✗", "failed"), ("not judged ○", "not_judged"), ("no answer ?", "open")):
            (counted,) = [place for place, text in shown.items() if text == label]
            assert shown[counted[0], counted[1] + 5] == f"{values[f'checks_{name}']:g}"
    assert evaluation().all_values(DESIGNS["no cables"])["checks_not_judged"] > 0


def test_labels_and_ratings_are_rounded_up_and_never_below_what_they_warn_of() -> None:
    labels = {"label_voltage": "array_voc_cold", "label_current": "array_isc_max", "battery_fuse_volts": "battery_v_high_cold"}
    for t_min in range(-40, 20, 3):
        values = evaluate(example(site_t_min=t_min))
        for label, exact in labels.items():
            assert values[label] == math.ceil(round(values[exact], 6))
            assert values[label] >= values[exact] - 1e-6


@pytest.mark.parametrize("profile", ["nec-2023", "iec-62548"])
def test_the_isolator_bears_the_array_and_the_device_behind_it(profile: str) -> None:
    for device in (None, 20, 32, 50):
        found = evaluate(example(**(cables(profile) | {"controller_ocp": device})), profile)
        assert found["isolator_current"] == max(math.ceil(round(found["input_fuse_min"], 6)), device or 0)


def test_a_fuse_that_does_not_fit_is_not_put_on_the_sheet() -> None:
    none_fits = evaluate(DESIGNS["string fuses of which none fits"])
    assert none_fits["check_string_fuse"] == "FAIL"
    assert none_fits["string_fuse_fitted"] is None
    too_large = evaluate(whole_example(battery_fuse_rating=800))
    assert too_large["check_battery_fuse"] == "FAIL"
    assert too_large["battery_fuse_fitted"] is None
    assert evaluate(whole_example())["string_fuse_fitted"] == 15


def test_the_drawing_shows_as_many_strings_as_there_are() -> None:
    drawn = {
        count: [evaluate(example(array_parallel=count))[name] for name in ("drawn_second", "drawn_third", "drawn_junction")]
        for count in (1, 2, 3, 12)
    }
    assert drawn == {
        1: [ABSENT, ABSENT, "one string"],
        2: ["String 2", ABSENT, "joins 2 strings"],
        3: ["String 2", "String 3", "joins 3 strings"],
        12: ["String 2", "Strings 3 to 12, each alike", "joins 12 strings"],
    }
    assert evaluate(example(array_series=1))["drawn_series"] == "one module"
    assert evaluate(example(array_series=4))["drawn_series"] == "4 modules in series"


def test_a_string_that_is_not_there_has_no_polarity_and_no_fuse() -> None:
    values = evaluation().all_values(DESIGNS["two strings, without fuses"])
    assert [values[f"string_2_{piece}"] for piece in ("plus", "minus", "series")] == ["+", "−", "2 modules in series"]
    assert [values[f"string_3_{piece}"] for piece in ("plus", "minus", "series", "fuse")] == [""] * 4
    conditions = {outline.formula for outline in sheet().outlines}
    assert any(f'<>"{ABSENT}"' in formula for formula in conditions)


def test_the_readings_to_expect_follow_the_data_sheet() -> None:
    """Figures of the example, by hand: 2 in series × 22.5 V; 3 strings × 9.2 A; 65.25 °C cells; −4 mV × 12 cells."""
    values = evaluate(whole_example())
    assert values["array_voc"] == pytest.approx(45.0)
    assert values["array_voc_hot"] == pytest.approx(45 * (1 - 0.0031 * 40.25))
    assert values["array_isc"] == pytest.approx(27.6)
    assert values["compensation_bank"] == pytest.approx(-48)
    assert evaluate(whole_example(controller_tempcomp="no"))["compensation_bank"] == 0
    assert values["charge_i_expected"] == values["pwm_i_absorb"]
    mppt = evaluate(DESIGNS["MPPT"])
    assert mppt["charge_i_expected"] == mppt["mppt_i_out"] != values["charge_i_expected"]


def of_row(shown: dict[tuple[int, int], str], row: int) -> list[str]:
    return [text for (found, _), text in sorted(shown.items()) if found == row and text]


def test_each_step_says_what_a_meter_must_read_before_the_next() -> None:
    """Two of 12.2 to 12.7 V in series; strings 0.1 V apart for each 12 V; module strings between hottest and coldest."""
    shown = printed("the example")
    first = {text[0]: place[0] for place, text in shown.items() if re.fullmatch(r"\d \[ \]", text)}
    assert list(first) == list("1234567")
    assert list(first.values()) == sorted(first.values())
    must = {number: of_row(shown, row)[2:] for number, row in first.items()}
    assert must["2"] == ["12.2", "to", "12.7", "V"]
    assert must["3"] == ["apart at most", "0.2", "V"]
    assert must["4"] == ["24.4", "to", "25.4", "V"]
    hottest, coldest = (float(must["5"][place]) for place in (0, 2))
    values = evaluate(DESIGNS["the example"])
    assert (hottest, coldest) == pytest.approx((values["array_voc_hot"], values["array_voc_cold"]), rel=1e-4)


def test_no_fuse_goes_in_before_its_step_has_read_volts_and_sign() -> None:
    steps = words()["installation"]["step"]
    battery, strings = (next(n for n, step in enumerate(steps) if key in step["what"]) for key in ("battery fuse", "module string"))
    assert battery < strings  # battery first, array last
    for step in steps[1:]:
        what = step["what"]
        assert step["values"] or step["read"].startswith("as step")
        for fitting in (" in.", " in:", " in,", "; fuse in"):
            before = what.split(fitting)[0] if fitting in what else what
            assert re.search(r"open|alone|device out", before)
    assert "no minus sign" in " ".join(texts("the example"))


@pytest.mark.parametrize(
    ("chemistry", "block", "low", "full"),
    [("flooded", 12, 12.2, 12.7), ("AGM", 6, 6.15, 6.45), ("gel", 2, 2.05, 2.15), ("LiFePO4", 3, 3.275, 3.35)],
)
def test_a_battery_at_rest_reads_as_its_chemistry(chemistry: str, block: float, low: float, full: float) -> None:
    found = evaluate(whole_example(battery_chemistry=chemistry, battery_block=block))
    assert (found["block_rest_low"], found["block_rest_full"]) == pytest.approx((low, full))
    assert (found["bank_rest_low"], found["bank_rest_full"]) == pytest.approx((24 / block * low, 24 / block * full))
    assert found["battery_v_low"] < found["bank_rest_low"] < found["bank_rest_full"] < found["battery_v_float"]
    assert found["bank_rest_gap"] == pytest.approx(0.2)


def test_the_sheet_says_what_the_charge_volts_are_at_the_coldest_battery() -> None:
    """28.8 and 30.0 V at 25 °C; −4 mV × 12 cells × −35 K at −10 °C is 1.68 V."""
    cold = evaluate(whole_example(battery_t_min=-10))
    assert (cold["absorb_v_cold"], cold["battery_v_high_cold"], cold["battery_fuse_volts"]) == pytest.approx((30.48, 31.68, 32))
    plain = evaluate(whole_example(battery_t_min=-10, controller_tempcomp="no"))
    assert (plain["absorb_v_cold"], plain["battery_v_high_cold"], plain["battery_fuse_volts"]) == pytest.approx((28.8, 30.0, 30))


def test_every_page_is_marked_as_an_example_until_every_name_of_it_is_gone() -> None:
    mark = words()["installation"]["example"]
    own = {"site_name": "A school", "module_name": "Own module", "controller_name": "Own controller"}
    assert set(own) == set(example_names())
    for profile in ("nec-2023", "iec-62548", "iec-60364-7-712", "nec-2020"):
        pages_of = {formula.key for page, _, _, formula in plan_for(load_profile(profile)).formulas() if page.name == SHEET}
        assert {"example_mark", "example_or_site"} <= pages_of
        values = evaluation(profile).all_values(example(**cables(profile)))
        assert (values["example_mark"], values["example_or_site"]) == (mark, mark)
    for left in own:
        changed = evaluation().all_values(whole_example(**{name: value for name, value in own.items() if name != left}))
        assert changed["example_mark"] == mark
    assert evaluation().all_values(whole_example(**own))["example_mark"] == ""
    assert evaluation().all_values(whole_example(**own))["example_or_site"] == "A school"
    assert evaluation().all_values({})["example_or_site"] == "not entered"


def test_no_insulation_is_shown_for_a_run_without_a_conductor() -> None:
    assert evaluate(example())["fitted_array_insulation"] is None
    assert evaluate(whole_example())["fitted_array_insulation"] == "90C"


def test_the_worst_month_is_named() -> None:
    assert evaluate(whole_example())["energy_worst_month"] == 6
    assert evaluate(whole_example())["energy_worst_name"] == "June"
    assert evaluate(whole_example(dec_sun=1))["energy_worst_name"] == "December"
    assert evaluate(example(jan_sun=None))["energy_worst_name"] is None
