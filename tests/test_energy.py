"""The year: held against a simulation hour by hour, the rough sun against pvlib's, states of the months, laws, whole books."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
import pytest

from tests.answers import evaluate
from tests.compared import numbered, wrong_in
from tests.engines import engine
from tests.strategies import PROFILES, as_reference, plausible, some
from tests.support import evaluation, example, model, whole_example, write_stale
from tests.weather import MONTHS, SITES, Year, module, modules, site, year

# pvlib asks pandas for the day of the year by a name that pandas will drop
pytestmark = pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")
FLOAT = 27.4
"""Float voltage of a flooded battery of 24 V."""
NO_LOSSES = {f"loss_{key}": 0 for key in ("soiling", "shading", "mismatch", "ageing", "other")}
MATCHED, MISMATCHED = 72, 60
"""Cells in series: for 24 V, and too few for it."""
AVERAGE_DAYS = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)


def twelve(key: str, values: Any) -> dict[str, Any]:
    return {f"{month}_{key}": value for month, value in zip(MONTHS, values, strict=True)}


@cache
def compared(place: str, name: str) -> tuple[dict[str, Any], Year]:
    """The values of the workbook for one module at a site, without losses, and the simulated year."""
    panel = module(name)
    simulated = year(site(place), panel, FLOAT)
    voc, isc = float(panel["V_oc_ref"]), float(panel["I_sc_ref"])
    inputs = example(
        module_voc=voc,
        module_isc=isc,
        module_vmp=float(panel["V_mp_ref"]),
        module_imp=float(panel["I_mp_ref"]),
        module_pmp=None,
        module_beta_voc=float(panel["beta_oc"]) / voc * 100,
        module_alpha_isc=float(panel["alpha_sc"]) / isc * 100,
        module_gamma_pmp=float(panel["gamma_r"]),
        module_cells=int(panel["N_s"]),
        module_noct=float(panel["T_NOCT"]),
        array_series=1,
        array_parallel=1,
        site_t_min=0,
        site_t_max=42,
        battery_nominal=24,
        battery_v_float=FLOAT,
        controller_v_drop=0,
        run_array_drop_allowed=0,
        run_battery_drop_allowed=0,
        controller_efficiency=100,
        **NO_LOSSES,
        **twelve("sun", map(float, simulated.sun)),
        **twelve("air", map(float, simulated.air)),
    )
    values = evaluation().all_values(inputs)
    refused = [key for key, value in values.items() if key.startswith("status_") and value not in ("entered", "default")]
    assert not refused
    return values, simulated


def deviation(place: str, name: str, column: str) -> np.ndarray:
    """Workbook less simulation, in per cent of the simulation, month by month."""
    values, simulated = compared(place, name)
    hourly = simulated.at_voltage if column == "pwm" else simulated.at_peak
    found = np.array([values[f"balance_{month}_{column}"] for month in MONTHS])
    return np.asarray((found / hourly - 1) * 100)


@pytest.mark.parametrize("place", SITES)
@pytest.mark.parametrize("name", some(modules(6)[::2], 2))
def test_the_pwm_yield_of_every_month_agrees_with_the_hours(place: str, name: str) -> None:
    """Measured: from 0 to +0.8 % at the three sites with a weather year, up to +1.8 % in the invented desert."""
    assert np.all(np.abs(deviation(place, name, "pwm")) < 2.5)


@pytest.mark.parametrize("place", SITES)
@pytest.mark.parametrize("name", modules(6)[::2] + modules(6, MISMATCHED)[::3])
def test_the_mppt_yield_of_every_month_agrees_with_the_hours(place: str, name: str) -> None:
    """Measured: from -2.9 % in dull months to +3.2 % in the desert. One irradiance stands for all hours."""
    assert np.all(np.abs(deviation(place, name, "mppt")) < 5)


@pytest.mark.parametrize("place", some(list(SITES), 2))
def test_where_the_yield_is_far_off_the_array_has_too_low_a_voltage_and_is_not_passed(place: str) -> None:
    """60 cells on 24 V: in the heat of noon the current falls off the knee, which one irradiance does not show.

    Measured: at most +10 % at the three sites with a weather year, up to +34 % in the desert. All others are within 2.5 %.
    """
    worse = 0
    for name in modules(6, MISMATCHED):
        values, _ = compared(place, name)
        if np.any(np.abs(deviation(place, name, "pwm")) > 2.5):
            worse += 1
            assert values["check_vmp_window"] != "PASS"
    assert worse >= (0 if place == "subarctic coast" else 1)


def test_the_published_product_of_array_and_sun_is_met_where_nothing_is_lost() -> None:
    """1.04 kW and 5.7 sun hours give 5.9 kWh; cells of 25 °C and one irradiance below 1000 W/m² change that by 4 % at most."""
    cool = 25 - (45 - 20) / 800 * 600
    inputs = example(
        controller_type="MPPT",
        controller_efficiency=100,
        array_series=2,
        array_parallel=4,
        module_pmp=130,
        module_vmp=17.6,
        module_imp=7.39,
        module_isc=8.0,
        module_voc=22.0,
        controller_v_max=150,
        **NO_LOSSES,
        **twelve("sun", [5.7] * 12),
        **twelve("air", [cool] * 12),
    )
    values = evaluation().all_values(inputs)
    assert values["array_pmp"] == 1040
    assert values["balance_jun_mppt"] == pytest.approx(5928, rel=0.04)
    worse = evaluation().all_values(inputs | {"controller_efficiency": 96.4})
    assert worse["balance_jun_mppt"] == pytest.approx(0.964 * values["balance_jun_mppt"])


# ---- the rough estimate of the sun


def outside_the_air(latitude: float, day: int) -> float:
    """kWh/m² of a day on level ground without air, by pvlib minute by minute."""
    minutes = pd.date_range(pd.Timestamp(2023, 1, 1) + pd.Timedelta(days=day - 1), periods=1440, freq="min", tz="UTC")
    sun = pvlib.solarposition.get_solarposition(minutes, latitude, 0)
    strength = pvlib.irradiance.get_extra_radiation(minutes)
    return float((strength * np.cos(np.radians(sun["zenith"])).clip(lower=0)).sum() / 60 / 1000)


@pytest.mark.parametrize("latitude", [-55, -35, -15, 0, 12, 23.45, 36, 45, 55])
def test_the_sun_outside_the_air_is_pvlibs_within_2_per_cent(latitude: float) -> None:
    values = evaluation().all_values(example(site_latitude=latitude))
    shown = np.array([values[f"rough_sun_{month}_outside"] for month in MONTHS])
    wanted = np.array([outside_the_air(latitude, day) for day in AVERAGE_DAYS])
    assert np.all(np.abs(shown / wanted - 1) < 0.02), np.round((shown / wanted - 1) * 100, 2)


@pytest.mark.parametrize("latitude", [-66, -65, -60, 60, 63, 65, 66])
def test_near_the_polar_circles_the_estimate_stays_a_number_close_to_pvlibs(latitude: float) -> None:
    """Where a winter's day is a fifth of a kilowatt-hour, two per cent of a usual day are asked for instead."""
    values = evaluation().all_values(example(site_latitude=latitude))
    shown = np.array([values[f"rough_sun_{month}_outside"] for month in MONTHS])
    wanted = np.array([outside_the_air(latitude, day) for day in AVERAGE_DAYS])
    assert np.all(np.isfinite(shown))
    assert np.all(shown >= 0)
    assert np.all(np.abs(shown - wanted) < np.maximum(0.02 * wanted, 0.05))


