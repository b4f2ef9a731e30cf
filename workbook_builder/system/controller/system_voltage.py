"""The nominal voltage of the system: whether the controller is set to it, serves it, and finds it by itself."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import common_practice
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, NOT_KNOWN, PASS, where_pass
from workbook_builder.system.controller.limits import SHEET

chapter = Part("controller", continues=True)

FINDS = ("12 and 24 V", "12 and 24 and 48 V", "12 and 24 and 36 and 48 V", "24 and 48 V")
MAKER = common_practice("the maker's sheet names the battery voltages; many controllers find 12 and 24 V only")

chapter.table(
    read_table(
        TEMPLATES / "automatic_voltages.csv",
        "automatic",
        "Battery voltages that a controller finds by itself",
        MAKER,
        "What the answer to the question on Entries means: one row for each voltage that is found.",
    )
)
chapter.choice(
    "controller_nominal",
    (12, 24, 36, 48, "automatic"),
    "Battery voltage it is set to",
    "V",
    blank=OPTIONAL,
    where="how it is set or ordered; automatic if it finds the voltage itself; blank: not judged",
)
chapter.choice(
    "controller_nominal_max",
    (12, 24, 36, 48),
    "Highest nominal battery voltage it serves",
    "V",
    blank=OPTIONAL,
    where=f"{SHEET}, battery or system voltage; blank: not judged",
)
chapter.choice(
    "controller_finds",
    (*FINDS, NOT_KNOWN),
    "Battery voltages it finds by itself",
    blank=OPTIONAL,
    where=f"{SHEET}, only if it is set to automatic; blank: not judged",
)


@chapter.check(
    safety=True,
    match=True,
    label="Controller set to the battery's voltage",
    words="The voltage that the controller is set to must be the nominal voltage of the bank.",
    value="battery_nominal",
    formula='IF(controller_nominal="","NOT JUDGED",'
    'IF(OR(controller_nominal="automatic",controller_nominal=battery_nominal),"PASS","FAIL"))',
    source=common_practice("a controller set to another voltage over- or undercharges"),
    optional=("controller_nominal",),
    asks=("controller_nominal",),
    sentences={
        PASS: "The setting fits the bank. If the controller finds the voltage itself, read on its display that it found "
        "the right one before the array is connected.",
        FAIL: "The controller is set to another voltage than the bank's: it would overcharge it or never charge it. "
        "Set or order it for the bank's voltage.",
        NOT_JUDGED: "The voltage that the controller is set to is not entered. A wrong setting ruins a battery.",
    },
)
def voltage_class(controller_nominal: Value, battery_nominal: Value) -> Value:
    blank = controller_nominal == ""
    fits = (controller_nominal == "automatic") | (controller_nominal == battery_nominal)
    return np.where(blank, NOT_JUDGED, where_pass(fits, FAIL))


chapter.limit(
    name="voltage_served",
    safety=True,
    match=True,
    label="Controller serves the bank's voltage",
    words="The nominal voltage of the bank, not above the highest that the controller serves.",
    value="battery_nominal",
    at_most="controller_nominal_max",
    unless=(("controller_nominal_max", ""),),
    asks=("controller_nominal_max",),
    source=MAKER,
    sentences={
        PASS: "The controller is made for a bank of this voltage.",
        FAIL: "The bank's voltage is above the highest for which the controller is made. The bank would destroy the controller, or the "
        "controller would never charge the bank. Choose a controller that serves this voltage, or build a bank of a lower voltage.",
        NOT_JUDGED: "The highest battery voltage that the controller serves is not entered. Many controllers serve 12 V and 24 V only.",
    },
)


@chapter.quantity(
    kind="flag",
    unit="",
    label="The bank's voltage is among those that the controller finds",
    words="A row of the table has the answer and the bank's nominal voltage. Unknown while it is not answered.",
    formula='IF(OR(controller_finds="",controller_finds="not known"),"",'
    "SUMPRODUCT((automatic_finds=controller_finds)*(automatic_nominal=battery_nominal))>0)",
    source=MAKER,
    optional=("controller_finds",),
)
def voltage_is_found(controller_finds: Value, battery_nominal: Value, *, automatic: Table) -> Value:
    nominal: Any = getattr(battery_nominal, "magnitude", battery_nominal)
    rows = zip(automatic.column("finds").values, automatic.column("nominal").values, strict=True)
    found = sum(((controller_finds == finds) & np.equal(nominal, volts)) * 1.0 for finds, volts in rows)
    return np.where((controller_finds == "") | (controller_finds == NOT_KNOWN), np.nan, (found > 0) * 1.0)


@chapter.check(
    safety=True,
    match=True,
    label="Controller finds the bank's voltage",
    words="Where the controller is set to automatic: the nominal voltage of the bank is among those that it finds.",
    value="battery_nominal",
    formula='IF(controller_nominal<>"automatic","N/A",IF(voltage_is_found="","NOT JUDGED",IF(voltage_is_found,"PASS","FAIL")))',
    source=MAKER,
    optional=("controller_nominal", "voltage_is_found"),
    asks=("controller_finds",),
    sentences={
        PASS: "The controller finds this voltage by itself. A deeply discharged or cold bank can be mistaken for one of a lower voltage: "
        "read on the display which voltage was found.",
        FAIL: "The controller does not find this voltage by itself. The controller would take the bank for one of another voltage, and "
        "overcharge the bank or never charge it. Set the voltage by hand, or choose a controller that finds it.",
        NOT_JUDGED: "The battery voltages that the controller finds by itself are not entered. Many controllers find 12 V and 24 V only.",
        NOT_APPLICABLE: "The controller is not set to automatic.",
    },
)
def voltage_found(controller_nominal: Value, voltage_is_found: Value) -> Value:
    judged = np.where(np.isnan(voltage_is_found), NOT_JUDGED, where_pass(voltage_is_found == 1, FAIL))
    return np.where(controller_nominal == "automatic", judged, NOT_APPLICABLE)
