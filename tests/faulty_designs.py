"""Designs in which faults of formulas show: drawn ones, systems with faults, and some for single formulas."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from tests.aimed import every_entry_alike
from tests.published import cases
from tests.roof import every_case
from tests.strategies import designs
from tests.support import cables, example, model, whole_example
from workbook_builder.evaluation.entries import UNSEEN
from workbook_builder.language.inputs import EntryTable

PROFILE, OTHER_PROFILE = "nec-2023", "iec-62548"
BATCH = 100  # drawn designs
BROAD = 12  # drawn designs in which all faults are tried
OTHERS = 40  # drawn designs under another code


def broad() -> Iterator[dict[str, Any]]:
    """The few designs that show most faults."""
    roof = every_case()
    yield from (roof[name] for name in ("true RMS", "MPPT limiting", "weak", "bulk"))
    yield from (whole_example(), {})
    yield from every_entry_alike(PROFILE)
    yield from designs(PROFILE, 0, BATCH)[:BROAD]


def further() -> Iterator[dict[str, Any]]:
    """Systems with faults, and designs in which something is missing, or stands where it seldom does."""
    yield from every_entry_alike(PROFILE)
    yield from every_case().values()
    yield from special().values()
    yield from designs(PROFILE, 0, BATCH)[BROAD:]
    yield from (case.inputs for case in cases() if case.profile == PROFILE and case.first)


@cache
def special() -> dict[str, dict[str, Any]]:
    """Designs for single formulas, named after what they reach."""
    return {**_of_loads(), **_of_months(), **_of_the_roof(), **_of_parts(), **_of_rules(), **_at_exact_limits()}


def _of_loads() -> dict[str, dict[str, Any]]:
    loads = [name for item, _ in table("loads").items for name in table("loads").inputs(item)]
    one = dict.fromkeys(loads) | {"load1_w": 5, "load1_count": 1, "load1_hours": 5, "load1_supply": "DC"}
    ac, small, thin = {"load1_supply": "AC"}, {"load1_w": 0.6, "load1_hours": 1}, {"run_load_size": "12 AWG"}
    return {
        "no loads": whole_example(**dict.fromkeys(loads)),
        "one load": whole_example(**one),
        "a small load": whole_example(**one | small),
        "a load as strong as the largest fuse": whole_example(**one | {"load1_w": 2736, "load1_count": 40}),
        "one AC load": whole_example(**one | ac),
        "a small AC load": whole_example(**one | ac | small),
        "all loads on the load output": whole_example(controller_load_output="all loads"),
        "a small AC load on the load output": whole_example(**one | ac | small, controller_load_output="all loads"),
        "a load as strong as its cable": whole_example(**one | thin | {"load1_w": 364.8}),
        "an AC load as strong as its cable": whole_example(**one | ac | thin | {"load1_w": 322.92, "inv_efficiency": 90}),
        "a load too strong for its cable": whole_example(**one | thin | {"load1_w": 250, "load1_count": 2}),
        "an AC load too strong for its cable": whole_example(**one | ac | thin | {"load1_w": 250, "load1_count": 2}),
        "a rating of the load output refused": whole_example(controller_i_load="x"),
    }


def _of_months() -> dict[str, dict[str, Any]]:
    months = [name for item, _ in table("months").items for name in table("months").inputs(item)]
    none = dict.fromkeys(months)
    return {
        "one month": whole_example(**{name: None for name in months if not name.startswith("jan_")}),
        "eleven months": whole_example(jan_sun=None, jan_load=None, jan_air=None),
        "no month": whole_example(**none),
        "far from the equator": whole_example(**none, site_latitude=66),
        "all months, loads unfinished": whole_example(load1_hours=None),
        "no loads in February": whole_example(feb_load=0),
    }


def _of_the_roof() -> dict[str, dict[str, Any]]:
    roof = every_case()
    peak = roof["MPPT"]
    return {
        "three explanations": roof["cannot charge"]
        | {"controller_type": "MPPT"}
        | {"reading_v_pv": 28.56, "reading_i_pv": 0.36, "reading_v_battery": 28.86},
        "amps of a peak at lower volts": peak | {"reading_v_pv": 0.85 * peak["reading_v_pv"]},
        "one string not measured": roof["full"] | {"string1_voc": 40.5, "string1_isc": 7.4, "string2_voc": 40.6, "string2_isc": 7.4},
        "tests signed by nobody": whole_example(**{f"item{n}_by": None for n in range(62, 73)}),
        "tests without a date": whole_example(**{f"item{n}_date": None for n in range(62, 73)}),
        "an uncertainty refused": roof["true RMS"] | {"reading_g_uncertainty": "x"},
        "a leaky module near open circuit": whole_example(module_vmp=16, module_imp=8, module_pmp=128, reading_v_pv=41.15),
        "a battery just at float": roof["bulk"] | {"reading_v_battery": 26.808451198},
        "a short PV input": roof["bulk"] | {"reading_v_pv": 0.5},
        "amps of a fifth": roof["bulk"] | {"reading_i_pv": 4.475},
        "amps backward at no volts": roof["backward"] | {"reading_v_pv": -0.5},
        "amps backward at open circuit": roof["idle"] | {"reading_v_pv": 40.078, "reading_i_pv": -0.455},
        "amps as many as the tolerance allows": roof["bulk"] | {"reading_i_pv": 24.841},
        "a true-RMS meter on many modules": whole_example(array_series=49, reading_meter="true RMS"),
        "amps alone": roof["true RMS"] | {"reading_v_pv": None, "reading_i_pv": 40.0},
        "one of two strings missing": roof["missing"] | {"array_parallel": 2},
    }


def _of_parts() -> dict[str, dict[str, Any]]:
    no_derating = dict.fromkeys(("controller_t_full", "controller_derating", "controller_t_highest"))
    return {
        "MPPT": whole_example(controller_type="MPPT", controller_max_pv_power=1000),
        "a PWM controller that hardly charges": whole_example(
            module_voc=14.3, module_vmp=11.44, module_isc=0.32, module_imp=0.3, module_pmp=None, array_parallel=1
        ),
        "an entry larger than any": whole_example(module_beta_unit="V/°C", module_beta_voc=-1e308),
        **{f"an author who is sign {ord(sign)}": whole_example(site_author=sign) for sign in UNSEEN},
        "a hot battery without compensation": whole_example(controller_tempcomp="no", battery_t_max=54, site_t_max=45),
        "a mild battery without compensation": whole_example(controller_tempcomp="no"),
        "a number of cells that is not whole": whole_example(battery_cells_series=11.4),
        "a lithium bank of 36 V": whole_example(battery_chemistry="LiFePO4", battery_nominal=36, battery_cells_series=12),
        "a module with more volts": whole_example(module_voc=25.5, module_vmp=20.8, module_imp=7.7),
        "a hot box": whole_example(site_t_max=50, enclosure_place="closed box in the sun"),
        "many strings without a device": whole_example(array_parallel=50, module_isc=40, module_imp=39, controller_ocp=None),
        "a small module": whole_example(module_isc=0.06, module_imp=0.05, module_pmp=0.925, array_series=1, array_parallel=1),
        "one cable": whole_example(**{name: None for name in model(PROFILE).nodes if re.match("run_(load|battery)_", name)}),
        "one confirmation missing": whole_example(confirm_mesh="no"),
        "blocked in the cold": whole_example(battery_chemistry="LiFePO4", battery_cold_block="yes", battery_t_min=-5),
        "not blocked in the cold": whole_example(battery_chemistry="LiFePO4", battery_t_min=-5),
        "much compensation in the cold": whole_example(
            site_t_min=-6,
            site_t_max=22.7,
            module_vmp=16.54,
            module_beta_voc=-0.16,
            module_gamma_pmp=-0.18,
            battery_t_min=-39,
            battery_tempco=-7.3,
        ),
        **{f"IP {digits}": whole_example(enclosure_ip=digits) for digits in (20, 34, 43, 44, 54)},
        "nothing of derating": whole_example(**no_derating),
        "no place": whole_example(**no_derating, enclosure_place=None),
        **{chemistry: whole_example(battery_chemistry=chemistry) for chemistry in ("AGM", "gel", "LiFePO4")},
        "a string fuse refused": whole_example(array_parallel=4, string_fuse_rating="x"),
        "six modules above the code's limit": whole_example(
            site_place="dwelling", module_voc=105, module_vmp=85, controller_v_max=1000, module_max_system_voltage=1500, devices_v_min=None
        ),
        "a nominal voltage refused": whole_example(battery_nominal=9, battery_v_low=8),
        "charged, but with no watt to spare": whole_example(
            module_voc=18.23,
            module_vmp=15.59,
            module_imp=7.67,
            module_pmp=123.15,
            module_beta_unit="mV/°C",
            module_beta_voc=-62.57,
            battery_v_absorb=32.4,
            battery_v_high=33.6,
        ),
        "a hot box that derates the controller": whole_example(enclosure_rise=24, controller_t_full=45, controller_derating=2.5),
        "an impossible fill factor": whole_example(module_vmp=21.6, module_imp=8.7),
        **_of_the_battery(),
    }


def _of_the_battery() -> dict[str, dict[str, Any]]:
    """At and beyond the hard limits of the battery, each at both sides where they are two."""
    sealed = {"battery_chemistry": "AGM", "battery_v_high": 30}
    plain = {"battery_t_min": 25, "battery_t_max": 25, "controller_tempcomp": "no"}
    return {
        "a high float": whole_example(battery_v_float=28.0),
        "too high a float": whole_example(battery_v_float=28.7),
        "float at its limit": whole_example(battery_v_float=28.2, battery_v_absorb=28.8),
        "float as high as usual": whole_example(battery_v_float=27.6),
        "absorption at its limit": whole_example(battery_v_absorb=30.6, battery_v_high=30.6),
        "too high an absorption": whole_example(battery_v_absorb=31, battery_v_high=31),
        "charged at the limit": whole_example(battery_v_high=32.4, **plain),
        "charged beyond the limit": whole_example(battery_v_high=33, **plain),
        "charged at the maker's limit": whole_example(battery_v_high=30, battery_v_max=30, **plain),
        "beyond the maker's limit": whole_example(battery_v_max=28),
        "hot and not compensated": whole_example(battery_v_high=32.2, battery_t_max=45, controller_tempcomp="no"),
        "colder than compensation goes": whole_example(battery_t_min=-30, battery_tempco=-5),
        "sealed and equalized, nobody knows": whole_example(**sealed),
        "sealed and equalized, the maker knows": whole_example(**sealed, battery_equalize="yes"),
        "sealed and equalized, forbidden": whole_example(**sealed, battery_equalize="no"),
        "sealed and equalized to the maker's limit": whole_example(**sealed, battery_v_max=31),
        "gel and equalized": whole_example(battery_chemistry="gel", battery_v_high=30),
        "sealed, as high as usual": whole_example(battery_chemistry="AGM", battery_v_high=29.4),
        "long at absorption": whole_example(battery_absorb_hours=8),
        "too long at absorption": whole_example(battery_absorb_hours=13),
        "absorbed as long as usual": whole_example(battery_absorb_hours=6),
        "absorbed as long as allowed": whole_example(battery_absorb_hours=12),
        "much compensation": whole_example(battery_tempco=-6),
        "too much compensation": whole_example(battery_tempco=-6.5),
        "lithium not compensated": whole_example(battery_chemistry="LiFePO4", controller_tempcomp="no", battery_block=3),
        "a lead cell of lithium": whole_example(battery_chemistry="LiFePO4", battery_block=2),
        "a lithium cell of lead": whole_example(battery_block=3),
        "cells of lead": whole_example(battery_block=2),
        "one battery and a half": whole_example(battery_nominal=36, battery_block=24),
        "disconnected late": whole_example(battery_v_low=21.6),
        "disconnected too late": whole_example(battery_v_low=20),
        "disconnected at the limit": whole_example(battery_v_low=21),
        "disconnected as usual": whole_example(battery_v_low=22.2),
        "emptied deeply": whole_example(battery_dod=75),
        "emptied too deeply": whole_example(battery_dod=85),
        "emptied as deeply as usual": whole_example(battery_dod=70),
        "emptied as deeply as allowed": whole_example(battery_dod=80),
        "much of it each day": whole_example(battery_dod_daily=40),
        "too much of it each day": whole_example(battery_dod_daily=60),
        "half full and nearly frozen": whole_example(battery_t_min=-22, autonomy_days=0.5),
        "half full and frozen": whole_example(battery_t_min=-23),
        "empty after the days without sun, and frozen": whole_example(battery_capacity=50, battery_parallel=1, battery_t_min=-9),
        "sealed and frozen": whole_example(battery_chemistry="gel", battery_t_min=-23),
        "no loads, in the frost": whole_example(**_without_rows(1, 2, 3, 4, 5), battery_t_min=-23),
        "sealed, hot, not compensated": whole_example(battery_chemistry="gel", battery_t_max=41, controller_tempcomp="no"),
        "sealed, hot, compensated": whole_example(battery_chemistry="gel", battery_t_max=41),
        "temperate, not compensated": whole_example(battery_t_min=10, battery_t_max=35, controller_tempcomp="no"),
        "cool, not compensated": whole_example(battery_t_min=9, controller_tempcomp="no"),
        "nothing withstands the battery": whole_example(controller_v_high=30, loads_v_high=30, inverter_v_high=30),
        "all withstand the battery by nothing": whole_example(controller_v_high=30.96, loads_v_high=30.96, inverter_v_high=30.96),
        "nobody knows what withstands": whole_example(controller_v_high=None, loads_v_high=None, inverter_v_high=None),
        "direct loads alone": whole_example(**_without_rows(3, 4, 5)),
        "loads through the inverter alone": whole_example(**_without_rows(1, 2)),
        "hours of another rate": whole_example(battery_hour_rate=100),
        "hours of a short rate": whole_example(battery_hour_rate=5, battery_i_max=0.1, battery_i_max_unit="C"),
        "emptied within hours": whole_example(autonomy_days=0.5, battery_dod=90, battery_hour_rate=100),
    }


def _of_rules() -> dict[str, dict[str, Any]]:
    """What rules of protection, place, discharge and arrangements rest on."""
    loads = [name for item, _ in table("loads").items for name in table("loads").inputs(item)]
    one = dict.fromkeys(loads) | {"load1_w": 5, "load1_count": 1, "load1_hours": 5}
    lithium = {"battery_chemistry": "LiFePO4", "controller_tempcomp": "no"}
    table_alone = {"voc_method": "table"}
    small = {"module_isc": 3.2, "module_imp": 3, "module_pmp": None, "array_parallel": 2}  # 8 A by the code
    strong: dict[str, Any] = {"battery_t_min": -5, "battery_t_max": 25, "battery_tempco": -6, "site_t_max": 0, "module_pmp": None}
    strong |= {"battery_v_absorb": 30.5, "battery_v_high": 31, "module_vmp": 16.2, "run_array_drop_allowed": 6}
    warm = {"site_t_min": 25, "module_vmp": 12, "module_pmp": None}  # open-circuit voltages are not raised
    return {
        "limits of a management refused": whole_example(**lithium, confirm_management="no"),
        "limits of a management not known": whole_example(**lithium, confirm_management=None),
        "a month without any load": whole_example(controller_i_own=0, inv_idle=0, inv_hours=0, feb_load=0),
        "one DC load that starts hard": whole_example(**one | {"load1_supply": "DC", "load1_w": 60, "load1_surge": 8}),
        "DC loads that start hard, one at a time": whole_example(load_diversity=10, load1_supply="DC", load1_surge=10),
        "an inverter for too low a voltage": whole_example(inverter_v_high=30.9),
        "half a run": whole_example(run_load_size=None),
        "one safety question open": whole_example(confirm_earthing=None),
        "a small AC load without an inverter": whole_example(**one | {"load1_w": 0.6, "load1_supply": "AC", "inverter_power": None}),
        "a cable too thin for its device": whole_example(run_array_size="12 AWG", controller_ocp=60),
        "hardly colder than a row": whole_example(**table_alone, site_t_min=-10.00004),
        "a little colder than a row": whole_example(**table_alone, site_t_min=-10.0004),
        "hardly colder than the table": whole_example(**table_alone, site_t_min=-40.00004),
        "a little colder than the table": whole_example(**table_alone, site_t_min=-40.0004),
        "no arrangement judged": whole_example(devices_v_min=None),
        "a cold battery with strong compensation": whole_example(**strong),
        "a refused duty, just at its current": whole_example(**small, array_series=1, confirm_ground_fault="no"),
        "a refused duty, just at its voltage": whole_example(**warm, module_voc=15, array_series=2, confirm_live_parts="no"),
        "a duty open, just at its current": whole_example(**small, array_series=1, confirm_ground_fault=None),
        "a device just at the multiple": whole_example(
            module_isc=0.4, module_imp=0.37, module_pmp=None, array_parallel=1, controller_ocp=400
        ),
        "a cold battery that just gets its current": whole_example(**strong | {"module_vmp": 15.750412781228757}),
        "just so much of a clear day is cut": whole_example(
            controller_type="MPPT", controller_v_max=150, controller_i_max=24.088119138834294
        ),
        "more in series than the fewest": whole_example(controller_v_max=400, devices_v_min=1000, module_max_system_voltage=1000),
        "a shared box not known": whole_example(battery_place="box or cabinet", enclosure_shared=None),
    }


def _without_rows(*rows: int) -> dict[str, Any]:
    return {f"load{row}_{field}": None for row in rows for field, _ in table("loads").fields}


def _at_exact_limits() -> dict[str, dict[str, Any]]:
    """Ties at which more than one entry differs from the example's."""
    no_derating = dict.fromkeys(("controller_t_full", "controller_derating", "controller_t_highest"))
    return {
        "the highest fill factor": whole_example(module_vmp=21.6, module_imp=8.625),
        "charged as high as the array": whole_example(battery_v_high=33, battery_v_absorb=32, module_vmp=16.5),
        "charged at nominal": whole_example(battery_v_low=20, battery_v_float=24, battery_v_absorb=24, battery_v_high=24),
        "surroundings as usual": whole_example(**no_derating, enclosure_rise=6),
        "an array as large as accepted": whole_example(controller_type="MPPT", controller_max_pv_power=1920, array_parallel=6),
        "air as cool as the table": whole_example(site_t_max=-3),
        "air as hot as the table": whole_example(run_array_ambient=85),
        "a lead battery as cold as the table": whole_example(battery_t_min=-20),
        "a lithium battery as cold as the table": whole_example(battery_chemistry="LiFePO4", battery_t_min=-20),
        "a fuse as strong as its cable": whole_example(run_battery_size="10 AWG", battery_fuse_rating=30),
        "a string cable as strong as its fuse": whole_example(run_string_size="14 AWG", run_string_insulation="90C", run_string_ambient=30),
        "a battery in the open air, as warm as it must be": whole_example(battery_place="open air", battery_t_min=-2, battery_t_max=24),
        "a shutdown that is refused": whole_example(array_series=5, controller_v_max=400, confirm_shutdown_inside="no"),
        "as many battery strings as can be entered": whole_example(battery_capacity=27),
    }


def table(name: str) -> EntryTable:
    return next(one for one in model(PROFILE).entry_tables if one.name == name)


def of_another_code() -> Iterator[dict[str, Any]]:
    """Designs under the profile whose tables end elsewhere, and which takes the earth conductor from the live ones."""
    whole = example(**cables(OTHER_PROFILE))
    strong = {key: value for key, value in whole.items() if not key.startswith("run_load_")} | {"load1_w": 300, "load1_count": 50}
    yield whole | {"run_terminals_t": 60}  # cooler than the first row of the table
    bare = {key: value for key, value in whole.items() if not key.startswith("run_")}
    yield from (whole, strong, strong | {"load1_supply": "AC"}, bare)
    yield from designs(OTHER_PROFILE, 0, OTHERS)
