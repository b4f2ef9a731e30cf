"""What is wrong with a declaration, and refusing it with every reason at once."""

from __future__ import annotations

from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.names import fault
from workbook_builder.language.units import UNITS


def common_faults(name: str, label: str, unit: str) -> list[str]:
    """Return what is wrong with the parts that every declaration has."""
    found = [fault(name)] if fault(name) else []
    found += [] if label else ["has no label"]
    return found + ([] if unit in UNITS else [f"unit {unit!r} is not known to units.py"])


def refuse(name: str, faults: list[str]) -> None:
    """Raise if there are faults.

    Raises
    ------
    DeclarationError
        naming the declaration and each fault.

    """
    if faults:
        raise DeclarationError(Problem(f"declaration of {name}", fault) for fault in faults)
