"""The tables of the profiles against figures typed here from the standards, not from the files; units by pint."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pint
import pytest

from workbook_builder.language.profiles import load_profile
from workbook_builder.language.tables import Table

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
NEC, IEC = ("nec-2020", "nec-2023"), ("iec-62548", "iec-60364-7-712")
SIZES = ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
GAUGES = (14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3)
# chapter 9 table 8, uncoated, stranded, 75 °C, ohms per thousand feet
OHM_KFT = (3.14, 1.98, 1.24, 0.778, 0.491, 0.308, 0.245, 0.194, 0.154, 0.122, 0.0967, 0.0766, 0.0608)
# table 310.16, 60, 75 and 90 °C
AMPACITY_NEC = {
    "60C": (15, 20, 30, 40, 55, 70, 85, 95, 110, 125, 145, 165, 195),
    "75C": (20, 25, 35, 50, 65, 85, 100, 115, 130, 150, 175, 200, 230),
    "90C": (25, 30, 40, 55, 75, 95, 115, 130, 145, 170, 195, 225, 260),
}
BANDS = (10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85)
AMBIENT_NEC = {
    "60C": (1.29, 1.22, 1.15, 1.08, 1.00, 0.91, 0.82, 0.71, 0.58, 0.41),
    "75C": (1.20, 1.15, 1.11, 1.05, 1.00, 0.94, 0.88, 0.82, 0.75, 0.67, 0.58, 0.47, 0.33),
    "90C": (1.15, 1.12, 1.08, 1.04, 1.00, 0.96, 0.91, 0.87, 0.82, 0.76, 0.71, 0.65, 0.58, 0.50, 0.41, 0.29),
}
AMBIENT_IEC = {
    "PVC 70C": (1.22, 1.17, 1.12, 1.06, 1.00, 0.94, 0.87, 0.79, 0.71, 0.61, 0.50),
    "XLPE 90C": (1.15, 1.12, 1.08, 1.04, 1.00, 0.96, 0.91, 0.87, 0.82, 0.76, 0.71, 0.65, 0.58, 0.50, 0.41),
}
AREAS_IEC = (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120)
# IEC 60228 class 5, plain, 20 °C
CLASS_5 = (13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780, 0.554, 0.386, 0.272, 0.206, 0.161)
# the same at 70 and 90 °C, calculated with 0.00393 and printed to two or three digits
CLASS_5_HOT = {
    70: ("15.91", "9.55", "5.92", "3.95", "2.29", "1.45", "0.933", "0.663", "0.462", "0.325", "0.246", "0.193"),
    90: ("16.96", "10.18", "6.31", "4.21", "2.44", "1.54", "0.995", "0.706", "0.492", "0.347", "0.263", "0.205"),
}
# IEC 60364-5-52, two loaded conductors, method B1, 30 °C
AMPACITY_IEC = {
    "PVC 70C": (17.5, 24, 32, 41, 57, 76, 101, 125, 151, 192, 232, 269),
    "XLPE 90C": (23, 31, 42, 54, 75, 100, 133, 164, 198, 253, 306, 354),
}
STANDARD_NEC = (
    1,
    3,
    6,
    10,
    15,
    20,
    25,
    30,
    35,
    40,
    45,
    50,
    60,
    70,
    80,
    90,
    100,
    110,
    125,
    150,
    175,
    200,
    225,
    250,
    300,
    350,
    400,
    450,
    500,
    600,
    700,
    800,
    1000,
    1200,
    1600,
    2000,
    2500,
    3000,
    4000,
    5000,
    6000,
)
STANDARD_IEC = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400)
CORRECTION = {
    25: 1.00,
    20: 1.02,
    15: 1.04,
    10: 1.06,
    5: 1.08,
    0: 1.10,
    -5: 1.12,
    -10: 1.14,
    -15: 1.16,
    -20: 1.18,
    -25: 1.20,
    -30: 1.21,
    -35: 1.23,
    -40: 1.25,
}


def table(profile: str, name: str) -> Table:
    return next(one for one in load_profile(profile).tables if one.name == name)


def columns(profile: str, name: str, key: str, value: str) -> dict[Any, Any]:
    found = table(profile, name)
    return dict(zip(found.column(key).values, found.column(value).values, strict=True))


@pytest.mark.parametrize("profile", NEC)
def test_resistances_are_those_of_chapter_9_table_8_from_feet_to_kilometres(profile: str) -> None:
    shown = columns(profile, "conductors", "size", "ohm_km")
    published = {
        f"{size} AWG": UNITS.Quantity(ohms, "ohm / kilofoot").to("ohm / kilometre").magnitude
        for size, ohms in zip(SIZES, OHM_KFT, strict=True)
    }
    assert list(shown) == list(published)
    # the file keeps four decimals
    assert all(abs(shown[size] - published[size]) <= 0.5e-4 + 1e-9 for size in published)


@pytest.mark.parametrize("profile", NEC)
def test_cross_sections_follow_the_formula_of_the_gauge(profile: str) -> None:
    """A gauge is 0.005 inch times the 39th root of 92, to the power of 36 less its number; the table's are rounded to 0.1 %."""
    shown = columns(profile, "conductors", "size", "area")
    for size, gauge in zip(SIZES, GAUGES, strict=True):
        diameter = UNITS.Quantity(0.005 * 92 ** ((36 - gauge) / 39), "inch")
        area = (math.pi / 4 * diameter**2).to("mm ** 2").magnitude
        assert shown[f"{size} AWG"] == pytest.approx(area, rel=1.1e-3), size


