"""Drawn designs: in every formula cell the engines and the reference say the same."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from tests.compared import numbered, wrong_in
from tests.engines import Book, Engine, engine
from tests.known import as_arrays
from tests.strategies import (
    PROFILES,
    TIMES,
    Case,
    as_reference,
    changes,
    designs,
    edges,
    shrunk,
    ties,
    unlike_the_example,
)
from tests.support import evaluation, example, example_inputs, model, whole_example, write_stale

BATCH, BATCHES = 100, 1 * TIMES  # for each of four profiles: 400 designs; 4,000 in a thorough run
SETTINGS = settings(derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck))


@pytest.fixture(scope="module")
def workbooks(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("properties")
    return {profile: write_stale(folder / f"{profile}.xlsx", profile) for profile in PROFILES}


@pytest.fixture(scope="module")
def ironcalc_book(workbooks: dict[str, Path]) -> Iterator[Book]:
    with engine("ironcalc").open(workbooks["nec-2023"]) as book:
        yield book


@pytest.fixture(scope="module")
def libreoffice_book(workbooks: dict[str, Path]) -> Iterator[Book]:
    with engine("libreoffice").open(workbooks["nec-2023"]) as book:
        yield book


def wrong_cells(chosen: Engine, book: Book, cases: list[Case], profile: str) -> list[tuple[Case, list[str]]]:
    found = wrong_in(chosen, book, numbered(cases), profile)
    return [(case, found[title]) for title, case in numbered(cases).items() if title in found]


def report(chosen: Engine, book: Book, wrong: list[tuple[Case, list[str]]], profile: str) -> str:
    """One wrong case for each cell that is wrong first, reduced to what differs from the example."""
    by_cell = {lines[0].split(": shows")[0]: case for case, lines in reversed(wrong)}
    shown = [f"{profile}: {len(wrong)} designs differ, first in {len(by_cell)} cells"]
    for case in list(by_cell.values())[:4]:
        least = shrunk(case, lambda candidate: bool(wrong_cells(chosen, book, [candidate], profile)))
        lines = wrong_cells(chosen, book, [least], profile)[0][1]
        shown.append(f"{unlike_the_example(least)}: {'; '.join(lines[:4])}")
    return "\n".join(shown)


@pytest.mark.parametrize("profile", PROFILES)
def test_every_cell_of_many_drawn_designs_agrees_in_libreoffice(workbooks: dict[str, Path], profile: str) -> None:
    chosen = engine("libreoffice")
    with chosen.open(workbooks[profile]) as book:
        wrong = []
        for seed in range(BATCHES):
            wrong += wrong_cells(chosen, book, designs(profile, seed, BATCH), profile)
        assert not wrong, report(chosen, book, wrong, profile)


@pytest.mark.parametrize("profile", PROFILES)
def test_every_cell_of_drawn_designs_agrees_in_ironcalc(workbooks: dict[str, Path], profile: str) -> None:
    chosen = engine("ironcalc")
    with chosen.open(workbooks[profile]) as book:
        wrong = wrong_cells(chosen, book, designs(profile, 1000, 10 * TIMES), profile)
        assert not wrong, report(chosen, book, wrong, profile)


@settings(SETTINGS, max_examples=25 * TIMES)
@given(case=changes())
def test_any_few_entries_typed_anew_agree_in_ironcalc(ironcalc_book: Book, case: Case) -> None:
    wrong = wrong_cells(engine("ironcalc"), ironcalc_book, [{**example_inputs(), **case}], "nec-2023")
    assert not wrong, wrong[0][1][:6]


@settings(SETTINGS, max_examples=25 * TIMES)
@given(case=changes())
def test_any_few_entries_typed_anew_agree_in_libreoffice(libreoffice_book: Book, case: Case) -> None:
    wrong = wrong_cells(engine("libreoffice"), libreoffice_book, [{**example_inputs(), **case}], "nec-2023")
    assert not wrong, wrong[0][1][:6]


def test_the_drawn_designs_reach_every_outcome_of_every_check() -> None:
    reached: dict[str, set[str]] = {}
    no_loads = {name: None for name in example_inputs() if name.startswith("load")}
    # drawn entries seldom make a whole system of loads, months, cables and confirmations, nor spoil a given one: these do
    whole = [example(), example(**no_loads), whole_example(), whole_example(battery_capacity=100), whole_example(array_parallel=1)]
    unconfirmed = {name: None for name in example_inputs() if name.startswith("confirm")}
    whole += [example(**unconfirmed), example(controller_i_load=3), example(controller_i_load=None)]
    whole += [example(controller_load_output="all loads", controller_i_load=100)]
    whole += [example(site_altitude="high", enclosure_ip="tight", confirm_labels="maybe")]
    for profile in PROFILES:
        drawn = [as_reference(case) for case in designs(profile, 0, 300)]
        values = evaluation(profile).all_values(as_arrays([*drawn, *(whole if profile == "nec-2023" else [])]))
        for name in [*(check.name for check in model(profile).checks), "verdict"]:
            reached.setdefault(name, set()).update(np.ravel(values[name]))
    missed = {check.name: missing for check in model().checks if (missing := {*check.sentences, "INCOMPLETE"} - reached[check.name])}
    assert not missed
    assert reached["verdict"] == {"PASS", "PASS WITH NOTES", "FAIL", "INCOMPLETE"}


def test_edges_and_ties_are_drawn_for_every_table_and_every_limit_that_is_an_input() -> None:
    found = edges(model())
    assert {-40.0, -40.0 - 1e-10, -40.0 + 1e-6, 25.0} <= set(found["site_t_min"])
    assert {66.0 - 1e-10, 66.0} <= set(found["module_cells"])
    known = {(name, other) for name, other, _ in ties(model())}
    assert ("controller_v_max", "array_voc_cold") in known
    assert ("module_vmp", "module_voc") in known


def test_a_seed_always_draws_the_same_designs() -> None:
    assert designs("nec-2023", 7, 20) == designs("nec-2023", 7, 20)
