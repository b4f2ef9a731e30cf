"""Hour by hour through a weather year with pvlib: what the monthly energy of the workbook is held against.

The years ship with pvlib. An hour gives the sun in a plane that faces the equator, tilted by the latitude in whole
tens of degrees, the temperature of the cells (Ross, with the module's NOCT), and from the single-diode equation of a
module of the open data set the current at the battery's voltage and the maximum power. No losses.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
from pvlib.iotools import read_tmy2, read_tmy3

DATA = Path(pvlib.__file__).with_name("data")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
DAYLIGHT = 20.0
"""W/m² in the plane, above which an hour counts as day for the mean temperature of the air."""


@dataclass(frozen=True)
class Site:
    """A weather year, and the tilt of the array there."""

    name: str
    latitude: float
    tilt: float
    hours: pd.DataFrame
    """``poa`` in W/m² and ``air`` in °C at local time, one row an hour."""


@dataclass(frozen=True)
class Year:
    """Twelve months of a site: entries of the workbook, and energies of one module a day."""

    sun: np.ndarray
    """kWh/m² a day in the plane of the array."""
    air: np.ndarray
    """°C, mean of the hours of day."""
    at_voltage: np.ndarray
    """Wh a day at the module voltage asked for."""
    at_peak: np.ndarray
    """Wh a day at maximum power."""


SITES = ("subarctic coast", "temperate inland", "subtropical coast", "hot desert")


@cache
def site(name: str) -> Site:
    """One of the weather years that pvlib brings, at 55° N, 36° N and 26° N, or the invented desert at 20° N."""
    if name == "hot desert":
        return _desert(name)
    if name == "subtropical coast":
        frame, meta = read_tmy2(str(DATA / "12839.tm2"))
        frame = frame.rename(columns={"GHI": "ghi", "DNI": "dni", "DHI": "dhi"}).assign(temp_air=frame["DryBulb"] / 10)
    else:
        file = {"subarctic coast": "703165TY.csv", "temperate inland": "723170TYA.CSV"}[name]
        frame, meta = read_tmy3(str(DATA / file), coerce_year=2023, map_variables=True)
    latitude, longitude = float(meta["latitude"]), float(meta["longitude"])
    index = pd.date_range("2023-01-01 00:30", periods=8760, freq="h", tz=f"Etc/GMT{-int(meta['TZ']):+d}")
    tilt = round(latitude, -1)
    # the rows hold the hour before their stamp: the sun stands as in the middle of it
    sun = pvlib.solarposition.get_solarposition(index, latitude, longitude)
    plane = pvlib.irradiance.get_total_irradiance(
        tilt,
        180,
        sun["apparent_zenith"],
        sun["azimuth"],
        *(frame[key].to_numpy(float) for key in ("dni", "ghi", "dhi")),
    )
    hours = pd.DataFrame({"poa": plane["poa_global"].fillna(0).clip(lower=0), "air": frame["temp_air"].to_numpy(float)}, index=index)
    return Site(name, latitude, tilt, hours)


def _desert(name: str) -> Site:
    """A year without clouds: pvlib's clear sky with a tenth less beam for dust; air of 24 to 42 °C by the day's and the year's sine.

    No measured year: it adds hot cells, which the three that ship have not.
    """
    here = pvlib.location.Location(20.0, 15.0, "Etc/GMT-1", 300)
    index = pd.date_range("2023-01-01 00:30", periods=8760, freq="h", tz="Etc/GMT-1")
    sun = here.get_solarposition(index)
    sky = here.get_clearsky(index, model="ineichen", solar_position=sun, linke_turbidity=4.0)
    beam = 0.9 * sky["dni"]
    ghi = sky["dhi"] + beam * np.cos(np.radians(sun["apparent_zenith"])).clip(lower=0)
    plane = pvlib.irradiance.get_total_irradiance(20, 180, sun["apparent_zenith"], sun["azimuth"], beam, ghi, sky["dhi"])
    hour, day = index.hour.to_numpy(), index.day_of_year.to_numpy()
    air = 33 + 4 * np.sin(2 * np.pi * (day - 105) / 365) + 6 * np.sin(2 * np.pi * (hour - 9) / 24)
    return Site(name, 20.0, 20, pd.DataFrame({"poa": plane["poa_global"].fillna(0).clip(lower=0), "air": air}, index=index))


@cache
def module(name: str) -> Any:
    """A module of the open data set, by its parameters only."""
    library = pvlib.pvsystem.retrieve_sam(path=str(DATA / "sam-library-cec-modules-2019-03-05.csv"))
    return library[name]


def modules(count: int, cells: int = 72) -> list[str]:
    """Names of modules of so many cells of monocrystalline and multicrystalline silicon, spread over the set."""
    library = pvlib.pvsystem.retrieve_sam(path=str(DATA / "sam-library-cec-modules-2019-03-05.csv")).T
    chosen = library[(library["N_s"] == cells) & library["Technology"].isin(["Mono-c-Si", "Multi-c-Si"])]
    return list(chosen.index[:: len(chosen) // count][:count])


def year(where: Site, panel: Any, voltage: float) -> Year:
    """Run one module through the year, held at a voltage, and at its peak."""
    poa, air = where.hours["poa"].to_numpy(), where.hours["air"].to_numpy()
    cells = air + (panel["T_NOCT"] - 20) / 800 * poa
    lit = poa > 1
    five = pvlib.pvsystem.calcparams_desoto(
        poa[lit],
        cells[lit],
        panel["alpha_sc"],
        panel["a_ref"],
        panel["I_L_ref"],
        panel["I_o_ref"],
        panel["R_sh_ref"],
        panel["R_s"],
    )
    current, peak = np.zeros(poa.size), np.zeros(poa.size)
    current[lit] = np.maximum(0, pvlib.pvsystem.i_from_v(voltage, *five))
    peak[lit] = pvlib.pvsystem.max_power_point(*five)["p_mp"]
    months = where.hours.index.month.to_numpy()
    days = np.array([pd.Period(f"2023-{month}").days_in_month for month in range(1, 13)])

    def daily(hourly: np.ndarray) -> np.ndarray:
        return np.asarray([hourly[months == month].sum() for month in range(1, 13)] / days)

    day = poa > DAYLIGHT
    warm = np.array([air[day & (months == month)].mean() for month in range(1, 13)])
    return Year(daily(poa) / 1000, warm, daily(current) * voltage, daily(peak))
