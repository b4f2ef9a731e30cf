"""Laws that need no numbers: what makes a hazard worse never makes an answer better."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.answers import Answers, evaluate
from tests.engines import Book, CellError, engine
from tests.strategies import PROFILES, as_entries, plausible, some
from tests.support import cables, evaluation, example, model, write_stale

COUNT = 120
SETTINGS = settings(derandomize=True, deadline=None, database=None, max_examples=3)
PERMISSIVE = ("PASS", "NOTE")
Designs = dict[str, Any]
Change = Callable[[Designs, float], Designs]
SEEDS = st.integers(0, 7)
AMOUNTS = st.floats(1e-9, 1)
"""How far a change goes, as a share of the farthest."""


@cache
def designs(profile: str, seed: int) -> Designs:
    """A batch of plausible designs, each with all its entries accepted."""
    return plausible(profile, seed, COUNT)


@cache
def judged(profile: str, seed: int) -> Answers:
    return Answers(evaluation(profile), designs(profile, seed))


def scaled(name: str, farthest: float) -> Change:
    return lambda batch, amount: batch | {name: batch[name] * (1 + (farthest - 1) * amount)}


def moved(name: str, farthest: float) -> Change:
    return lambda batch, amount: batch | {name: batch[name] + farthest * amount}


def more(name: str, most: int) -> Change:
    return lambda batch, amount: batch | {name: batch[name] + math.ceil(most * amount)}


def stricter_place(profile: str) -> Change:
    """Move every array to the place with the lowest voltage limit of the profile."""
    table = next(table for table in model(profile).tables if table.name == "voltage_limit")
    limits = dict(zip(table.column("limit").values, table.column("place").values, strict=True))
    strictest = np.full(COUNT, limits[min(limits)], dtype=object)
    return lambda batch, _: batch | {"site_place": strictest}


@dataclass(frozen=True)
class Worsening:
    """A change that makes a hazard worse, and the safety checks for which it rightly does the opposite."""

    change: Change
    helps: tuple[str, ...] = ()


# a longer string, or modules of a higher voltage, can charge a battery that a shorter one cannot
CHARGES = ("check_can_charge",)
# a device that is too large for a code's multiple of a small current is not for a larger one; and more strings ask for fuses, which
# protect the cables of the strings as well
WINDOWS = ("check_array_protection", "check_string_fuse", "check_string_cable")
WORSE = {
    # a colder battery withstands a higher charge voltage, and the limit may rise by more than the compensation
    "colder": Worsening(moved("site_t_min", -60.0), ("check_charge_limit_cold",)),
    "slightly colder": Worsening(moved("site_t_min", -1.0), ("check_charge_limit_cold",)),
    "more in series": Worsening(more("array_series", 6), CHARGES),
    "more strings": Worsening(more("array_parallel", 6), WINDOWS),
    "higher Voc": Worsening(scaled("module_voc", 1.5), CHARGES),
    "higher Isc": Worsening(scaled("module_isc", 1.5), WINDOWS),
    "more light on the rear": Worsening(moved("module_bifacial_gain", 30.0), WINDOWS),
    "steeper in the cold": Worsening(moved("module_beta_voc", -0.4), CHARGES),
    "lower voltage limit of the controller": Worsening(scaled("controller_v_max", 0.2)),
    # a smaller controller also charges more gently: battery, its fuse, its cable and its gas rightly fare better
    "lower current limit of the controller": Worsening(
        scaled("controller_i_max", 0.2),
        ("check_battery_current", "check_battery_fuse", "check_conductors", "check_ventilation", "check_spark_distance"),
    ),
    "lower short-circuit limit of the controller": Worsening(scaled("controller_i_sc_max", 0.2)),
    # a smaller device protects the cable that a larger one does not
    "smaller device on the PV input": Worsening(scaled("controller_ocp", 0.2), ("check_array_protection", "check_string_cable")),
    "lower limit of the module": Worsening(scaled("module_max_system_voltage", 0.2)),
}


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("worse", [*WORSE, "stricter place"])
@SETTINGS
@given(seed=SEEDS, amount=AMOUNTS)
def test_what_makes_a_hazard_worse_never_turns_a_fail_into_a_pass(profile: str, worse: str, seed: int, amount: float) -> None:
    batch = designs(profile, seed)
    step = Worsening(stricter_place(profile)) if worse == "stricter place" else WORSE[worse]
    changed = step.change(batch, amount)
    before = judged(profile, seed)
    after = before.with_other({name: value for name, value in changed.items() if value is not batch.get(name)})
    safety = [check.name for check in model(profile).checks if check.safety]
    names = [name for name in safety if name not in step.helps]
    for name in names:
        better = np.equal(before[name], "FAIL") & np.isin(after[name].astype(str), PERMISSIVE)
        assert not better.any(), f"{name}: {first(batch, changed, better)}"
    failed = np.any([np.equal(before[name], "FAIL") for name in names], axis=0)
    better = failed & np.char.startswith(after["verdict"].astype(str), "PASS")
    assert not better.any(), f"verdict: {first(batch, changed, better)}"


def first(batch: Designs, changed: Designs, where: Any) -> str:
    """The first design of a batch that breaks a law, and what was changed in it."""
    place = int(np.argmax(where))
    design = {name: array[place] for name, array in batch.items() if array[place] == array[place]}
    moves = [f"{name} from {batch[name][place]} to {changed[name][place]}" for name in batch if batch[name] is not changed[name]]
    return f"{', '.join(moves)} in {design}"


def sure(worse: Any, better: Any) -> Any:
    """Where both values are known."""
    return ~np.isnan(worse) & ~np.isnan(better)


@pytest.mark.parametrize("profile", PROFILES)
@SETTINGS
@given(seed=SEEDS, amount=AMOUNTS)
def test_colder_never_lowers_the_cold_voltage(profile: str, seed: int, amount: float) -> None:
    batch = designs(profile, seed)
    colder = moved("site_t_min", -60.0)(batch, amount)
    before, after = (evaluate(one, profile)["array_voc_cold"] for one in (batch, colder))
    lower = sure(before, after) & (after < before - 1e-9)
    assert not lower.any(), first(batch, colder, lower)


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("method", ["coefficient", "table", "higher of both"])
@pytest.mark.parametrize("coefficient", [-0.1, -0.2, -0.3, -0.6])
def test_the_cold_factor_never_falls_on_the_way_from_35_to_minus_60_degrees(profile: str, method: str, coefficient: float) -> None:
    down = np.arange(35, -60.1, -0.25)
    asked = example(site_t_min=down, site_t_max=40, voc_method=method, module_beta_voc=coefficient)
    factors = evaluate(asked, profile)["voc_factor"]
    known = factors[~np.isnan(factors)]
    falls = np.flatnonzero(np.diff(known) < 0)
    assert known.size > 1
    assert not falls.size, f"from {known[falls[0]]} to {known[falls[0] + 1]} below {down[falls[0]]} °C"


@pytest.mark.parametrize("name", ["array_isc", "array_isc_max", "array_imp"])
@SETTINGS
@given(seed=SEEDS, amount=AMOUNTS)
def test_more_strings_raise_every_current(name: str, seed: int, amount: float) -> None:
    batch = designs("nec-2023", seed)
    stronger = more("array_parallel", 6)(batch, amount)
    before, after = (evaluate(one)[name] for one in (batch, stronger))
    assert sure(before, after).any()
    lower = sure(before, after) & (after <= before)
    assert not lower.any(), first(batch, stronger, lower)


@pytest.mark.parametrize(("name", "farthest"), [("site_t_max", 50.0), ("module_noct", 20.0)])
@SETTINGS
@given(seed=SEEDS, amount=AMOUNTS)
def test_hotter_never_raises_the_hot_voltage(name: str, farthest: float, seed: int, amount: float) -> None:
    batch = designs("nec-2023", seed)
    hotter = moved(name, farthest)(batch, amount)
    before, after = (evaluate(one)["array_vmp_hot"] for one in (batch, hotter))
    higher = sure(before, after) & (after > before + 1e-9)
    assert not higher.any(), first(batch, hotter, higher)


@pytest.mark.parametrize("name", ["run_array_drop_allowed", "run_battery_drop_allowed", "controller_v_drop"])
@SETTINGS
@given(seed=SEEDS, amount=AMOUNTS)
def test_more_drop_never_lowers_the_voltage_that_charging_needs(name: str, seed: int, amount: float) -> None:
    batch = designs("nec-2023", seed)
    changed = moved(name, 2.0)(batch, amount)
    before, after = (evaluate(one) for one in (batch, changed))
    for needed in ("charge_v_needed", "charge_v_needed_cold"):
        lower = sure(before[needed], after[needed]) & (after[needed] < before[needed] - 1e-9)
        assert not lower.any(), f"{needed}: {first(batch, changed, lower)}"


# what is drawn for these is seldom complete, or seldom passes
OF_THE_EXAMPLE = ("load", "run_", "confirm", "array_device", "controller_ocp")


def test_the_drawn_designs_hold_both_passes_and_fails_of_every_safety_check() -> None:
    """Drawn ones with the example's loads, with a weak inverter and bank, with its cables and confirmations, and under an IEC code."""
    reached: dict[str, set[str]] = {}
    weak = {"inverter_power": 100.0, "inverter_surge": 150.0, "battery_i_discharge_max": 5.0, "battery_i_discharge_surge": 5.0}
    for profile, kept, more in (
        ("nec-2023", ("load",), {}),
        ("nec-2023", ("load",), weak),
        ("nec-2023", OF_THE_EXAMPLE, {}),
        ("iec-62548", OF_THE_EXAMPLE, {"confirm_double_insulation": "no", "confirm_cable_laying": "no"}),
        ("iec-62548", OF_THE_EXAMPLE, {}),
    ):
        whole = {name: value for name, value in example(**cables(profile)).items() if name.startswith(kept)}
        drawn = {name: values for name, values in designs(profile, 1).items() if not name.startswith(kept)}
        answer = evaluate(drawn | whole | more, profile)
        if not more:
            assert np.isin(answer["verdict_match"], ["PASS", "PASS WITH NOTES", "FAIL"]).mean() > 0.5
        for check in model(profile).checks:
            reached.setdefault(check.name, set()).update(np.atleast_1d(answer[check.name]).tolist())
    for check in model().checks:
        if check.safety:
            assert {"PASS", "FAIL"} <= reached[check.name], check.name


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    path = write_stale(tmp_path_factory.mktemp("laws") / "workbook.xlsx")
    with engine("libreoffice").open(path) as opened:
        yield opened


