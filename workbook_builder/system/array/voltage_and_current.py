"""The array: modules in series and in parallel, its voltage on the coldest morning and its current."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, PASS
from workbook_builder.system.array.advice import SERIES_ADVISED

chapter = Part(
    "array",
    "PV array",
    "Voltage grows with modules in series and with cold; current grows with strings in parallel and with bright cloud edges.",
)

chapter.number("array_series", "", 1, 50, "Modules in series in a string", whole=True, where="your design")
chapter.number("array_parallel", "", 1, 50, "Strings in parallel", whole=True, where="your design")
chapter.choice(
    "voc_method",
    ("coefficient", "table", "higher of both"),
    "How Voc is corrected for cold",
    blank="=voc_method_default",
    blank_source="voltage_method",
    where="the stricter answer of the two is the safer one; both are always shown",
)


@chapter.quantity(
    symbol="Voc",
    unit="V",
    label="Array open-circuit voltage at STC",
    words="Modules in series times module Voc.",
    formula="array_series*module_voc",
    source=cite("circuit-laws", "series voltages add"),
)
def array_voc(array_series: Value, module_voc: Value) -> Value:
    return array_series * module_voc


@chapter.quantity(
    symbol="Voc,cold",
    unit="V",
    label="Array open-circuit voltage on the coldest morning",
    words="Modules in series times module Voc times the cold factor.",
    formula="array_series*module_voc*voc_factor",
    source="cold_voltage",
)
def array_voc_cold(array_series: Value, module_voc: Value, voc_factor: Value) -> Value:
    return array_series * module_voc * voc_factor


@chapter.quantity(
    symbol="Vmp",
    unit="V",
    label="Array maximum-power voltage at STC",
    words="Modules in series times module Vmp.",
    formula="array_series*module_vmp",
    source=cite("circuit-laws", "series voltages add"),
)
def array_vmp(array_series: Value, module_vmp: Value) -> Value:
    return array_series * module_vmp


@chapter.quantity(
    symbol="Isc",
    unit="A",
    label="Array short-circuit current at STC, with light on the rear",
    words="Strings in parallel times module Isc times the gain of the rear side.",
    formula="array_parallel*module_isc*(1+module_bifacial_gain/whole_percent)",
    source=cite("circuit-laws", "parallel currents add"),
)
def array_isc(array_parallel: Value, module_isc: Value, module_bifacial_gain: Value, whole_percent: Value) -> Value:
    return array_parallel * module_isc * (1 + module_bifacial_gain / whole_percent)


@chapter.quantity(
    symbol="Isc,max",
    unit="A",
    label="Highest array current that the code counts with",
    words="Array short-circuit current times the profile's factor for irradiance above {g_stc:unit}.",
    formula="code_current_factor*array_isc",
    source="code_current_factor",
)
def array_isc_max(code_current_factor: Value, array_isc: Value) -> Value:
    return code_current_factor * array_isc


@chapter.quantity(
    symbol="Imp",
    unit="A",
    label="Array maximum-power current at STC",
    words="Strings in parallel times module Imp.",
    formula="array_parallel*module_imp",
    source=cite("circuit-laws", "parallel currents add"),
)
def array_imp(array_parallel: Value, module_imp: Value) -> Value:
    return array_parallel * module_imp


@chapter.quantity(
    symbol="Pmp",
    unit="W",
    label="Rated power of the array",
    words="All modules times rated power.",
    formula="array_series*array_parallel*module_pmp",
    source=cite("circuit-laws", "powers add"),
)
def array_pmp(array_series: Value, array_parallel: Value, module_pmp: Value) -> Value:
    return array_series * array_parallel * module_pmp


@chapter.quantity(
    symbol="V,code",
    unit="V",
    label="Highest array voltage that the code allows here",
    words="The row of the table for the strictest place on the way of the array's circuit.",
    formula="INDEX(voltage_limit_limit,MATCH(code_place,voltage_limit_place,0))",
    source="voltage_limit",
)
def code_voltage_limit(code_place: Value, *, voltage_limit: Table) -> Value:
    return voltage_limit.exact(code_place, "place", "limit")


@chapter.quantity(
    symbol="Ns,mod",
    unit="",
    label="Most modules in series by the module's own limit",
    words="Maximum system voltage divided by one module's cold Voc, rounded down.",
    formula="ROUNDDOWN(ROUND(module_max_system_voltage/(module_voc*voc_factor),9),0)",
    source="cold_voltage",
)
def series_max_module(module_max_system_voltage: Value, module_voc: Value, voc_factor: Value) -> Value:
    return np.floor(round_half_away(module_max_system_voltage / (module_voc * voc_factor), 9))


@chapter.quantity(
    symbol="Ns,code",
    unit="",
    label="Most modules in series by the code's limit",
    words="Voltage limit of the code divided by one module's cold Voc, rounded down.",
    formula="ROUNDDOWN(ROUND(code_voltage_limit/(module_voc*voc_factor),9),0)",
    source="cold_voltage",
)
def series_max_code(code_voltage_limit: Value, module_voc: Value, voc_factor: Value) -> Value:
    return np.floor(round_half_away(code_voltage_limit / (module_voc * voc_factor), 9))


chapter.limit(
    name="module_voltage",
    safety=True,
    match=True,
    label="Cold voltage within the module's own limit",
    words="Array Voc on the coldest morning, not above the maximum system voltage of the module.",
    value="array_voc_cold",
    at_most="module_max_system_voltage",
    source="voltage_rating",
    advice=SERIES_ADVISED,
    sentences={
        PASS: "The modules' insulation is rated for the voltage of the coldest morning.",
        FAIL: "On the coldest morning the string exceeds the voltage for which the modules are insulated: the insulation can break down, "
        "and people can be killed. Do not build the string. Put fewer modules in series, or choose modules for a higher system voltage.",
    },
)


chapter.limit(
    name="code_voltage",
    safety=True,
    match=True,
    label="Cold voltage within the limit of the code",
    words="Array Voc on the coldest morning, not above the voltage that the profile allows at this place.",
    value="array_voc_cold",
    at_most="code_voltage_limit",
    source="voltage_limit",
    advice=SERIES_ADVISED,
    sentences={
        PASS: "The array stays within the voltage that the code allows at this place.",
        FAIL: "On the coldest morning the array exceeds the voltage that the code allows at this place. Put fewer "
        "modules in series, or let a licensed practitioner confirm that another limit applies.",
    },
)
