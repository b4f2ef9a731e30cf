"""What of the site fails or weakens every row of the list of arrangements."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.first_check import FirstCheck
from workbook_builder.language.sources import own_rule
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL

chapter = Part("enclosure", continues=True)
EVERY_ROW = own_rule("no row passes that a safety check fails")


REFUSED = FirstCheck(
    FAIL,
    {
        "check_confirmed_safety": "confirmations",
        "check_management": "battery management",
        "check_duty_battery_emergency": "battery disconnect",
    },
)
chapter.quantity(
    kind="text",
    unit="",
    label="Confirmation or duty of the battery that fails whatever the arrangement",
    words="First of the confirmations, the limits of the battery management, and the duties of the battery that is refused.",
    formula=REFUSED.formula,
    source=EVERY_ROW,
    optional=tuple(REFUSED.checks),
)(REFUSED.function("site_refused"))


@chapter.quantity(
    kind="text",
    unit="",
    label="What fails whatever the arrangement",
    words="First of heat, ventilation, sparks, load output and confirmations that fails; every row of the list of arrangements fails "
    "with it.",
    formula='IF(controller_heat="too hot","hot enclosure",IF(check_ventilation="FAIL","ventilation",'
    'IF(check_spark_distance="FAIL","sparks",IF(check_load_output="FAIL","load output",site_refused))))',
    source=EVERY_ROW,
    optional=("check_ventilation", "check_spark_distance", "check_load_output"),
)
def site_fault(
    controller_heat: Value, check_ventilation: Value, check_spark_distance: Value, check_load_output: Value, site_refused: Value
) -> Value:
    late = np.where(check_load_output == FAIL, "load output", site_refused)
    gas = np.where(check_ventilation == FAIL, "ventilation", np.where(check_spark_distance == FAIL, "sparks", late))
    return np.where(controller_heat == "too hot", "hot enclosure", gas)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the derating is unknown and matters",
    words="Then every row of that list has a note.",
    formula='IF(controller_i_derated="",IF(derating_unread="read it","warm enclosure","nothing"),"nothing")',
    source=own_rule("no row passes that a check notes"),
    optional=("controller_i_derated",),
)
def site_weakness(controller_i_derated: Value, derating_unread: Value) -> Value:
    return np.where(np.isnan(controller_i_derated) & (derating_unread == "read it"), "warm enclosure", "nothing")
