"""The units that the project writes, and what they are to pint.

pint is imported where it is used: it takes longer to load than the whole command line.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

# as shown to people → as pint reads it
UNITS = {
    "": "dimensionless",
    "°C": "degC",
    "K": "kelvin",
    "V": "volt",
    "V/K": "volt / kelvin",
    "V/°C": "volt / delta_degC",
    "mV/°C": "millivolt / delta_degC",
    "mV/°C/cell": "millivolt / delta_degC",
    "mV/V": "millivolt / volt",
    "A": "ampere",
    "A/K": "ampere / kelvin",
    "Ω": "ohm",
    "MΩ": "megaohm",
    "S": "siemens",
    "A·V/K": "ampere * volt / kelvin",
    "1/K": "1 / kelvin",
    "1/V": "1 / volt",
    "A/V²": "ampere / volt ** 2",
    "A/V³": "ampere / volt ** 3",
    "W": "watt",
    "W/K": "watt / kelvin",
    "Wh": "watt_hour",
    "Ah": "ampere_hour",
    "h": "hour",
    "d": "day",
    "%": "percent",
    "%/°C": "percent / delta_degC",
    "W/m²": "watt / meter ** 2",
    "m": "meter",
    "mm": "millimeter",
    "mm²": "millimeter ** 2",
    "cm²": "centimeter ** 2",
    "m³/h": "meter ** 3 / hour",
    "m³/Ah": "meter ** 3 / (ampere_hour)",
    "cm²·h/m³": "centimeter ** 2 * hour / meter ** 3",
    "mA/Ah": "milliampere / (ampere_hour)",
    "mA/A": "milliampere / ampere",
    "mm/mA^⅓": "millimeter / milliampere ** (1/3)",
    "Ω/km": "ohm / kilometer",
    "m/km": "meter / kilometer",
    "kA": "kiloampere",
    "W/kW": "watt / kilowatt",
    "A/kA": "ampere / kiloampere",
    "1/h": "1 / hour",
    "A/Ah": "ampere / (ampere_hour)",
    "d/week": "day / week",
    "h/d": "hour / day",
    "Wh/d": "watt_hour / day",
    "Ah/d": "ampere_hour / day",
    "kWh/m²/d": "kilowatt_hour / meter ** 2 / day",
    "eV": "electron_volt",
    "eV/K": "electron_volt / kelvin",
}


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[float]:
    """Return the one registry of the project; mixing two registries is an error in pint."""
    import pint  # noqa: PLC0415 - slow to import, and most commands never need it

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=False)