@pytest.mark.parametrize("profile", NEC)
def test_a_gauge_has_the_resistance_of_its_copper(profile: str) -> None:
    """Stranded copper of 75 °C: 1.724 µΩ·cm at 20 °C, lay and temperature together 18 to 25 % more."""
    areas, ohms = (columns(profile, "conductors", "size", key) for key in ("area", "ohm_km"))
    cold = {size: UNITS.Quantity(17.241e-9, "ohm * metre") / UNITS.Quantity(area, "mm ** 2") for size, area in areas.items()}
    share = [ohms[size] / value.to("ohm / km").magnitude for size, value in cold.items()]
    assert 1.18 < min(share) <= max(share) < 1.26


@pytest.mark.parametrize("profile", NEC)
def test_ampacities_are_those_of_310_16(profile: str) -> None:
    published = {f"{size} AWG|{kind}": amps for kind, row in AMPACITY_NEC.items() for size, amps in zip(SIZES, row, strict=True)}
    assert columns(profile, "ampacity", "key", "amps") == published


@pytest.mark.parametrize("profile", IEC)
def test_ampacities_are_those_of_method_b1(profile: str) -> None:
    published = {f"{area:g} mm2|{kind}": amps for kind, row in AMPACITY_IEC.items() for area, amps in zip(AREAS_IEC, row, strict=True)}
    assert columns(profile, "ampacity", "key", "amps") == published


@pytest.mark.parametrize("profile", IEC)
def test_resistances_are_those_of_class_5_and_the_areas_their_names(profile: str) -> None:
    assert columns(profile, "conductors", "size", "ohm_km") == {f"{a:g} mm2": r for a, r in zip(AREAS_IEC, CLASS_5, strict=True)}
    assert columns(profile, "conductors", "size", "area") == {f"{a:g} mm2": a for a in AREAS_IEC}


@pytest.mark.parametrize("profile", IEC)
@pytest.mark.parametrize("warm", CLASS_5_HOT)
def test_resistances_of_class_5_rise_as_printed(profile: str, warm: int) -> None:
    values = {value.name: value.value for value in load_profile(profile).values}
    factor = 1 + values["code_conductor_alpha"] * (warm - values["code_conductor_t"])
    for ohms, printed in zip(CLASS_5, CLASS_5_HOT[warm], strict=True):
        half = 0.5 * 10 ** -len(printed.split(".")[1])
        assert abs(ohms * factor - float(printed)) <= half + 1e-9