def test_beyond_the_accepted_latitudes_nothing_is_estimated() -> None:
    values = evaluation().all_values(example(site_latitude=70))
    assert values["status_site_latitude"] == "out of range"
    assert np.isnan(values["rough_sun_jan_outside"])


# ---- states and laws


def test_eleven_of_twelve_months_are_unfinished_and_none_is_not_run() -> None:
    for month in MONTHS:
        values = evaluate(whole_example(**{f"{month}_sun": None}))
        assert (values["energy_state"], values["check_energy"]) == ("unfinished", "INCOMPLETE")
        assert values["energy_worst_ratio"] is None
        assert values["verdict"] in ("INCOMPLETE", "FAIL")
    one = evaluate(example(**twelve("sun", [5.0] + [None] * 11)))
    assert one["check_energy"] == "INCOMPLETE"
    none = evaluate(whole_example(**twelve("sun", [None] * 12)))
    assert (none["energy_state"], none["check_energy"]) == ("not run", "NOT JUDGED")
    assert none["verdict"] == "PASS WITH NOTES"


@pytest.mark.parametrize("junk", [13, -1, "5 h", True])
def test_a_refused_month_is_not_left_out(junk: Any) -> None:
    values = evaluate(example(jun_sun=junk))
    assert values["check_energy"] == "INCOMPLETE"
    only = evaluate(whole_example(**twelve("sun", [junk] + [None] * 11)))
    assert only["verdict"] in ("INCOMPLETE", "FAIL")


