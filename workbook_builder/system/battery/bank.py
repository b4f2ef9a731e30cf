"""The battery: its voltage class and the set points at which the controller charges and disconnects."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, above, at_least, at_most, between
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value

chapter = Part(
    "battery",
    "Battery",
    "The maker's charging instructions come first. Where an entry is left blank, the usual value of the chemistry is "
    "used and shown as a default.",
)

SET_POINTS = common_practice("usual set points of the chemistry at {t_battery:unit}; the maker's sheet comes first")
BATTERY_SHEET = "battery data sheet, charging instructions at {t_battery:unit}"

chapter.table(
    read_table(
        TEMPLATES / "chemistry.csv",
        "chemistry",
        "Usual set points for a {nominal_unit:unit} battery at {t_battery:unit}",
        SET_POINTS,
        "Lead-acid voltages rise in the cold by the compensation; LiFePO4 is not compensated and not charged below 0 °C. "
        "Voltages for {nominal_unit:unit} nominal; rates as shares of the capacity in an hour.",
    )
)
chapter.constant(
    "nominal_unit", 12, "V", "Nominal voltage to which the rows of the chemistry table refer", "12 V", common_practice("lead-acid trade")
)
RECONNECT = common_practice("disconnect 11.4 V, reconnect 12.6 V")
chapter.constant("reconnect_gap", 1.2, "V", "Reconnect above disconnect, for each {nominal_unit:unit}", "", RECONNECT)
OPEN_AIR = own_rule("nothing but its own mass keeps a battery in the open air milder than the air")
chapter.constant("open_air_lag", 10, "K", "Most by which a battery in the open air stays milder than the air", "", OPEN_AIR)
chapter.constant("battery_t_any", 60, "°C", "Highest temperature of a battery that may be entered", "", OPEN_AIR)
chapter.constant("t_battery", 25, "°C", "Temperature to which set points refer", "T,bat", common_practice())

chapter.choice(
    "battery_nominal", (12, 24, 36, 48), "Nominal voltage of the battery bank", "V", where="batteries in series times their voltage"
)
chapter.choice(
    "battery_block",
    (2, 3, 4, 6, 8, 12, 24, 36, 48),
    "Nominal voltage of one battery (or cell)",
    "V",
    blank=12.0,
    blank_source=common_practice("batteries of 12 V"),
    where="its label; 3 for cells of 3.2 V",
)
chapter.choice("battery_chemistry", ("flooded", "AGM", "gel", "LiFePO4"), "Chemistry", where="label of the battery")
chapter.number(
    "battery_cells_series",
    "",
    2,
    30,
    "Cells in series in the whole bank",
    whole=True,
    blank=OPTIONAL,
    where="label or data sheet: cells of one battery, times the batteries in series; blank: the usual number of the chemistry",
    relations=(between("battery_cells_usual", 0.87, 1.0, "{lowest} to {highest} times the usual number of the chemistry"),),
)
chapter.number(
    "battery_v_low",
    "V",
    8,
    70,
    "Load disconnect voltage",
    where=BATTERY_SHEET,
    blank="=battery_v_low_default",
    blank_source=SET_POINTS,
    relations=(between("battery_nominal", 0.75, 1.1, "{lowest} to {highest} times the nominal voltage"),),
)
chapter.number(
    "battery_v_float",
    "V",
    8,
    70,
    "Float voltage",
    where=BATTERY_SHEET,
    blank="=battery_v_float_default",
    blank_source=SET_POINTS,
    relations=(
        above("battery_v_low", "load disconnect"),
        between("battery_nominal", 1.0, 1.35, "{lowest} to {highest} times the nominal voltage"),
    ),
)
chapter.number(
    "battery_v_absorb",
    "V",
    8,
    70,
    "Absorption voltage",
    where=BATTERY_SHEET,
    blank="=battery_v_absorb_default",
    blank_source=SET_POINTS,
    relations=(
        at_least("battery_v_float", "float"),
        between("battery_nominal", 1.0, 1.35, "{lowest} to {highest} times the nominal voltage"),
    ),
)
chapter.number(
    "battery_v_high",
    "V",
    8,
    70,
    "Highest charge voltage (equalising, or the limit)",
    where=BATTERY_SHEET,
    blank="=battery_v_high_default",
    blank_source=SET_POINTS,
    relations=(
        at_least("battery_v_absorb", "absorption"),
        between("battery_nominal", 1.0, 1.4, "{lowest} to {highest} times the nominal voltage"),
    ),
)
chapter.number(
    "battery_v_reconnect",
    "V",
    8,
    75,
    "Load reconnect voltage",
    where="setting of the controller",
    blank="=battery_v_reconnect_default",
    blank_source=RECONNECT,
    relations=(
        above("battery_v_low", "load disconnect"),
        between("battery_nominal", 0.8, 1.25, "{lowest} to {highest} times the nominal voltage"),
    ),
)
chapter.number(
    "battery_absorb_hours",
    "h",
    0,
    24,
    "Time at absorption",
    where=BATTERY_SHEET,
    blank="=battery_absorb_hours_default",
    blank_source=SET_POINTS,
)
chapter.number(
    "battery_tempco",
    "mV/°C/cell",
    -8,
    0,
    "Temperature compensation of the charge voltage",
    where=BATTERY_SHEET,
    blank="=battery_tempco_default",
    blank_source=SET_POINTS,
)
chapter.number(
    "battery_t_min",
    "°C",
    -40,
    60,
    "Coldest the battery gets while charging",
    where="where the battery stands; blank: as cold as the site; in the open air at most {open_air_lag:unit} warmer",
    blank="=site_t_min",
    blank_source=common_practice("battery without a heated room"),
    relations=(at_most("battery_t_min_most", "the coldest that a battery stays in its place"),),
)
chapter.number(
    "battery_t_max",
    "°C",
    -40,
    60,
    "Warmest the battery gets while charging",
    where="where the battery stands; blank: as warm as the site; in the open air at most {open_air_lag:unit} cooler",
    blank="=site_t_max",
    blank_source=common_practice("battery without a cooled room"),
    relations=(
        at_least("battery_t_min", "its coldest"),
        at_least("battery_t_max_least", "the warmest that a battery gets in its place"),
    ),
)


@chapter.quantity(
    symbol="T,min,most",
    unit="°C",
    label="Most that the coldest of the battery can be",
    words="In the open air the coldest of the site and {open_air_lag:unit}; otherwise whatever may be entered.",
    formula='IF(battery_place="open air",site_t_min+open_air_lag,battery_t_any)',
    source=OPEN_AIR,
    optional=("battery_place",),
)
def battery_t_min_most(battery_place: Value, site_t_min: Value, open_air_lag: Value, battery_t_any: Value) -> Value:
    return np.where(battery_place == "open air", site_t_min + open_air_lag, battery_t_any)


@chapter.quantity(
    symbol="T,max,least",
    unit="°C",
    label="Least that the warmest of the battery can be",
    words="In the open air the warmest of the site less {open_air_lag:unit}; otherwise whatever may be entered.",
    formula='IF(battery_place="open air",site_t_max-open_air_lag,-battery_t_any)',
    source=OPEN_AIR,
    optional=("battery_place",),
)
def battery_t_max_least(battery_place: Value, site_t_max: Value, open_air_lag: Value, battery_t_any: Value) -> Value:
    return np.where(battery_place == "open air", site_t_max - open_air_lag, -battery_t_any)


def _row(symbol: str, column: str, label: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": "V",
        "label": f"{label}, usual for the chemistry",
        "words": "The chemistry's value for {nominal_unit:unit}, scaled to the cells of the bank.",
        "formula": f"INDEX(chemistry_{column},MATCH(battery_chemistry,chemistry_chemistry,0))*battery_units",
        "source": SET_POINTS,
    }


@chapter.quantity(**_row("V,low", "v_low", "Load disconnect"))
def battery_v_low_default(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "v_low") * battery_units


@chapter.quantity(**_row("V,float", "v_float", "Float voltage"))
def battery_v_float_default(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "v_float") * battery_units


@chapter.quantity(**_row("V,abs", "v_absorb", "Absorption voltage"))
def battery_v_absorb_row(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "v_absorb") * battery_units


@chapter.quantity(
    symbol="V,abs",
    unit="V",
    label="Absorption voltage while it is not entered",
    words="That of the chemistry, or the float voltage where that is higher.",
    formula="MAX(battery_v_absorb_row,battery_v_float)",
    source=SET_POINTS,
)
def battery_v_absorb_default(battery_v_absorb_row: Value, battery_v_float: Value) -> Value:
    return np.maximum(battery_v_absorb_row, battery_v_float)


@chapter.quantity(**_row("V,high", "v_high", "Highest charge voltage"))
def battery_v_high_row(battery_chemistry: Value, battery_units: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "v_high") * battery_units


@chapter.quantity(
    symbol="V,high",
    unit="V",
    label="Highest charge voltage while it is not entered",
    words="That of the chemistry, or the absorption voltage where that is higher.",
    formula="MAX(battery_v_high_row,battery_v_absorb)",
    source=SET_POINTS,
)
def battery_v_high_default(battery_v_high_row: Value, battery_v_absorb: Value) -> Value:
    return np.maximum(battery_v_high_row, battery_v_absorb)


@chapter.quantity(
    symbol="V,rec",
    unit="V",
    label="Load reconnect, usual",
    words="Above load disconnect, so that loads do not switch to and fro.",
    formula="battery_v_low+reconnect_gap*battery_nominal/nominal_unit",
    source=RECONNECT,
)
def battery_v_reconnect_default(battery_v_low: Value, reconnect_gap: Value, battery_nominal: Value, nominal_unit: Value) -> Value:
    return battery_v_low + reconnect_gap * battery_nominal / nominal_unit


@chapter.quantity(
    symbol="t,abs",
    unit="h",
    label="Time at absorption, usual for the chemistry",
    words="The chemistry's row.",
    formula="INDEX(chemistry_absorb_hours,MATCH(battery_chemistry,chemistry_chemistry,0))",
    source=SET_POINTS,
)
def battery_absorb_hours_default(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "absorb_hours")


@chapter.quantity(
    symbol="c,T",
    unit="mV/°C/cell",
    label="Temperature compensation, usual for the chemistry",
    words="The chemistry's row.",
    formula="INDEX(chemistry_tempco,MATCH(battery_chemistry,chemistry_chemistry,0))",
    source=SET_POINTS,
)
def battery_tempco_default(battery_chemistry: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "tempco")


CELLS = common_practice("six lead-acid or four LiFePO4 cells make {nominal_unit:unit}")


@chapter.quantity(
    symbol="n,usual",
    unit="",
    label="Battery cells in series, usual for the chemistry",
    words="Cells of a {nominal_unit:unit} battery of this chemistry, scaled to the nominal voltage of the bank.",
    formula="INDEX(chemistry_cells,MATCH(battery_chemistry,chemistry_chemistry,0))*battery_nominal/nominal_unit",
    source=CELLS,
)
def battery_cells_usual(battery_chemistry: Value, battery_nominal: Value, nominal_unit: Value, *, chemistry: Table) -> Value:
    return chemistry.exact(battery_chemistry, "chemistry", "cells") * battery_nominal / nominal_unit


@chapter.quantity(
    symbol="n,cells",
    unit="",
    label="Battery cells in series",
    words="As entered, otherwise the usual number.",
    formula='IF(battery_cells_series="",battery_cells_usual,battery_cells_series)',
    source=CELLS,
    optional=("battery_cells_series",),
)
def battery_cells(battery_cells_series: Value, battery_cells_usual: Value) -> Value:
    return np.where(np.isnan(battery_cells_series), battery_cells_usual, battery_cells_series)


@chapter.quantity(
    symbol="n,bat",
    unit="",
    label="The bank as a multiple of a {nominal_unit:unit} battery",
    words="Its cells in series, by those of a {nominal_unit:unit} battery of the chemistry.",
    formula="battery_cells/INDEX(chemistry_cells,MATCH(battery_chemistry,chemistry_chemistry,0))",
    source=CELLS,
)
def battery_units(battery_cells: Value, battery_chemistry: Value, *, chemistry: Table) -> Value:
    return battery_cells / chemistry.exact(battery_chemistry, "chemistry", "cells")
