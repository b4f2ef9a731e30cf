"""The first limit of the battery that fails: it fails with every arrangement of modules, and the list of these says so."""

from workbook_builder.language.declare import Part
from workbook_builder.language.first_check import FirstCheck
from workbook_builder.language.sources import own_rule
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


for _number, _group in reversed(list(enumerate(GROUPS, 1))):
    _checks = {f"check_{name}": said for name, said in _group.items()}
    _first = FirstCheck(FAIL, _checks, after=f"battery_fault_{_number + 1}" if _number < len(GROUPS) else "")
    chapter.quantity(
        kind="text",
        unit="",
        label=f"What of the battery fails, whatever the arrangement, from group {_number} on",
        words=f"First that fails: {', '.join(_group.values())}; then the next group.",
        formula=_first.formula,
        source=own_rule("no row passes that a safety check fails"),
        optional=tuple(_checks),
    )(_first.function(f"battery_fault_{_number}"))
