"""String cables, earth conductor, battery links and fuses, where the loads hang, one string by pencil, a full battery."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.answers import evaluate
from tests.compared import wrong_in
from tests.engines import engine
from tests.roof import DAY, design, faulty, wave
from tests.support import cables, evaluation, example, whole_example, write_stale
from workbook_builder.file.building import plan_for
from workbook_builder.file.emit import theme
from workbook_builder.file.plan import Formula, Sheet
from workbook_builder.language.profiles import built_in, load_profile
from workbook_builder.language.wording import ABSENT

DC = {f"load{n}_supply": "DC" for n in range(1, 6)}
AC = {f"load{n}_supply": "AC" for n in range(1, 6)}
CHANGES: dict[str, dict[str, Any]] = {
    "the example": {},
    "without a device on the PV input": {"controller_ocp": None, "array_parallel": 2},
    "two strings, a device": {"array_parallel": 2},
    "one string, a small device": {"array_parallel": 1, "controller_ocp": 20},
    "no string fuse fits": {"array_parallel": 4, "module_max_fuse": 10},
    "a roof too hot for the tables": {"site_t_max": 60},
    "large devices": {"controller_i_max": 399, "controller_ocp": 399},
    "loads on the battery, cells of 2 V": {
        "battery_nominal": 48,
        "battery_block": 2,
        "battery_parallel": 3,
        "array_series": 4,
        "controller_nominal": 48,
        "controller_load_output": "no",
    },
    "a battery that does not divide": {"battery_nominal": 36, "battery_block": 24},
    "one battery": {"battery_block": 24, "battery_parallel": 1},
    "all loads, some need an inverter": {"controller_load_output": "all loads"},
    "all loads, none needs an inverter": {"controller_load_output": "all loads", "controller_i_load": 60, "inv_idle": 0, **DC},
    "only loads behind an inverter": AC,
    "loads stronger than the controller": {
        "controller_load_output": "all loads",
        "controller_i_load": 60,
        "controller_i_max": 14,
        "inv_idle": 0,
        **DC,
    },
    "modules in series not entered": {"array_series": None},
    "MPPT": {"controller_type": "MPPT", "controller_v_max": 150},
    "small array, large bank": {"battery_capacity": 3000},
    "no readings": {"reading_v_battery": None, "reading_g": None, "reading_sky": None},
    "no cables": {f"run_{run}_{what}": None for run in ("string", "array", "battery", "load", "inverter") for what in ("length", "size")},
    "a load that is refused": {"load1_w": "many"},
    "loads stronger than the fuses of their cable": {"load1_w": 200},
    "a load output below every fuse": {"controller_i_load": 0.5},
    "a load output below the fuse of its loads": {"controller_i_load": 8},
    "a load output without a rating": {"controller_i_load": None},
    "entries that are refused": {
        "battery_block": "x",
        "controller_load_output": 7,
        "battery_v_reconnect": "a",
        "battery_absorb_hours": 99,
        "controller_ocp": "q",
    },
}


def of(change: str, profile: str = "nec-2023") -> dict[str, Any]:
    return example(**(cables(profile) | CHANGES[change]))


def values(profile: str = "nec-2023", **changes: Any) -> dict[str, Any]:
    return evaluation(profile).all_values(example(**(cables(profile) | changes)))


@cache
def sheet(name: str) -> Sheet:
    return next(one for one in plan_for(load_profile("nec-2023")).sheets if one.name == name)


@pytest.mark.parametrize(("name", "profile"), [("libreoffice", "nec-2023"), ("libreoffice", "iec-62548"), ("ironcalc", "nec-2023")])
def test_every_cell_agrees_where_each_branch_is_reached(name: str, profile: str, tmp_path: Path) -> None:
    changes = list(CHANGES) if name == "libreoffice" else list(CHANGES)[::2]
    designs = {change: of(change, profile) for change in changes} | {"blank": {}}
    with engine(name).open(write_stale(tmp_path / "stale.xlsx", profile)) as book:
        assert not wrong_in(engine(name), book, designs, profile)


# ---- string cables


def test_the_string_cable_of_the_example_is_that_found_by_hand() -> None:
    """9.2 A × 1.25 = 11.5 A; fuse of 15 A; air of 34 + 33 = 67 °C: 0.58. 15 ÷ 0.58 = 25.9 A: 12 AWG (30 A), 2.5 mm² (31 A)."""
    for profile, size in (("nec-2023", "12 AWG"), ("iec-62548", "2.5 mm2")):
        found = values(profile)
        assert found["string_cable_i"] == pytest.approx(11.5)
        assert (found["string_ambient"], found["string_f_air"]) == (67, 0.58)
        assert found["string_by_insulation"] == pytest.approx(15 / 0.58)
        assert found["string_cable_size"] == size


def test_without_string_fuses_the_others_count_and_in_one_code_the_device_as_well() -> None:
    """One string and a device of 20 A: 11.5 A, or 20 ÷ 0.58 = 34.5 A: 4 mm² (42 A). Two strings and 50 A: 61.5 ÷ 0.58 = 106 A."""
    for profile, one, two in (
        ("nec-2023", "14 AWG", "14 AWG"),
        ("iec-62548", "4 mm2", "none: fuse strings"),
        ("iec-60364-7-712", "2.5 mm2", "2.5 mm2"),
    ):
        assert values(profile, array_parallel=1, controller_ocp=20)["string_cable_size"] == one
        assert values(profile, array_parallel=2)["string_cable_size"] == two
    assert values("iec-62548", array_parallel=2)["string_cable_fault"] == pytest.approx(11.5 + 50)
    # without that device the battery fuse counts: 23 A × 1.25 × 1.25, next size, 30 or 40 A
    without = values("iec-62548", array_parallel=2, controller_ocp=None)
    assert without["string_cable_fault"] == pytest.approx(11.5 + without["battery_fuse_judged"])


@pytest.mark.parametrize("profile", ["nec-2023", "iec-62548", "iec-60364-7-712"])
def test_a_string_cable_carries_current_and_fuse_and_no_thinner_one_does(profile: str) -> None:
    tables = {table.name: table for table in load_profile(profile).tables}
    sizes, areas = tables["conductors"].column("size").values, tables["conductors"].column("area").values
    amps = dict(zip(tables["ampacity"].column("key").values, tables["ampacity"].column("amps").values, strict=True))
    small = dict(zip(tables["small_conductors"].column("size").values, tables["small_conductors"].column("amps").values, strict=True))
    chosen = set()
    for isc, parallel, hot in ((4.1, 3, 20), (9.2, 3, 34), (13.2, 5, 40), (13.2, 3, 46), (18.0, 4, 45)):
        found = values(
            profile, module_isc=isc, module_imp=0.94 * isc, module_pmp=None, array_parallel=parallel, site_t_max=hot, module_max_fuse=30
        )
        fuse, factor, group = (found[name] for name in ("string_fuse_judged", "string_f_air", "runs_array_f_group"))
        fault = fuse if found["check_string_fuse"] != "N/A" else 1.25 * isc * (parallel - 1) + found["string_device_i"]
        long_hours = 1.25 if profile.startswith("nec") else 1.0

        def does(
            size: str,
            area: float,
            fault: float = fault,
            isc: float = isc,
            found: dict[str, Any] = found,
            factor: float = factor,
            group: float = group,
            long_hours: float = long_hours,
        ) -> bool:
            insulated = float(amps[f"{size}|{found['string_insulation']}"]) * factor * group
            terminals = min(float(amps[f"{size}|{found['runs_array_terminal_class']}"]), float(small.get(size, 1e9)))
            return area >= 2 and insulated >= max(1.25 * isc, fault) and terminals >= max(long_hours * 1.25 * isc, fault)

        fitting = [str(size) for size, area in zip(sizes[:6], areas[:6], strict=True) if does(str(size), float(area))]
        assert found["string_cable_size"] == (fitting[0] if fitting else "none: fuse strings")
        chosen.add(found["string_cable_size"])
    assert len(chosen) > 2


def test_a_hotter_roof_never_allows_a_thinner_string_cable() -> None:
    order = ["14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "none: fuse strings", None]
    found = [order.index(evaluate(whole_example(site_t_max=hot))["string_cable_size"]) for hot in (0, 15, 30, 40, 50, 55)]
    assert found == sorted(found)
    assert len(set(found)) > 2


# ---- earth conductor


def test_the_earth_conductor_follows_the_larger_device_or_the_thickest_live_conductor() -> None:
    assert values()["earth_size"] == "10 AWG"  # 50 A on the PV input, 45 A at the battery
    assert values(controller_type="MPPT", controller_i_max=60)["earth_size"] == "8 AWG"  # 75 A: a battery fuse of 80 A
    assert values(controller_ocp=250)["earth_size"] == "4 AWG"
    # where the array has none, the device that it would need: 27.6 A × 1.25 × 1.25
    assert values(controller_ocp=None)["earth_device"] == pytest.approx(27.6 * 1.5625)
    for size, earth in (("4 mm2", "6 mm2"), ("10 mm2", "10 mm2"), ("35 mm2", "16 mm2"), ("50 mm2", "25 mm2"), ("120 mm2", "70 mm2")):
        one = {"run_array_size": size, "run_battery_size": "4 mm2", "run_load_size": "4 mm2", "run_inverter_size": "4 mm2"}
        assert values("iec-62548", **one)["earth_size"] == earth


def test_no_earth_conductor_is_named_where_its_rule_has_nothing_to_go_by() -> None:
    assert evaluate(of("no cables", "iec-62548"), "iec-62548")["earth_size"] is None
    assert evaluate(of("no cables"))["earth_size"] == "10 AWG"
    assert evaluate(whole_example(controller_ocp="fifty"))["earth_size"] is None


# ---- the bank


@pytest.mark.parametrize(
    ("block", "parallel", "series", "links", "words"),
    [(24, 1, 1, 0, ABSENT), (12, 1, 2, 1, ABSENT), (12, 2, 2, 6, "a second alike"), (6, 3, 4, 15, "2 more alike")],
)
def test_batteries_links_and_string_fuses_are_counted(block: float, parallel: int, series: int, links: int, words: str) -> None:
    found = evaluate(whole_example(battery_block=block, battery_parallel=parallel))
    assert (found["battery_series"], found["battery_links"], found["drawn_batteries"]) == (series, links, words)
    assert found["battery_string_fuse"] == (45 if parallel > 1 else None)
    assert found["listed_battery"] == f"{series} of {block} V in series × {parallel} in parallel"


def test_links_are_as_thick_as_the_thicker_cable_and_string_fuses_bear_the_loads_alone() -> None:
    assert evaluate(whole_example())["link_size"] == "2 AWG"
    assert evaluate(whole_example(run_load_size="1/0 AWG"))["link_size"] == "1/0 AWG"
    heavy = evaluate(whole_example(load1_w=400, load1_count=4))
    assert heavy["load_run_current"] > 80  # 1.25 × 1600 W and more, from 22.8 V
    assert heavy["battery_string_fuse"] >= heavy["load_run_current"]
    assert evaluate(whole_example(battery_fuse_rating=800))["battery_string_fuse"] is None  # no fuse is shown beside one that does not fit


def test_a_fuse_at_the_battery_stands_its_highest_volts_in_the_cold() -> None:
    """30.0 V to equalise, and 4 mV × 12 cells × 20 K = 0.96 V at 5 °C: 31 V. Without compensation 30 V."""
    assert evaluate(whole_example())["battery_fuse_volts"] == 31
    assert evaluate(whole_example(controller_tempcomp="no"))["battery_fuse_volts"] == 30


def test_set_points_that_are_not_entered_are_the_usual_ones() -> None:
    found = evaluate(whole_example())
    assert (found["battery_v_reconnect"], found["battery_absorb_hours"]) == pytest.approx((25.2, 3))
    assert found["compensation_hand"] == pytest.approx(-0.48)  # −4 mV × 12 cells × 10 K
    assert evaluate(whole_example(battery_chemistry="LiFePO4", battery_nominal=24))["compensation_hand"] == 0
    refused = evaluate(whole_example(battery_v_reconnect=22.0))
    assert refused["battery_v_reconnect"] is None  # below load disconnect: loads would switch to and fro


# ---- where the loads hang


@pytest.mark.parametrize(
    ("entered", "there"), [(None, "battery"), ("no", "battery"), ("DC loads", "load output"), ("all loads", "load output")]
)
def test_direct_loads_are_drawn_where_the_design_says_and_the_inverter_always_on_the_battery(entered: str | None, there: str) -> None:
    found = evaluation().all_values(whole_example(controller_load_output=entered))
    assert found["loads_at"] == there
    assert [found[f"drawn_if_{side}_plus"] for side in ("battery", "output")] == (["+", ""] if there == "battery" else ["", "+"])
    assert (found["drawn_inverter"], found["drawn_if_inverter_fuse"]) == ("Inverter", "fuse")
    assert found["listed_load_fuse"].startswith("at the battery" if there == "battery" else "in the load output")


def test_each_way_to_the_loads_is_drawn_only_if_it_is_there() -> None:
    conditions = {outline.formula for outline in sheet("Installation").outlines}
    assert {'loads_at="battery"', 'loads_at="load output"', 'drawn_inverter="Inverter"'} <= conditions


def test_cable_and_fuse_of_the_battery_carry_the_loads_of_the_load_output_at_night() -> None:
    found = evaluate(of("loads stronger than the controller"))
    assert found["load_output_i"] > 14
    assert found["battery_run_current"] == pytest.approx(1.25 * found["load_output_i"])
    assert evaluate(of("loads stronger than the controller") | {"controller_load_output": "no"})["battery_run_current"] == 17.5


# ---- one string, and a full battery


def test_one_string_now_is_that_of_the_open_set_and_a_dead_one_is_missing_from_the_sum() -> None:
    found = evaluate(design(DAY, reading_v_pv=30.0, reading_i_pv=5.0))
    one = DAY.closed()[1] / 3
    assert found["string_i_now"] == pytest.approx(one, rel=0.02)
    two = faulty(DAY, suns=(1.0, 1.0)).closed()[1]
    assert 3 * found["string_i_now"] - two == pytest.approx(found["string_i_now"], rel=0.06)


def test_by_pencil_the_full_sun_of_one_string_gives_the_amps_of_a_lesser_sun() -> None:
    for sun in (1000.0, 800.0, 500.0, 300.0):
        roof = faulty(DAY, sun=sun, t_cell=35.0)
        pencil = evaluate(design(roof))["string_i_full"] * sun / 1000
        assert pencil == pytest.approx(roof.closed()[1] / 3, rel=0.05)


def test_by_pencil_the_open_volts_of_warm_cells_are_those_at_25_degrees_and_a_fall_for_each_degree_more() -> None:
    """45.0 V by −0.31 % for each degree; 40 degrees more are as far from STC as the hottest cells are, and read as they do."""
    found = evaluate(whole_example())
    assert found["voc_per_degree"] == pytest.approx(45 * -0.0031)
    warmer = found["cell_t_hot"] - 25
    assert found["array_voc"] + warmer * found["voc_per_degree"] == pytest.approx(found["array_voc_hot"])
    day = evaluate(whole_example(reading_g=1000))
    assert day["array_voc"] + (day["day_t_cell"] - 25) * day["voc_per_degree"] == pytest.approx(day["day_voc"], rel=0.01)


def test_the_drops_of_the_list_say_at_which_amps_they_hold() -> None:
    """25.95 A of the array are 26 A to a tenth; the controller's rating is 40 A."""
    found = evaluation().all_values(whole_example())
    assert (found["array_imp"], found["controller_i_max"]) == (pytest.approx(25.95), 40)
    assert found["drop_amps_array"].startswith("at 26 A, ")
    assert found["drop_amps_battery"].startswith("at 40 A, ")
    doubled = evaluation().all_values(whole_example(module_imp=2 * 8.65, module_isc=2 * 9.2))
    assert doubled["losses_array_drop"] == pytest.approx(2 * found["losses_array_drop"])
    assert evaluate(whole_example(controller_i_max="x"))["drop_amps_battery"] is None