def test_the_worst_month_is_the_one_with_the_lowest_ratio() -> None:
    sun = [6.3, 6.2, 6.0, 5.6, 5.2, 4.9, 5.1, 5.6, 6.1, 6.4, 6.5, 6.4]
    for place in range(12):
        months = [one if number != place else 2.0 for number, one in enumerate(sun)]
        assert evaluate(example(**twelve("sun", months)))["energy_worst_month"] == place + 1
    values = evaluate(example(**twelve("sun", [5.0] * 12), **twelve("air", [15] * 12), **twelve("load", [100] * 10 + [150, 100])))
    assert values["energy_worst_month"] == 11


@pytest.mark.parametrize("kind", ["PWM", "MPPT"])
def test_less_sun_more_load_or_more_losses_never_raise_the_ratio(kind: str) -> None:
    usual = example(controller_type=kind)
    ratio = evaluate(usual)["energy_worst_ratio"]
    worse = [
        *({f"{month}_sun": usual[f"{month}_sun"] * share} for month in MONTHS for share in (0.0, 0.5, 0.95)),
        *({f"{month}_load": share} for month in MONTHS for share in (101, 200)),
        *({f"loss_{key}": 20} for key in ("soiling", "shading", "mismatch", "ageing", "other")),
        {"load1_hours": 9},
        {"load_growth": 40},
        {"inv_idle": 20},
        {"inv_efficiency": 70},
        {"controller_efficiency": 85},
    ]
    assert not [change for change in worse if evaluate(usual | change)["energy_worst_ratio"] > ratio * (1 + 1e-12)]


def test_less_sun_never_raises_the_yield_of_drawn_designs() -> None:
    for profile in ("nec-2023", "iec-62548"):
        batch = plausible(profile, 3, 60)
        less = batch | {f"{month}_sun": batch[f"{month}_sun"] * 0.7 for month in MONTHS}
        before, after = evaluation(profile).all_values(batch), evaluation(profile).all_values(less)
        seen = 0
        for month in MONTHS:
            for column in ("pwm", "mppt"):
                name = f"balance_{month}_{column}"
                both = ~np.isnan(before[name]) & ~np.isnan(after[name])
                assert np.all(after[name][both] <= before[name][both])
                seen += int(both.sum())
        assert seen > 100


def test_so_many_strings_reach_the_target_and_one_less_does_not() -> None:
    """A count is rounded up: the village of the published table has 2.30 modules rounded down to two, and lacks energy."""
    for hours in (2, 5, 9, 14, 20):
        usual = example(load1_hours=hours, controller_i_max=400, controller_i_sc_max=400, array_parallel=1)
        count = evaluate(usual)["array_parallel_needed"]
        assert evaluate(usual | {"array_parallel": count})["check_energy"] == "PASS"
        if count > 1:
            assert evaluate(usual | {"array_parallel": count - 1})["check_energy"] == "NOTE"


def test_the_refill_takes_the_days_by_what_is_left_over() -> None:
    values = evaluate(example())
    assert values["recharge_days"] == pytest.approx(example()["autonomy_days"] / (values["energy_worst_ratio"] - 1))
    dark = evaluate(example(jun_sun=0.5))
    assert dark["energy_worst_ratio"] < 1
    assert dark["recharge_days"] is None


def test_full_days_are_none_in_the_dark_and_all_of_them_in_plenty() -> None:
    dull, bright = (evaluation().all_values(example(jun_sun=sun, array_parallel=n)) for sun, n in ((0.5, 1), (12, 12)))
    assert dull["balance_jun_full_days"] == 0
    assert bright["balance_jun_full_days"] == 30
    assert dull["balance_jun_rejected"] == 0
    assert bright["balance_jun_rejected"] == pytest.approx(bright["balance_jun_available"] - bright["balance_jun_asked"])


