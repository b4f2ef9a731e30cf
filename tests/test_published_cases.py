"""Published examples come out as published: in the reference, and in every cell of the workbook in every engine."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests.answers import evaluate
from tests.compared import differences, differences_in, expected_cells, places, stored_in, wrong_in
from tests.engines import ENGINES, Book, engine
from tests.engines.formulas_engine import FormulasEngine
from tests.published import KEYS, MARKS, Case, cases, raw_cases
from tests.strategies import as_entries, as_reference, some
from tests.support import evaluation, example, model, whole_example, write_stale
from workbook_builder.file.building import build
from workbook_builder.file.reading import read_workbook
from workbook_builder.language.profiles import built_in, load_profile

FAST = [name for name in ENGINES if name != "formulas"]


@pytest.fixture(scope="module", params=built_in())
def profile(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def workbook(profile: str, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_stale(tmp_path_factory.mktemp("published") / f"{profile}.xlsx", profile)


@pytest.fixture(scope="module", params=FAST)
def book(request: pytest.FixtureRequest, profile: str, workbook: Path) -> Iterator[tuple[str, Book]]:
    with engine(request.param).open(workbook) as opened:
        yield request.param, opened


def test_every_case_names_its_source_and_how_far_it_was_checked() -> None:
    wrong = [
        f"{file.name}, {case.get('title')}"
        for file, case in raw_cases()
        if not str(case.get("title", "")).strip()
        or len(str(case.get("source", ""))) < 15
        or case.get("mark") not in MARKS
        or not case.get("expect")
        or set(case) - KEYS
    ]
    assert not wrong


def test_no_two_cases_have_the_same_title() -> None:
    titles = [case.title for case in cases()]
    assert len(titles) == len(set(titles))


def test_every_case_speaks_of_inputs_and_results_that_exist() -> None:
    inputs = {profile: {entry.name for entry in model(profile).inputs} for profile in built_in()}
    results = {profile: set(evaluate({}, profile)) for profile in built_in()}
    wrong = []
    for case in cases():
        unknown = set(case.inputs) - inputs[case.profile] | set(case.expect) - results[case.profile]
        wrong += [f"{case.title}: {name}" for name in unknown]
    assert not wrong


def test_every_profile_has_cases_of_its_own(profile: str) -> None:
    assert any(case.profile == profile for case in cases())


@pytest.mark.parametrize("case", cases(), ids=lambda case: case.title)
def test_the_reference_gives_what_is_published(case: Case) -> None:
    failures = case.failures(evaluate(case.inputs, case.profile))
    assert not failures, f"{case.source}: {'; '.join(failures)}"


def test_what_a_case_completes_is_accepted_everywhere() -> None:
    """A case must not come out right because half of its design was refused."""
    wrong = []
    for case in cases():
        values = evaluate(case.inputs, case.profile)
        statuses = {name for name in values if name.startswith("status_")} - set(case.expect)
        refused = {name for name in statuses if values[name] in REFUSED}
        wrong += [f"{case.title}: {name} {values[name]}" for name in refused]
    assert not wrong


REFUSED = ("missing", "out of range", "not a number", "not in the list")


def test_every_cell_of_the_workbook_agrees_in_published_cases(profile: str, book: tuple[str, Book]) -> None:
    """In LibreOffice all of them, in the other program some; a thorough run gives both all."""
    name, opened = book
    own = [case for case in cases() if case.profile == profile]
    assert own
    if name == "ironcalc" or profile == "nec-2020":  # whose figures are those of nec-2023, and so are its cases
        own = list(some(own, 3))
    assert not wrong_in(engine(name), opened, {case.title: case.inputs for case in own}, profile)


@pytest.mark.parametrize("inputs", [example(), {}], ids=["example", "blank"])
def test_every_cell_of_a_profile_agrees(profile: str, book: tuple[str, Book], inputs: dict[str, Any]) -> None:
    name, opened = book
    assert not wrong_in(engine(name), opened, {"this design": inputs}, profile)


def test_ironcalc_finds_every_name_of_the_file_as_it_is(tmp_path: Path) -> None:
    """Elsewhere it reads a copy with addresses for names, which it opens and calculates many times faster."""
    with engine("ironcalc").open_as_it_is(write_stale(tmp_path / "stale.xlsx")) as opened:
        assert not wrong_in(engine("ironcalc"), opened, {"whole": whole_example(), "blank": {}})


def test_every_profile_builds_and_stores_what_the_reference_computes(profile: str, tmp_path: Path) -> None:
    for inputs in (example(), {}) if profile == "nec-2023" else ({},):
        path = tmp_path / f"{profile}-{len(inputs)}.xlsx"
        assert build(inputs, path, profile).verdict == evaluate(inputs, profile)["verdict"]
        assert not differences(engine("ironcalc"), stored_in(path, profile), inputs, profile)
        assert read_workbook(path).profile == load_profile(profile).key


def test_the_public_build_is_a_function_whatever_was_imported_before() -> None:
    import_module("workbook_builder.file.building")
    assert callable(import_module("workbook_builder").build)


# The traps: relations between results, which no single example shows.


def test_the_higher_of_both_methods_is_never_below_either() -> None:
    for t_min in (-55, -40, -33.3, -5.5, 0, 12, 25, 30):
        for beta in (-0.6, -0.31, -0.1):
            values = evaluate(example(voc_method="higher of both", site_t_min=t_min, site_t_max=45, module_beta_voc=beta))
            if t_min < -40 and beta == -0.1:  # no table to be held against, and a coefficient that cannot be believed
                assert values["voc_factor"] is None
                continue
            table = values["voc_factor_table"] or 1.25  # below its end the last row remains the floor
            assert values["voc_factor"] == max(values["voc_factor_coefficient"], table)


def test_both_methods_are_always_shown_whatever_is_chosen() -> None:
    for method in ("coefficient", "table", "higher of both"):
        values = evaluate(example(voc_method=method))
        assert values["voc_factor_coefficient"] is not None
        assert values["voc_factor_table"] is not None


def test_the_battery_does_not_heat_the_array_nor_the_air_a_battery_with_a_room_of_its_own() -> None:
    here = evaluate(example(battery_t_min=5, battery_t_max=20))
    warmer_battery = evaluate(example(battery_t_min=5, battery_t_max=30))
    hotter_air = evaluate(example(battery_t_min=5, battery_t_max=20, site_t_max=45))
    assert here["cell_t_hot"] == warmer_battery["cell_t_hot"] != hotter_air["cell_t_hot"]
    assert here["charge_v_needed"] == hotter_air["charge_v_needed"] != warmer_battery["charge_v_needed"]


@pytest.mark.parametrize("limit", ["series_max_code", "series_max_module", "series_max_controller"])
def test_a_count_in_series_rounds_down_so_that_one_more_module_fails(limit: str) -> None:
    check = {
        "series_max_code": "check_code_voltage",
        "series_max_module": "check_module_voltage",
        "series_max_controller": "check_cold_voltage",
    }[limit]
    for voc, t_min in ((22.5, -12), (49.5, -10), (20.0, 25), (37.5, -3.3), (33.3, 4)):
        design = example(
            module_voc=voc,
            module_vmp=voc * 0.8,
            module_pmp=None,
            site_t_min=t_min,
            site_place="dwelling",
            controller_v_max=600,
        )
        count = evaluate(design)[limit]
        assert count >= 1
        assert evaluate(design | {"array_series": count})[check] == "PASS"
        assert evaluate(design | {"array_series": count + 1})[check] == "FAIL"


def test_a_count_in_parallel_rounds_down_so_that_one_more_string_passes_no_longer() -> None:
    for isc, rating in ((9.2, 40), (8.0, 20), (8.0, 19.9), (5.46, 70)):
        design = example(module_isc=isc, module_imp=isc * 0.93, module_pmp=None, controller_i_max=rating)
        count = evaluate(design)["parallel_max_controller"]
        assert count >= 1
        assert evaluate(design | {"array_parallel": count})["check_array_current"] == "PASS"
        assert evaluate(design | {"array_parallel": count + 1})["check_array_current"] != "PASS"


def test_the_cells_agree_in_formulas_in_a_published_case(tmp_path: Path) -> None:
    """A quarter of a minute a case, and a minute to open: it gets a case of one profile.

    It goes without the list of arrangements: three thousand cells, each an instance of a formula that stands elsewhere too.
    """
    left_out = evaluation().resting_on(key for key, one in evaluation().calculations.items() if one.family == "arrangements")
    read = [place for place, key in places("nec-2023") if key not in left_out]
    case = next(case for case in cases() if case.profile == "nec-2023")
    chosen = engine("formulas")
    assert isinstance(chosen, FormulasEngine)
    with chosen.open_part(write_stale(tmp_path / "stale.xlsx"), read) as opened:
        shown = opened.recalculate(as_entries(case.inputs), read)
    expected = expected_cells(as_reference(case.inputs))
    assert len(read) > 8000
    assert not differences_in(chosen, shown, {place: expected[place] for place in read})