def test_one_string_and_a_full_battery_are_known_without_any_reading() -> None:
    found = evaluate(of("no readings"))
    assert found["string_i_now"] is None
    assert found["string_i_full"] * 3 == pytest.approx(found["pwm_i_absorb"])
    assert evaluate(of("MPPT"))["string_i_full"] == pytest.approx(8.65)
    assert evaluate(of("modules in series not entered"))["string_i_full"] is None
    assert found["full_tail"] == pytest.approx(0.02 * 540)
    assert found["full_duty"] == pytest.approx(10.8 / found["pwm_i_absorb"])


def test_what_is_seen_of_a_full_battery_is_the_mean_of_a_sampled_wave() -> None:
    roof = faulty(DAY, battery=28.8)
    found = evaluate(design(roof, reading_v_pv=30.0, reading_i_pv=5.0))
    volts, amps = wave(roof, found["full_duty"])
    assert 0 < found["full_duty"] < 1
    assert found["full_v_pv"] == pytest.approx(float(volts.mean()), rel=0.03)
    assert found["full_i_pv"] == pytest.approx(float(amps.mean()), rel=0.03)
    assert found["full_i_pv"] == pytest.approx(found["full_tail"])


def test_under_mppt_a_full_battery_takes_the_same_power_at_nearly_open_circuit() -> None:
    found = evaluate(of("MPPT"))
    assert found["full_v_pv"] == found["day_voc"]
    assert found["full_i_pv"] * found["full_v_pv"] == pytest.approx(found["full_tail"] * found["battery_v_absorb"])
    assert found["full_duty"] is None