# ---- whole systems in whole workbooks


def systems(profile: str, count: int) -> list[dict[str, Any]]:
    """Whole designs of the chapters after the match: runs, loads and months filled, diverse in all of them."""
    random = np.random.default_rng(PROFILES.index(profile))
    chosen = model(profile)
    options = {entry.name: entry.options for entry in chosen.inputs if entry.kind == "choice"}
    found = []
    for number in range(count):
        design = example()
        for row in range(1, 13):
            if random.random() < 0.6:
                design |= {f"load{row}_w": round(random.uniform(1, 300), 1), f"load{row}_hours": round(random.uniform(0.2, 12), 2)}
                design |= {f"load{row}_supply": random.choice(["AC", "DC"]), f"load{row}_count": int(random.integers(1, 9))}
        for key in ("string", "array", "battery", "load", "inverter"):
            if random.random() < 0.9 or number % 4 == 1:
                design |= {
                    f"run_{key}_length": round(random.uniform(0.3, 40), 1),
                    f"run_{key}_grouped": int(random.integers(1, 15)),
                    f"run_{key}_ambient": float(random.choice([20, 30, 30.1, 38, 45, 52, 60, 66, 80])),
                }
                design |= {f"run_{key}_{part}": str(random.choice(options[f"run_{key}_{part}"])) for part in ("size", "insulation")}
            if number % 4 == 1:  # short and thick
                design |= {f"run_{key}_size": str(options[f"run_{key}_size"][-1]), f"run_{key}_length": 0.3}
                design |= {f"run_{key}_grouped": 2, f"run_{key}_ambient": 20.0}
        for month in MONTHS:
            design |= {f"{month}_sun": round(random.uniform(0, 8), 2), f"{month}_air": round(random.uniform(-15, 35), 1)}
            design |= {f"{month}_load": float(random.choice([0, 50, 100, 130]))}
        design |= {
            "controller_type": str(random.choice(["PWM", "MPPT"])),
            "array_parallel": int(random.integers(1, 7)),
            "array_series": int(random.choice([1, 2, 3])),
            "battery_chemistry": str(random.choice(options["battery_chemistry"])),
            "battery_t_min": float(random.choice([-25, -20, -3.9, 4.4, 12, 25])),
            "site_latitude": round(random.uniform(-66, 66), 1),
            "module_max_fuse": float(random.choice([10, 15, 20, 25])),
            "run_terminals_t": float(random.choice([60, 70, 75, 90])),
            "autonomy_days": float(random.choice([0.5, 2, 5, 14])),
            "battery_fuse_breaking": float(random.choice([1, 6, 20])),
        }
        if number % 3 == 0:  # some unfinished: a load without hours, a run without conductor, a month without sun
            spoilt = ("load1_hours", "run_array_size", "mar_sun", "run_battery_size")[number // 3 % 4]
            design.pop(spoilt, None)
        found.append(as_reference(design))
    return found


@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
@pytest.mark.parametrize("profile", PROFILES)
def test_every_cell_of_whole_systems_agrees(profile: str, name: str, tmp_path: Path) -> None:
    drawn, chosen = systems(profile, 16), engine(name)
    with chosen.open(write_stale(tmp_path / "whole.xlsx", profile)) as book:
        assert not wrong_in(chosen, book, numbered(drawn), profile)


def test_the_whole_systems_reach_every_outcome_of_the_later_checks() -> None:
    reached: dict[str, set[str]] = {}
    later = ("conductors", "voltage_drop", "battery_size", "energy", "string_fuse", "battery_fuse")
    for profile in PROFILES:
        for design in systems(profile, 16):
            values = evaluation(profile).all_values(design)
            for name in (f"check_{check}" for check in later):
                reached.setdefault(name, set()).add(values[name])
    assert {"PASS", "FAIL", "INCOMPLETE"} <= reached["check_conductors"]
    assert {"PASS", "NOTE", "INCOMPLETE"} <= reached["check_voltage_drop"]
    assert {"NOTE", "INCOMPLETE"} <= reached["check_energy"] & reached["check_battery_size"]
    assert {"PASS", "FAIL", "N/A"} <= reached["check_string_fuse"]
    assert {"PASS", "FAIL", "INCOMPLETE"} <= reached["check_battery_fuse"]
