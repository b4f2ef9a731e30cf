"""The array: modules in series and in parallel, its voltage on the coldest morning and its current."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOTE, PASS

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
    kind="text",
    unit="",
    label="Method used if none is chosen",
    words="The module's own coefficient where the data sheet gives it, otherwise the table of the profile.",
    formula='IF(module_beta_voc="","table","coefficient")',
    source="voltage_method",
    optional=("module_beta_voc",),
)
def voc_method_default(module_beta_voc: Value) -> Value:
    return np.where(np.isnan(module_beta_voc), "table", "coefficient")


@chapter.quantity(
    symbol="k,β",
    unit="",
    label="Cold factor on Voc by the module's coefficient",
    words="1 plus the coefficient times the fall below {t_stc:unit}; never below 1.",
    formula="MAX(1,1+module_beta_voc/whole_percent*(site_t_min-t_stc))",
    source="voltage_by_coefficient",
)
def voc_factor_coefficient(module_beta_voc: Value, whole_percent: Value, site_t_min: Value, t_stc: Value) -> Value:
    return np.maximum(1, 1 + module_beta_voc / whole_percent * (site_t_min - t_stc))


@chapter.quantity(
    symbol="k,table",
    unit="",
    label="Cold factor on Voc by the table of the profile",
    words="The row of the lowest temperature; between two rows the colder one; nothing where the table ends.",
    formula='IF(ROUND(site_t_min,9)<MIN(voltage_correction_t_min),"",'
    "INDEX(voltage_correction_factor,MATCH(ROUND(site_t_min,9),voltage_correction_t_min,1)))",
    source="voltage_correction",
)
def voc_factor_table(site_t_min: Value, *, voltage_correction: Table) -> Value:
    return voltage_correction.band(site_t_min, "t_min", "factor")


@chapter.quantity(
    symbol="k,high",
    unit="",
    label="Higher cold factor of the two",
    words="The higher one; below the end of the table the coefficient's, but not less than the table's last row.",
    formula='MAX(voc_factor_coefficient,IF(voc_factor_table="",INDEX(voltage_correction_factor,1),voc_factor_table))',
    source=own_rule("the stricter of two permitted methods"),
    optional=("voc_factor_table",),
)
def voc_factor_higher(voc_factor_coefficient: Value, voc_factor_table: Value, *, voltage_correction: Table) -> Value:
    coldest = voltage_correction.column("factor").values[0]
    return np.maximum(voc_factor_coefficient, np.where(np.isnan(voc_factor_table), coldest, voc_factor_table))


@chapter.quantity(
    symbol="k",
    unit="",
    label="Cold factor on Voc used",
    words="By the chosen method.",
    formula='IF(voc_method="table",voc_factor_table,IF(voc_method="coefficient",voc_factor_coefficient,voc_factor_higher))',
    source="cold_voltage",
    optional=("voc_factor_coefficient", "voc_factor_table", "voc_factor_higher"),
)
def voc_factor(voc_method: Value, voc_factor_coefficient: Value, voc_factor_table: Value, voc_factor_higher: Value) -> Value:
    other = np.where(voc_method == "coefficient", voc_factor_coefficient, voc_factor_higher)
    return np.where(voc_method == "table", voc_factor_table, other)


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
    words="The row of the table for the place of the array.",
    formula="INDEX(voltage_limit_limit,MATCH(site_place,voltage_limit_place,0))",
    source="voltage_limit",
)
def code_voltage_limit(site_place: Value, *, voltage_limit: Table) -> Value:
    return voltage_limit.exact(site_place, "place", "limit")


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
    advice=("At most ", "series_max_module", " of these modules in series by this limit."),
    sentences={
        PASS: "The modules' insulation is rated for the voltage of the coldest morning.",
        FAIL: "On the coldest morning the string exceeds the voltage for which the modules are insulated. Do not build "
        "it: put fewer modules in series.",
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
    advice=("At most ", "series_max_code", " of these modules in series by this limit."),
    sentences={
        PASS: "The array stays within the voltage that the code allows at this place.",
        FAIL: "On the coldest morning the array exceeds the voltage that the code allows at this place. Put fewer "
        "modules in series, or let a licensed practitioner confirm that another limit applies.",
    },
)


chapter.constant(
    "beta_weakest",
    -0.18,
    "%/°C",
    "Weakest Voc coefficient of crystalline silicon without a note",
    "",
    cite("cec-modules", "beyond its range; newer cells from memory", "from memory"),
)
chapter.constant(
    "beta_strongest",
    -0.45,
    "%/°C",
    "Strongest Voc coefficient of crystalline silicon without a note",
    "",
    cite("cec-modules", "beyond its range"),
)


chapter.limit(
    name="coefficient",
    match=True,
    label="Voc coefficient plausible",
    words="The module's coefficient, within what crystalline silicon has.",
    value="module_beta_voc",
    at_least="beta_strongest",
    at_most="beta_weakest",
    unless=(("module_beta_voc", "", NOT_APPLICABLE),),
    source=cite("cec-modules", "5 % to 95 %: −0.40 to −0.28 %/°C"),
    sentences={
        PASS: "The coefficient is one that crystalline silicon has.",
        NOTE: "The coefficient is unusual for crystalline silicon: was it printed in V/°C or mV/°C? Then choose that unit on "
        "Entries. A coefficient that is too weak hides a dangerous cold voltage.",
        NOT_APPLICABLE: "No coefficient was entered: the table is used for the cold.",
    },
)
