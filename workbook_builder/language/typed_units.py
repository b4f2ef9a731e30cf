"""Reading a number with a unit that a person typed, such as ``"14 °F"``. The units are a closed list, and nothing is evaluated.

Only a number, then names of units with ``/``, ``*`` and small whole powers are read, so that no text, however long or
clever, can keep the program busy or mean something else.
"""

from __future__ import annotations

import re
from typing import Any

from workbook_builder.language.errors import Problem, WorkbookBuilderError
from workbook_builder.language.units import UNITS, registry

LONGEST = 60
HIGHEST_POWER = 3
# as people write them → as pint reads them; those in the first group take a prefix
SYMBOLS = {
    "V": "volt",
    "A": "ampere",
    "W": "watt",
    "Ω": "ohm",
    "ohm": "ohm",
    "S": "siemens",
    "m": "meter",
    "Wh": "watt_hour",
    "Ah": "ampere_hour",
    "eV": "electron_volt",
}
WORDS = {
    "%": "percent",
    "percent": "percent",
    "°C": "degC",
    "degC": "degC",
    "celsius": "degC",
    "°F": "degF",
    "degF": "degF",
    "fahrenheit": "degF",
    "K": "kelvin",
    "kelvin": "kelvin",
    "delta_degC": "delta_degC",
    "delta_degF": "delta_degF",
    **dict.fromkeys(("volt", "volts"), "volt"),
    **dict.fromkeys(("millivolt", "millivolts"), "millivolt"),
    **dict.fromkeys(("ampere", "amperes", "amp", "amps"), "ampere"),
    **dict.fromkeys(("milliampere", "milliamperes"), "milliampere"),
    **dict.fromkeys(("watt", "watts"), "watt"),
    **dict.fromkeys(("kilowatt", "kilowatts"), "kilowatt"),
    **dict.fromkeys(("metre", "metres", "meter", "meters"), "meter"),
    **dict.fromkeys(("ft", "foot", "feet"), "foot"),
    **dict.fromkeys(("in", "inch", "inches"), "inch"),
    **dict.fromkeys(("s", "second", "seconds"), "second"),
    **dict.fromkeys(("min", "minute", "minutes"), "minute"),
    **dict.fromkeys(("h", "hr", "hour", "hours"), "hour"),
    **dict.fromkeys(("d", "day", "days"), "day"),
    **dict.fromkeys(("week", "weeks"), "week"),
    "cell": "dimensionless",
    "1": "dimensionless",
}
PREFIXES = {"": "", "µ": "micro", "u": "micro", "m": "milli", "c": "centi", "k": "kilo", "M": "mega"}
ADMITTED = WORDS | {f"{short}{symbol}": f"{long}{name}" for short, long in PREFIXES.items() for symbol, name in SYMBOLS.items()}
OFFSET = {"degC": "delta_degC", "degF": "delta_degF"}  # what a degree is in a quotient, as in V/°C

_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?")
_FACTOR = re.compile(r"([A-Za-zµΩ°%_]+|1)(?:\^?(-?[0-9]))?")
_LOOKALIKES = str.maketrans({"−": "-", "μ": "µ", "\u2126": "Ω", "·": "*", "²": "2", "³": "3", "\u00a0": " "})


def number_in_unit(text: str, unit: str) -> float:
    """Read a number with a unit and convert it.

    >>> round(number_in_unit("14 °F", "°C"), 9)
    -10.0

    Parameters
    ----------
    text
        a number, with a decimal point, then nothing or a unit of the list ``ADMITTED``, or several with ``/``, ``*`` and powers.
    unit
        one of ``UNITS``; a plain number without a unit is a share of one where it is %.

    Raises
    ------
    WorkbookBuilderError
        if the text is longer than 60 characters, no number, of a unit that is not in the list, or of another kind.

    """
    wanted = f"a number with a unit of {unit}" if unit else "a plain number"
    try:
        return _converted(text, unit)
    except _UnreadableError as error:
        raise WorkbookBuilderError([Problem(repr(text[:LONGEST]), f"is not {wanted}", got=str(error))]) from error


class _UnreadableError(Exception):
    """Why a text cannot be read, in words."""


def _converted(text: str, unit: str) -> float:
    import pint  # noqa: PLC0415

    if len(text) > LONGEST:
        raise _UnreadableError(f"a text of {len(text)} characters; at most {LONGEST}")
    clean = text.translate(_LOOKALIKES).strip(" ")
    number = _NUMBER.match(clean)
    if not number:
        raise _UnreadableError("a text that does not begin with a number")
    try:
        found = registry().Quantity(float(number[0]), _unit(clean[number.end() :].strip(" ")))
        return float(found.to(UNITS[unit]).magnitude)
    except (pint.PintError, OverflowError) as error:
        raise _UnreadableError(str(error)) from error


def _unit(text: str) -> Any:
    """Return the unit that a text names, built factor by factor."""
    if not text:
        return registry().Unit("dimensionless")
    if text in ADMITTED:
        return registry().Unit(ADMITTED[text])
    found, sign = registry().Unit("dimensionless"), 1
    for piece in re.split(r"([*/])", text.replace(" ", "")):
        if piece in ("*", "/"):
            sign = 1 if piece == "*" else -1
            continue
        factor = _FACTOR.fullmatch(piece)
        name = ADMITTED.get(factor[1]) if factor else None
        if factor is None or name is None:
            raise _UnreadableError(f"{piece or 'nothing'}, which is no unit that is read here")
        power = int(factor[2] or 1)
        if not 0 < abs(power) <= HIGHEST_POWER:
            raise _UnreadableError(f"{piece}, a power that is not from 1 to {HIGHEST_POWER}")
        found *= registry().Unit(OFFSET.get(name, name)) ** (sign * power)
    return found