def rows(batch: Designs, count: int) -> list[dict[str, Any]]:
    cases = []
    for place in range(count):
        case = {name: array[place] for name, array in batch.items()}
        case = {name: value.item() if isinstance(value, np.generic) else value for name, value in case.items()}
        cases.append({name: value for name, value in case.items() if value == value and value != ""})  # noqa: PLR0124
    return cases


@pytest.mark.parametrize("worse", some(list(WORSE), 2))
def test_the_workbook_itself_keeps_the_law(book: Book, worse: str) -> None:
    count, batch = 40, designs("nec-2023", 7)
    step = WORSE[worse]
    judged = [check.name for check in model().checks if check.safety and check.name not in step.helps]
    before, after = (
        book.recalculate_many([as_entries(case) for case in rows(one, count)], [*judged, "verdict"])
        for one in (batch, step.change(batch, 0.3))
    )
    wrong = []
    for old, new in zip(before, after, strict=True):
        wrong += [name for name in judged if old[name] == "FAIL" and new[name] in PERMISSIVE]
        wrong += ["verdict"] if "FAIL" in {old[name] for name in judged} and str(new["verdict"]).startswith("PASS") else []
        wrong += [f"{name} shows an error" for name, value in (old | new).items() if isinstance(value, CellError)]
    assert not wrong