def test_a_bank_that_takes_more_than_the_array_gives_keeps_the_switch_closed() -> None:
    found = evaluate(of("small array, large bank"))
    assert found["full_duty"] == 1
    assert (found["full_v_pv"], found["full_i_pv"]) == pytest.approx((found["full_v_on"], found["full_i_on"]))


# ---- the sheets


def test_installer_and_client_each_sign_the_commissioning_with_name_and_date() -> None:
    words = [str(cell.content) for cell in sheet("Commissioning").cells.values() if isinstance(cell.content, str)]
    assert {"Installer, name:", "Client or witness, name:"} <= set(words)
    assert words.count("Signature:") == words.count("Place and date:") == 2


def test_the_kit_names_every_conductor_and_fuse_that_is_to_be_bought() -> None:
    keys = {cell.content.key for cell in sheet("Installation").cells.values() if isinstance(cell.content, Formula)}
    wanted = {
        "battery_links",
        "link_size",
        "battery_string_fuse",
        "battery_fuse_volts",
        "battery_short_ka",
        "load_fuse",
        "inverter_fuse",
        "load_fuse_most",
        "earth_size",
        "string_cable_size",
        "battery_v_reconnect",
        "battery_absorb_hours",
        "compensation_hand",
    }
    assert {f"shown_{name}" for name in wanted} <= keys


@pytest.mark.parametrize("profile", built_in())
def test_both_pages_of_the_commissioning_are_printed_large_enough_although_they_are_long(profile: str) -> None:
    """By the real scale: the smaller of what the width and the height of the fuller page allow, with the title on both."""
    made = next(one for one in plan_for(load_profile(profile), example=True).sheets if one.name == "Commissioning")
    last = max(row for row, column in made.cells if column < made.print_columns)
    high = [sum(made.heights.get(row, 15) for row in range(*page)) for page in itertools.pairwise([0, *made.row_breaks, last + 1])]
    assert len(high) == 2
    high[1] += made.heights[made.repeat_row]
    wide = sum(5.56 * (width + 5 / 7) for width in made.widths[: made.print_columns])
    scale = min((595 - 72) / wide, (842 - 72) / max(high))
    assert made.scale / 100 <= scale
    smallest = min(theme()["styles"][cell.style].get("font_size", 10) for (_, c), cell in made.cells.items() if c < made.print_columns)
    assert made.scale / 100 * smallest >= 6.5