def test_resistances_of_the_gauges_fall_as_printed_at_20_degrees() -> None:
    printed = (8.47, 5.342, 3.346, 2.099, 1.325, 0.831, 0.661, 0.523, 0.416, 0.329, 0.261, 0.207, 0.164)
    shown = columns("nec-2023", "conductors", "size", "ohm_km")
    values = {value.name: value.value for value in load_profile("nec-2023").values}
    factor = 1 + values["code_conductor_alpha"] * (20 - values["code_conductor_t"])
    assert np.allclose([ohms * factor for ohms in shown.values()], printed, rtol=2.5e-3, atol=0)


@pytest.mark.parametrize(("profile", "published"), [(p, AMBIENT_NEC) for p in NEC] + [(p, AMBIENT_IEC) for p in IEC])
def test_corrections_for_air_are_those_published_and_nothing_beyond(profile: str, published: dict[str, tuple[float, ...]]) -> None:
    bands = table(profile, "ambient_bands").column("t_to").values
    assert bands == BANDS[: len(bands)]
    typed = {f"{band}|{kind}": factor for kind, row in published.items() for band, factor in zip(BANDS, row, strict=False)}
    shown = columns(profile, "ambient_factors", "key", "factor")
    assert {key: factor for key, factor in shown.items() if factor} == typed
    assert set(shown) == {f"{band:g}|{kind}" for kind in published for band in bands}


@pytest.mark.parametrize("profile", [*NEC, *IEC])
def test_corrections_for_air_follow_the_published_formula(profile: str) -> None:
    """The square root of (insulation - air) by (insulation - 30), to a hundredth, with the air at the warm end of a row."""
    rated = columns(profile, "insulations", "name", "t_rated")
    checked = 0
    for key, factor in columns(profile, "ambient_factors", "key", "factor").items():
        air, kind = str(key).split("|")
        limit = rated[kind]
        formula = math.sqrt(max(0.0, (limit - float(air)) / (limit - 30)))
        if factor:
            assert abs(factor - formula) <= 0.01, key
            checked += 1
        else:
            assert float(air) >= limit - 5, key
    assert checked == {"nec": 39, "iec": 26}[profile[:3]]


@pytest.mark.parametrize("profile", NEC)
def test_conductors_together_are_adjusted_as_published(profile: str) -> None:
    steps = columns(profile, "grouping", "conductors_to", "factor")
    assert list(steps.items())[:6] == [(3, 1.0), (6, 0.8), (9, 0.7), (20, 0.5), (30, 0.45), (40, 0.4)]
    assert list(steps.values())[6:] == [0.35]


@pytest.mark.parametrize("profile", IEC)
def test_circuits_bunched_are_reduced_as_published(profile: str) -> None:
    steps = columns(profile, "grouping", "conductors_to", "factor")
    assert steps == {2 * circuits: factor for circuits, factor in enumerate((1.0, 0.8, 0.7, 0.65, 0.6, 0.57, 0.54), 1)}


@pytest.mark.parametrize("profile", NEC)
def test_standard_ratings_are_those_of_240_6(profile: str) -> None:
    assert table(profile, "standard_ratings").column("amps").values == STANDARD_NEC


@pytest.mark.parametrize("profile", IEC)
def test_ratings_of_fuses_are_those_of_the_range_for_pv(profile: str) -> None:
    assert table(profile, "standard_ratings").column("amps").values == STANDARD_IEC


@pytest.mark.parametrize("profile", [*NEC, "iec-62548"])
def test_voltage_corrections_are_those_of_690_7(profile: str) -> None:
    assert columns(profile, "voltage_correction", "t_min", "factor") == CORRECTION


