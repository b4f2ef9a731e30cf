"""Whether controller, loads and inverter withstand the battery's highest voltage, which compensation raises in the cold."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, below
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.steps import taking
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, PASS, where_pass
from workbook_builder.system.controller.limits import SHEET

chapter = Part(
    "equipment_voltage",
    "Battery voltage that the equipment withstands",
    "Everything on the battery sees its highest charge voltage, and compensation raises that voltage in the cold.",
    sheet="Battery",
)
BATTERY_VOLTAGE = cite("circuit-laws", "what is connected to the battery has its voltage")
INVERTER_SHEET = "inverter data sheet, DC input voltage range"

chapter.number(
    "controller_v_high",
    "V",
    10,
    150,
    "Highest battery voltage that the controller withstands",
    blank=OPTIONAL,
    where=f"{SHEET}, battery side; blank: not judged",
)
chapter.number(
    "loads_v_high",
    "V",
    10,
    150,
    "Highest voltage that the DC loads withstand",
    blank=OPTIONAL,
    where="label or data sheet of the most sensitive DC load; blank: not judged where there are DC loads",
)
chapter.number(
    "inverter_v_high",
    "V",
    10,
    150,
    "Highest input voltage of the inverter",
    blank=OPTIONAL,
    where=f"{INVERTER_SHEET}; blank: not judged where there are AC loads",
)
chapter.number(
    "inverter_v_low",
    "V",
    8,
    100,
    "Lowest input voltage of the inverter",
    blank=OPTIONAL,
    where=f"{INVERTER_SHEET}; blank: not judged where there are AC loads",
    relations=(below("inverter_v_high", "the highest input voltage"),),
)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether DC loads are entered",
    words="Some power is taken without the inverter.",
    formula='IF(ROUND(load_w_dc,6)>0,"yes","no")',
    source=own_rule("what is entered"),
)
def loads_direct(load_w_dc: Value) -> Value:
    return np.where(round_half_away(load_w_dc, 6) > 0, "yes", "no")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether AC loads are entered",
    words="Some power is taken through an inverter.",
    formula='IF(ROUND(inverter_w_least,6)>0,"yes","no")',
    source=own_rule("what is entered"),
)
def loads_inverted(inverter_w_least: Value) -> Value:
    return np.where(round_half_away(inverter_w_least, 6) > 0, "yes", "no")


chapter.limit(
    name="controller_battery_voltage",
    safety=True,
    match=True,
    label="Controller withstands battery voltage",
    words="Highest charge voltage of the coldest battery, not above what the battery side of the controller withstands.",
    value="battery_v_high_cold",
    at_most="controller_v_high",
    unless=(("controller_v_high", ""),),
    asks=("controller_v_high",),
    source=BATTERY_VOLTAGE,
    sentences={
        PASS: "The controller withstands the highest voltage of the battery.",
        FAIL: "The battery is charged to a higher voltage than the controller withstands. The controller switches off or is destroyed. "
        "Lower the highest charge voltage, or choose another controller.",
        NOT_JUDGED: "Nobody can say whether the controller withstands the highest voltage of the battery.",
    },
)


def _state(name: str, limit: str, label: str) -> None:
    """Declare how the battery's highest voltage stands to a limit that may be blank."""

    def state(**values: Value) -> Value:
        within = round_half_away(values["battery_v_high_cold"], 6) <= round_half_away(values[limit], 6)
        return np.where(np.isnan(values[limit]), "not given", np.where(within, "within", "above"))

    function = taking(["battery_v_high_cold", limit], state, name)
    chapter.quantity(
        kind="text",
        unit="",
        label=label,
        words="Within, or above.",
        formula=f'IF({limit}="","not given",IF(ROUND(battery_v_high_cold,6)<=ROUND({limit},6),"within","above"))',
        source=BATTERY_VOLTAGE,
        optional=(limit,),
    )(function)


_state("loads_v_state", "loads_v_high", "The battery's highest voltage against what the DC loads withstand")
_state("inverter_v_state", "inverter_v_high", "The battery's highest voltage against the input of the inverter")


@chapter.check(
    name="loads_voltage",
    safety=True,
    label="DC loads withstand the battery's voltage",
    words="Highest charge voltage of the coldest battery, not above what the DC loads withstand.",
    value="battery_v_high_cold",
    at_most="loads_v_high",
    formula='IF(loads_direct="no","N/A",IF(loads_v_state="not given","NOT JUDGED",IF(loads_v_state="within","PASS","FAIL")))',
    asks=("loads_v_high",),
    source=BATTERY_VOLTAGE,
    sentences={
        PASS: "The DC loads withstand the highest voltage of the battery.",
        FAIL: "The battery is charged to a higher voltage than the DC loads withstand. Loads are destroyed and can burn. Lower the "
        "highest charge voltage, or feed the loads through a converter.",
        NOT_JUDGED: "Nobody can say whether the DC loads withstand the highest voltage of the battery.",
        NOT_APPLICABLE: "No DC load is entered.",
    },
)
def loads_voltage(loads_direct: Value, loads_v_state: Value) -> Value:
    judged = np.where(loads_v_state == "not given", NOT_JUDGED, where_pass(loads_v_state == "within", FAIL))
    return np.where(loads_direct == "no", NOT_APPLICABLE, judged)


@chapter.check(
    name="inverter_voltage",
    safety=True,
    label="Inverter withstands the battery's voltage",
    words="Highest charge voltage of the coldest battery, not above the highest input voltage of the inverter.",
    value="battery_v_high_cold",
    at_most="inverter_v_high",
    formula='IF(loads_inverted="no","N/A",IF(inverter_v_state="not given","NOT JUDGED",IF(inverter_v_state="within","PASS","FAIL")))',
    asks=("inverter_v_high",),
    source=BATTERY_VOLTAGE,
    sentences={
        PASS: "The inverter withstands the highest voltage of the battery.",
        FAIL: "The battery is charged to a higher voltage than the inverter withstands. The inverter switches off or is destroyed. Lower "
        "the highest charge voltage, or choose another inverter.",
        NOT_JUDGED: "Nobody can say whether the inverter withstands the highest voltage of the battery.",
        NOT_APPLICABLE: "No AC load is entered.",
    },
)
def inverter_voltage(loads_inverted: Value, inverter_v_state: Value) -> Value:
    judged = np.where(inverter_v_state == "not given", NOT_JUDGED, where_pass(inverter_v_state == "within", FAIL))
    return np.where(loads_inverted == "no", NOT_APPLICABLE, judged)
