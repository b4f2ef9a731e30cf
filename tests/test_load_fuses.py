"""Fuses of direct loads and inverter: standard sizes between their current and what cable and load output allow."""

from __future__ import annotations

from typing import Any

import pytest

from tests.answers import evaluate
from tests.support import cables, evaluation, example, whole_example
from tests.test_wiring import AC, CHANGES, of, values
from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.profiles import load_profile

LOAD = ("name", "w", "count", "hours", "supply", "surge", "days")


def test_fuses_of_loads_and_inverter_bear_their_currents_and_are_none_where_there_is_nothing() -> None:
    """117 W of direct loads from 22.8 V × 1.25 = 6.4 A; an inverter of 400 W with 90 % and 6 W idle: 24.7 A."""
    found = evaluate(whole_example())
    assert found["load_fuse_i"] == pytest.approx(1.25 * 117 / 22.8)
    assert found["inverter_fuse_i"] == pytest.approx(1.25 * (400 / 0.9 + 6) / 22.8)
    assert evaluate(whole_example(inverter_power=200, inverter_surge=None))["inverter_fuse_i"] == pytest.approx(
        1.25 * (230 / 0.9 + 6) / 22.8
    )
    assert evaluate(of("only loads behind an inverter"))["load_fuse_i"] is None
    none = evaluate(of("all loads, none needs an inverter"))
    assert (none["inverter_fuse_i"], none["drawn_inverter"], none["check_load_output"]) == (None, "no inverter", "PASS")
    assert evaluate(of("all loads, some need an inverter"))["check_load_output"] != "PASS"


@pytest.mark.parametrize("profile", ["nec-2023", "iec-62548"])
def test_fuses_of_the_loads_are_standard_sizes_between_their_current_and_what_the_cable_allows(profile: str) -> None:
    tables = {table.name: table for table in load_profile(profile).tables}
    sizes, seen = tables["standard_ratings"].column("amps").values, set()
    for size in tables["conductors"].column("size").values[:6]:
        for watts in (10, 60, 400):
            cables = {"run_load_size": str(size), "run_inverter_size": str(size)}
            found = values(profile, **cables, load1_w=watts, load1_supply="DC", controller_i_load=400, inverter_power=3 * watts)
            for run, fuse, least in (("load", "load_fuse", "load_fuse_i"), ("inverter", "inverter_fuse", "inverter_fuse_i")):
                allowed = [float(one) for one in sizes if one <= found[f"runs_{run}_cap"] + 1e-9]
                assert found[f"{fuse}_most"] == max(allowed)
                fitting = [one for one in allowed if one >= found[least] - 1e-9]
                assert found[f"shown_{fuse}"] == (min(fitting) if fitting else "none fits")
                assert is_missing(found[fuse]) == (not fitting)
                seen.add((fuse, bool(fitting)))
    assert ("load_fuse", False) in seen
    assert {("load_fuse", True), ("inverter_fuse", True)} <= seen


def test_a_fuse_of_the_loads_without_their_cable_is_the_next_size_and_its_limit_is_open() -> None:
    """6.4 A and 24.7 A: 10 and 25 A; nothing without such loads."""
    found = evaluation().all_values(of("no cables"))
    assert (found["load_fuse"], found["inverter_fuse"]) == (10, 25)
    assert is_missing(found["load_fuse_most"])
    assert is_missing(found["inverter_fuse_most"])
    assert (found["check_load_fuses"], found["check_inverter_fuse"]) == ("NOT JUDGED", "NOT JUDGED")
    assert found["shown_load_fuse_most"] == "□ not chosen here"
    assert values(load1_w="many")["shown_load_fuse"] == values(load1_w="many")["shown_inverter_fuse"] == "not known yet"
    assert values(**AC)["shown_load_fuse"] == "none"
    assert values(**CHANGES["all loads, none needs an inverter"])["shown_inverter_fuse"] == "none"


def test_a_cable_outside_the_tables_leaves_its_fuse_open_and_asks_for_no_other_entry() -> None:
    """The tables of this code begin with conductors for 70 °C."""
    found = evaluation("iec-62548").all_values(example(**(cables("iec-62548") | {"run_terminals_t": 60})))
    for check in ("check_load_fuses", "check_inverter_fuse"):
        assert found[check] == "INCOMPLETE"
        assert "air or terminals" in found[f"meaning_{check}"]


@pytest.mark.parametrize(
    ("rating", "most", "fuse", "verdict"),
    [(20, 20, 10, "PASS"), (10, 10, 10, "PASS"), (9.9, 6, None, "FAIL"), (0.5, 0, None, "FAIL"), (None, None, 10, "PASS")],
)
def test_a_fuse_of_the_direct_loads_is_not_above_the_rating_of_the_load_output(
    rating: float | None, most: float | None, fuse: float | None, verdict: str
) -> None:
    """6.4 A asks 10 A; below a rating of 9.9 A the next standard size is 6 A, and none is below 0.5 A."""
    found = evaluate(whole_example(controller_i_load=rating))
    assert (found["output_fuse_most"], found["load_fuse"], found["check_load_fuses"]) == (most, fuse, verdict)


def test_the_rating_of_the_load_output_does_not_limit_fuses_on_the_battery() -> None:
    found = evaluate(whole_example(controller_load_output="no", controller_i_load=0.5))
    assert (found["output_fuse_most"], found["load_fuse"], found["check_load_fuses"]) == (None, 10, "PASS")


def test_an_inverter_whose_fuse_its_own_cable_does_not_allow_fails() -> None:
    """A cable for 30 A: the 24.7 A of an inverter of 400 W ask 25 A, those of 500 W (30.8 A) 35 A; the direct loads do not matter."""
    thin = {"run_inverter_size": "10 AWG", "run_inverter_length": 1}
    assert evaluate(whole_example(**thin))["check_inverter_fuse"] == "PASS"
    assert evaluate(whole_example(**thin, run_load_size="14 AWG"))["check_inverter_fuse"] == "PASS"
    strong = evaluate(whole_example(**thin, inverter_power=500))
    assert (strong["inverter_fuse"], strong["check_inverter_fuse"], strong["check_load_fuses"]) == (None, "FAIL", "PASS")


@pytest.mark.parametrize(
    ("changes", "verdict"),
    [
        ({"run_load_length": None, "run_load_size": None}, "NOT JUDGED"),
        ({"run_load_size": None}, "NOT JUDGED"),
        ({"load1_w": "many"}, "INCOMPLETE"),
        ({f"load{n}_{what}": None for n in range(1, 13) for what in LOAD}, "N/A"),
    ],
    ids=["no cable", "half a cable", "a load that is refused", "no loads"],
)
def test_fuses_of_loads_are_not_passed_where_loads_or_cable_are_not_known(changes: dict[str, Any], verdict: str) -> None:
    assert evaluate(whole_example(**changes))["check_load_fuses"] == verdict
