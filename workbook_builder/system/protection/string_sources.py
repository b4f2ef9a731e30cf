"""Where reverse current into a string comes from: the other strings and the battery; whether each string needs a device."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.protection.device_states import DEVICES, answer_formula, answer_of, state_formula, state_of

chapter = Part(
    "protection",
    "Protection",
    "Fuses protect cables and modules, not people. Every device must be rated for direct current and for the array's cold "
    "voltage. 'No size fits' is an answer: then the design must change.",
    sheet="Protection",
)


chapter.choice(
    "controller_backfeed",
    ("blocked", "not blocked", "not known"),
    "Current from the battery into the array",
    blank=OPTIONAL,
    where="controller's listing or its maker's statement, in writing; blank: not known",
)
chapter.choice(
    "string_device",
    DEVICES,
    "Overcurrent protective device of each string",
    blank=OPTIONAL,
    where="your design; with one string a device between its modules and the controller; blank: not known",
)
chapter.number(
    "string_fuse_rating",
    "A",
    1,
    100,
    "Rating of the string fuses you plan",
    blank=OPTIONAL,
    where="rating on the device; blank: the smallest standard size is proposed",
)


@chapter.quantity(
    symbol="Isc,str",
    unit="A",
    label="Short-circuit current of one string, with light on the rear",
    words="Module Isc times the gain of the rear side.",
    formula="module_isc*(1+module_bifacial_gain/whole_percent)",
    source="code_string_current",
)
def string_isc(module_isc: Value, module_bifacial_gain: Value, whole_percent: Value) -> Value:
    return module_isc * (1 + module_bifacial_gain / whole_percent)


@chapter.quantity(
    symbol="I,back",
    unit="A",
    label="Current that the other strings can drive back into one",
    words="All strings but one, each with its current in the code's rule.",
    formula="(array_parallel-1)*code_string_current*string_isc",
    source="code_string_current",
)
def string_back(array_parallel: Value, code_string_current: Value, string_isc: Value) -> Value:
    return (array_parallel - 1) * code_string_current * string_isc


@chapter.quantity(
    kind="flag",
    unit="",
    label="The other strings alone make string fuses necessary",
    words="More strings than the code leaves free, and their current is above what the module withstands. Unknown while "
    "the module's fuse rating is needed and missing.",
    formula='IF(array_parallel<=code_string_free,FALSE,IF(module_max_fuse="","",'
    "ROUND(string_back,6)>ROUND(code_string_rating*module_max_fuse,6)))",
    source="code_string_rating",
    optional=("module_max_fuse",),
)
def string_back_over(
    array_parallel: Value, code_string_free: Value, module_max_fuse: Value, string_back: Value, code_string_rating: Value
) -> Value:
    few = array_parallel <= code_string_free
    over = round_half_away(string_back, 6) > round_half_away(code_string_rating * module_max_fuse, 6)
    return np.where(few, 0.0, np.where(np.isnan(module_max_fuse), np.nan, over * 1.0))


@chapter.quantity(
    kind="flag",
    unit="",
    label="String fuses are needed",
    words="The other strings make them necessary, or the controller lets current from the battery into the array. Unknown while "
    "one of the two is not known.",
    formula='IF(controller_backfeed="not blocked",TRUE,IF(string_back_over="","",'
    'IF(string_back_over,TRUE,IF(controller_backfeed="blocked",FALSE,""))))',
    source="reverse_current",
    optional=("controller_backfeed", "string_back_over"),
    waits=("string_back",),
)
def string_fuse_needed(controller_backfeed: Value, string_back_over: Value) -> Value:
    alone = np.where(controller_backfeed == "blocked", 0.0, np.nan)
    strings = np.where(np.isnan(string_back_over), np.nan, np.where(string_back_over == 1, 1.0, alone))
    return np.where(controller_backfeed == "not blocked", 1.0, strings)


@chapter.quantity(
    kind="text",
    unit="",
    label="Need of string fuses, in words",
    words="Not known while a source of reverse current is not known.",
    formula='IF(string_fuse_needed="","not known",IF(string_fuse_needed,"needed","not needed"))',
    source="reverse_current",
    optional=("string_fuse_needed",),
    waits=("string_back",),
)
def string_need(string_fuse_needed: Value) -> Value:
    return np.where(np.isnan(string_fuse_needed), "not known", np.where(string_fuse_needed == 1, "needed", "not needed"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Answer whether each string has a device",
    words="Fitted, none, or not known. A blank is not known.",
    formula=answer_formula("string_device"),
    source=own_rule("silence is not an answer"),
    optional=("string_device",),
)
def string_device_answer(string_device: Value) -> Value:
    return answer_of(string_device)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether each string has a device",
    words="Fitted where a device or its rating is entered. A rating together with none is a contradiction.",
    formula=state_formula("string_device_answer", "string_fuse_rating"),
    source=own_rule("silence is not an answer"),
    optional=("string_fuse_rating",),
)
def string_device_state(string_device_answer: Value, string_fuse_rating: Value) -> Value:
    return state_of(string_device_answer, string_fuse_rating)
