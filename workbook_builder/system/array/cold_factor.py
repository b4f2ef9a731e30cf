"""The cold: by how much Voc rises on the coldest morning, by which method, and whether the coefficient can be believed."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import NOT_APPLICABLE, NOTE, PASS

chapter = Part("array", continues=True)

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
        NOTE: "The coefficient is unusual for crystalline silicon, and a coefficient that is too weak hides a dangerous cold voltage. "
        "Therefore the higher of coefficient and table is used, whatever method was chosen. Compare the coefficient with the data sheet: "
        "if it is printed in V/°C or mV/°C, choose that unit on Entries. Where the table ends, only a plausible coefficient gives a cold "
        "voltage.",
        NOT_APPLICABLE: "No coefficient was entered: the table is used for the cold.",
    },
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
    kind="text",
    unit="",
    label="Whether the Voc coefficient can be believed",
    words="Against the weakest and the strongest coefficient of crystalline silicon.",
    formula='IF(module_beta_voc="","none",IF(ROUND(module_beta_voc,6)>ROUND(beta_weakest,6),"too weak",'
    'IF(ROUND(module_beta_voc,6)<ROUND(beta_strongest,6),"too strong","plausible")))',
    source=cite("cec-modules", "beyond its range"),
    optional=("module_beta_voc",),
)
def beta_doubt(module_beta_voc: Value, beta_weakest: Value, beta_strongest: Value) -> Value:
    beta = round_half_away(module_beta_voc, 6)
    found = np.where(beta < round_half_away(beta_strongest, 6), "too strong", "plausible")
    found = np.where(beta > round_half_away(beta_weakest, 6), "too weak", found)
    return np.where(np.isnan(module_beta_voc), "none", found)


@chapter.quantity(
    kind="text",
    unit="",
    label="Method used for the cold",
    words="The chosen one. If the coefficient is not plausible: the higher of both, whatever was chosen.",
    formula='IF(OR(beta_doubt="too weak",beta_doubt="too strong"),"higher of both",voc_method)',
    source=own_rule("a doubtful coefficient decides nothing alone"),
)
def voc_method_used(beta_doubt: Value, voc_method: Value) -> Value:
    doubtful = (beta_doubt == "too weak") | (beta_doubt == "too strong")
    return np.where(doubtful, "higher of both", voc_method)


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
    formula='IF(ROUND(site_t_min,4)<MIN(voltage_correction_t_min),"",'
    "INDEX(voltage_correction_factor,MATCH(ROUND(site_t_min,4),voltage_correction_t_min,1)))",
    source="voltage_correction",
)
def voc_factor_table(site_t_min: Value, *, voltage_correction: Table) -> Value:
    # the rows end at whole degrees in °C and in °F alike: what a conversion leaves behind the fourth digit changes no row
    return voltage_correction.band(round_half_away(site_t_min, 4), "t_min", "factor")


@chapter.quantity(
    symbol="k,high",
    unit="",
    label="Higher cold factor of the two",
    words="The higher one. Below the end of the table: the coefficient's, not less than the table's last row, and nothing if the "
    "coefficient is too weak to be believed.",
    formula='IF(voc_factor_table="",IF(beta_doubt="too weak","",MAX(voc_factor_coefficient,INDEX(voltage_correction_factor,1))),'
    "MAX(voc_factor_coefficient,voc_factor_table))",
    source=own_rule("the stricter of two permitted methods"),
    optional=("voc_factor_table",),
)
def voc_factor_higher(voc_factor_table: Value, beta_doubt: Value, voc_factor_coefficient: Value, *, voltage_correction: Table) -> Value:
    coldest = np.maximum(voc_factor_coefficient, voltage_correction.column("factor").values[0])
    beyond = np.where(beta_doubt == "too weak", np.nan, coldest)
    return np.where(np.isnan(voc_factor_table), beyond, np.maximum(voc_factor_coefficient, voc_factor_table))


@chapter.quantity(
    symbol="k",
    unit="",
    label="Cold factor on Voc used",
    words="By the method that is used.",
    formula='IF(voc_method_used="table",voc_factor_table,IF(voc_method_used="coefficient",voc_factor_coefficient,voc_factor_higher))',
    source="cold_voltage",
    optional=("voc_factor_coefficient", "voc_factor_table", "voc_factor_higher"),
)
def voc_factor(voc_method_used: Value, voc_factor_coefficient: Value, voc_factor_table: Value, voc_factor_higher: Value) -> Value:
    other = np.where(voc_method_used == "coefficient", voc_factor_coefficient, voc_factor_higher)
    return np.where(voc_method_used == "table", voc_factor_table, other)


@chapter.quantity(
    kind="text",
    unit="",
    label="What the cold factor was taken from",
    words="By the method that is used: the coefficient or the table, of both the one that is higher.",
    formula='IF(voc_method_used="higher of both",IF(voc_factor_table="","coefficient",'
    'IF(ROUND(voc_factor_table,6)<ROUND(voc_factor,6),"coefficient","table")),voc_method_used)',
    source="voltage_method",
    optional=("voc_factor_table",),
)
def voc_factor_from(voc_method_used: Value, voc_factor_table: Value, voc_factor: Value) -> Value:
    lower = np.isnan(voc_factor_table) | (round_half_away(voc_factor_table, 6) < round_half_away(voc_factor, 6))
    return np.where(voc_method_used == "higher of both", np.where(lower, "coefficient", "table"), voc_method_used)