def test_the_other_rule_has_one_voltage_factor_of_1_2() -> None:
    values = columns("iec-60364-7-712", "voltage_correction", "t_min", "factor")
    assert max(values.values()) == 1.2


@pytest.mark.parametrize("profile", NEC)
def test_small_conductors_have_their_caps_and_others_none(profile: str) -> None:
    assert columns(profile, "small_conductors", "size", "amps") == {"14 AWG": 15, "12 AWG": 20, "10 AWG": 30}


def test_each_code_has_the_factors_of_its_string_rule() -> None:
    names = (
        "code_current_factor",
        "code_continuous_factor",
        "code_string_free",
        "code_string_current",
        "code_string_rating",
        "code_fuse_low",
        "code_fuse_high",
    )
    published = {
        "nec-2020": (1.25, 1.25, 1, 1.25, 1, 1.5625, None),
        "nec-2023": (1.25, 1.25, 1, 1.25, 1, 1.5625, None),
        "iec-62548": (1.25, 1, 1, 1, 1, 1.5, 2.4),
        "iec-60364-7-712": (1.25, 1, 2, 1.25, 1.35, 1.1 * 1.25, None),
    }
    for profile, wanted in published.items():
        values = {value.name: value.value for value in load_profile(profile).values}
        for name, factor in zip(names, wanted, strict=True):
            # where a code has no upper limit, no fuse may reach the value that stands for it
            assert values[name] == pytest.approx(factor) if factor is not None else values[name] >= 1000, (profile, name)


@pytest.mark.parametrize("profile", [*NEC, *IEC])
def test_every_conductor_has_an_ampacity_and_every_insulation_a_factor(profile: str) -> None:
    sizes = table(profile, "conductors").column("size").values
    kinds = table(profile, "insulations").column("name").values
    assert {f"{size}|{kind}" for size in sizes for kind in kinds} == set(columns(profile, "ampacity", "key", "amps"))
    areas = table(profile, "conductors").column("area").values
    assert list(areas) == sorted(areas)
    for kind in kinds:
        amps = [columns(profile, "ampacity", "key", "amps")[f"{size}|{kind}"] for size in sizes]
        assert amps == sorted(amps)


@pytest.mark.parametrize("profile", NEC)
def test_earth_conductors_are_those_of_250_122(profile: str) -> None:
    """Copper, as remembered: 15 A 14 AWG, 20 A 12, 60 A 10, 100 A 8, 200 A 6, 300 A 4, 400 A 3, 500 A 2, 600 A 1, 800 A 1/0 …"""
    published = dict(
        zip(
            (15, 20, 60, 100, 200, 300, 400, 500, 600, 800, 1000, 1200),
            ("14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0"),
            strict=True,
        )
    )
    assert columns(profile, "earth_conductors", "up_to", "size") == {amps: f"{size} AWG" for amps, size in published.items()}
    assert next(one.value for one in load_profile(profile).values if one.name == "code_earth_by_area") == 0


@pytest.mark.parametrize("profile", IEC)
def test_earth_conductors_follow_the_live_one_from_6_to_16_and_then_its_half(profile: str) -> None:
    sizes = columns(profile, "conductors", "size", "area")
    rows = columns(profile, "earth_conductors", "up_to", "size")
    for live in AREAS_IEC:
        least = max(6, live) if live <= 16 else 16 if live <= 35 else live / 2
        found = next(sizes[size] for up_to, size in rows.items() if up_to >= live)
        assert found >= least
        assert not any(least <= area < found for area in AREAS_IEC)  # the smallest that there is
    assert next(one.value for one in load_profile(profile).values if one.name == "code_earth_by_area") == 1


@pytest.mark.parametrize(("profile", "share"), [("nec-2020", 0), ("nec-2023", 0), ("iec-62548", 1), ("iec-60364-7-712", 0)])
def test_only_one_code_lets_the_device_count_for_string_cables(profile: str, share: float) -> None:
    assert next(one.value for one in load_profile(profile).values if one.name == "code_string_device") == share
