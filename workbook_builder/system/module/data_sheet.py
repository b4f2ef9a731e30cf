"""The PV module: its data sheet at standard test conditions."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, Relation, below, between
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value

chapter = Part(
    "module",
    "PV module",
    "Copy these from the table headed electrical data at standard test conditions (STC) of the module's data sheet.",
)

STC = "module data sheet, electrical data at STC"
COEFFICIENTS = "module data sheet, temperature coefficients"

chapter.constant("t_stc", 25, "°C", "Cell temperature at standard test conditions", "T,STC", cite("stc"))
chapter.constant("g_stc", 1000, "W/m²", "Irradiance at standard test conditions", "G,STC", cite("stc"))
chapter.constant("t_noct_air", 20, "°C", "Air temperature at which NOCT is measured", "T,a,NOCT", cite("ross"))
chapter.constant("g_noct", 800, "W/m²", "Irradiance at which NOCT is measured", "G,NOCT", cite("ross"))
chapter.constant("largest_entry", 1e100, "", "Largest number that an entry is read as", "", own_rule("far beyond every bound"))
chapter.constant("whole_percent", 100, "%", "The whole, in per cent", "100 %", cite("si"))
chapter.constant("millivolts_per_volt", 1000, "mV/V", "Millivolts in a volt", "1000 mV/V", cite("si"))

chapter.text("module_name", "Module", where="maker's type, as on the label on its back")
chapter.number(
    "module_pmp",
    "W",
    5,
    900,
    "Rated power",
    where=STC,
    blank="=module_pmp_product",
    blank_source=cite("circuit-laws", "Vmp × Imp"),
    relations=(between("module_pmp_product", 0.97, 1.03, "{lowest} to {highest} times Vmp × Imp"),),
)
chapter.number("module_voc", "V", 1.5, 400, "Open-circuit voltage Voc", where=STC)
chapter.number("module_isc", "A", 0.1, 40, "Short-circuit current Isc", where=STC)
chapter.number(
    "module_vmp",
    "V",
    1,
    350,
    "Voltage at maximum power Vmp",
    where=STC,
    relations=(Relation("module_voc", 0.5, 1.0, True, "between half of Voc and Voc"),),
)
chapter.number(
    "module_imp",
    "A",
    0.1,
    40,
    "Current at maximum power Imp",
    where=STC,
    relations=(
        Relation("module_isc", 0.5, 1.0, True, "between half of Isc and Isc"),
        below("imp_highest", "the current of an impossible fill factor"),
    ),
)
chapter.choice(
    "module_beta_unit",
    ("%/°C", "V/°C", "mV/°C"),
    "Unit of the Voc coefficient below",
    blank="%/°C",
    blank_source=common_practice("most data sheets"),
    where=COEFFICIENTS,
)
chapter.number(
    "module_beta_voc",
    "%/°C",
    -0.6,
    -0.1,
    "Temperature coefficient of Voc",
    blank=OPTIONAL,
    where=f"{COEFFICIENTS}; with its minus sign; type the number only, in the unit chosen above",
    factor="module_beta_factor",
)
chapter.number(
    "module_alpha_isc",
    "%/°C",
    -0.05,
    0.2,
    "Temperature coefficient of Isc",
    where=COEFFICIENTS,
    blank=0.05,
    blank_source=common_practice("median of crystalline modules"),
)
chapter.number(
    "module_gamma_pmp",
    "%/°C",
    -0.7,
    -0.1,
    "Temperature coefficient of rated power",
    blank=OPTIONAL,
    where=f"{COEFFICIENTS}; with its minus sign",
)
chapter.number(
    "module_cells",
    "",
    1,
    200,
    "Cells in series",
    whole=True,
    blank=OPTIONAL,
    where="mechanical data; a half-cut module: count one of the parallel halves",
)
chapter.number(
    "module_noct",
    "°C",
    35,
    60,
    "NOCT or NMOT, cell temperature in the open",
    where=COEFFICIENTS,
    blank=45,
    blank_source=common_practice("usual for open mounting"),
)
chapter.number("module_max_fuse", "A", 1, 100, "Maximum series fuse rating", blank=OPTIONAL, where="module data sheet, maximum ratings")
chapter.number("module_max_system_voltage", "V", 30, 2000, "Maximum system voltage", where="module data sheet, maximum ratings")
chapter.number(
    "module_bifacial_gain",
    "%",
    0,
    30,
    "Extra current from light on the rear",
    where="0 if not bifacial",
    blank=0,
    blank_source=common_practice("module with one active side"),
)


@chapter.quantity(
    symbol="Vmp·Imp",
    unit="W",
    label="Power at the maximum-power point",
    words="Voltage times current at maximum power.",
    formula="module_vmp*module_imp",
    source=cite("circuit-laws", "P = V × I"),
)
def module_pmp_product(module_vmp: Value, module_imp: Value) -> Value:
    return module_vmp * module_imp


@chapter.quantity(
    unit="",
    label="Factor from the typed Voc coefficient to %/°C",
    words="1 if typed in %/°C; otherwise the typed volts are related to the module's Voc.",
    formula='IF(module_beta_unit="%/°C",1,'
    'IF(module_beta_unit="V/°C",whole_percent/module_voc,whole_percent/module_voc/millivolts_per_volt))',
    source=cite("circuit-laws", "change of unit"),
)
def module_beta_factor(module_beta_unit: Value, whole_percent: Value, module_voc: Value, millivolts_per_volt: Value) -> Value:
    # a plain factor between typed figures: its unit depends on the choice, so the magnitudes are used
    of_voc = _plain(whole_percent) / _plain(module_voc)
    in_volts, in_millivolts = module_beta_unit == "V/°C", module_beta_unit == "mV/°C"
    return np.select([in_volts, in_millivolts], [of_voc, of_voc / _plain(millivolts_per_volt)], 1.0)


def _plain(value: Any) -> Any:
    return getattr(value, "magnitude", value)


CELLS = common_practice("36 cells ≈ 12 V, 72 cells ≈ 24 V, 60 between the classes")
chapter.table(
    read_table(
        TEMPLATES / "module_classes.csv",
        "module_classes",
        "Battery class by the number of cells in series",
        CELLS,
        "A name only: a module is judged by its voltages, never by its number of cells.",
    )
)


@chapter.quantity(
    kind="text",
    unit="",
    label="Battery class for which the module is built",
    words="By its number of cells, where it is given.",
    formula='IF(module_cells="","not named: cells not given",'
    "INDEX(module_classes_class,MATCH(ROUND(module_cells,9),module_classes_cells_from,1)))",
    source=CELLS,
    optional=("module_cells",),
)
def module_class(module_cells: Value, *, module_classes: Table) -> Value:
    named = module_classes.band(module_cells, "cells_from", "class")
    return np.where(np.isnan(module_cells), "not named: cells not given", named)
