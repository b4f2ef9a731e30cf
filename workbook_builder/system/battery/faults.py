"""The first limit of the battery that fails: it fails with every arrangement of modules, and the list of these says so."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import own_rule
from workbook_builder.language.steps import taking
from workbook_builder.language.verdicts import FAIL

chapter = Part("battery_limits", continues=True)

# the checks in the order in which they are named, in groups that a formula can hold: check, and its word in the list
GROUPS = (
    {"battery_blocks": "battery blocks", "float_limit": "float voltage", "absorb_limit": "absorption voltage"},
    {"charge_limit_cold": "charging, cold", "charge_limit_hot": "charging, hot", "equalization": "equalization"},
    {"absorb_time": "absorption time", "compensation_limit": "compensation", "thermal_runaway": "hot battery"},
    {"disconnect_limit": "load disconnect", "discharge_depth": "discharge depth", "freezing": "freezing"},
    {"controller_battery_voltage": "battery voltage", "loads_voltage": "voltage of loads", "inverter_voltage": "voltage of inverter"},
)


def _group(number: int, group: dict[str, str]) -> None:
    """Declare the first fault of a group of checks, or of the groups after it."""
    checks = {f"check_{name}": word for name, word in group.items()}
    later = f"battery_fault_{number + 1}" if number < len(GROUPS) else ""
    formula = later or '"nothing"'
    for check, word in reversed(checks.items()):
        formula = f'IF({check}="FAIL","{word}",{formula})'

    def first(**values: Any) -> Any:
        found = values[later] if later else "nothing"
        for check, word in reversed(checks.items()):
            found = np.where(values[check] == FAIL, word, found)
        return found

    function = taking([*checks, *([later] if later else [])], first)
    function.__name__ = f"battery_fault_{number}"
    chapter.quantity(
        kind="text",
        unit="",
        label=f"What of the battery fails, whatever the arrangement, from group {number} on",
        words=f"First that fails: {', '.join(checks.values())}; then the next group.",
        formula=formula,
        source=own_rule("no row passes that a safety check fails"),
        optional=tuple(checks),
    )(function)


for _number, _checks in reversed(list(enumerate(GROUPS, 1))):
    _group(_number, _checks)
