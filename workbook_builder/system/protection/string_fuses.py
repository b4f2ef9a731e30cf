"""String fuses: whether they are needed, and whether the one that is planned fits."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, PASS, where_pass
from workbook_builder.system.protection.standard_sizes import next_size

chapter = Part(
    "protection",
    "Protection",
    "Fuses protect cables and modules, not people. Every device must be rated for direct current and for the array's cold "
    "voltage. 'No size fits' is an answer: then the design must change.",
    sheet="Protection",
)


chapter.number(
    "string_fuse_rating",
    "A",
    1,
    100,
    "Rating of the string fuses you plan",
    blank=OPTIONAL,
    where="blank: the smallest standard size is proposed",
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
    label="String fuses are needed",
    words="More strings than the code leaves free, and their current is above what the module withstands. Unknown while "
    "the module's fuse rating is needed and missing.",
    formula='IF(array_parallel<=code_string_free,FALSE,IF(module_max_fuse="","",'
    "ROUND(string_back,6)>ROUND(code_string_rating*module_max_fuse,6)))",
    source="code_string_rating",
    optional=("module_max_fuse",),
)
def string_fuse_needed(
    array_parallel: Value, code_string_free: Value, module_max_fuse: Value, string_back: Value, code_string_rating: Value
) -> Value:
    few = array_parallel <= code_string_free
    over = round_half_away(string_back, 6) > round_half_away(code_string_rating * module_max_fuse, 6)
    return np.where(few, 0.0, np.where(np.isnan(module_max_fuse), np.nan, over * 1.0))


@chapter.quantity(
    symbol="In,min",
    unit="A",
    label="Lowest rating of a string fuse",
    words="Multiple of the string's Isc by the code.",
    formula="code_fuse_low*string_isc",
    source="code_fuse_low",
)
def string_fuse_min(code_fuse_low: Value, string_isc: Value) -> Value:
    return code_fuse_low * string_isc


@chapter.quantity(
    symbol="In,max",
    unit="A",
    label="Highest rating of a string fuse",
    words="The module's maximum series fuse, or the code's multiple of Isc if that is lower.",
    formula="MIN(module_max_fuse,code_fuse_high*string_isc)",
    source="code_fuse_high",
)
def string_fuse_max(module_max_fuse: Value, code_fuse_high: Value, string_isc: Value) -> Value:
    return np.minimum(module_max_fuse, code_fuse_high * string_isc)


@chapter.quantity(
    symbol="In",
    unit="A",
    label="Smallest standard string fuse",
    words="Next standard rating, if it is within the window.",
    formula=f'IF(ROUND(string_fuse_min,9)>MAX(standard_ratings_amps),"",{next_size("string_fuse_min")})',
    source="standard_ratings",
)
def string_fuse_next(string_fuse_min: Value, *, standard_ratings: Table) -> Value:
    return standard_ratings.next_up(string_fuse_min, "amps")


@chapter.quantity(
    symbol="In",
    unit="A",
    label="String fuse that fits",
    words="The smallest standard rating, if it is not above the highest. Empty: no standard size fits.",
    formula='IF(ROUND(string_fuse_next,6)<=ROUND(string_fuse_max,6),string_fuse_next,"")',
    source="standard_ratings",
)
def string_fuse(string_fuse_next: Value, string_fuse_max: Value) -> Value:
    fits = round_half_away(string_fuse_next, 6) <= round_half_away(string_fuse_max, 6)
    return np.where(fits, string_fuse_next, np.nan)


@chapter.quantity(
    symbol="In",
    unit="A",
    label="String fuse judged",
    words="The one you plan, or else the smallest standard rating.",
    formula='IF(string_fuse_rating="",string_fuse_next,string_fuse_rating)',
    source=own_rule("entry before proposal"),
    optional=("string_fuse_rating",),
)
def string_fuse_judged(string_fuse_rating: Value, string_fuse_next: Value) -> Value:
    return np.where(np.isnan(string_fuse_rating), string_fuse_next, string_fuse_rating)


@chapter.quantity(
    kind="flag",
    unit="",
    label="That rating is within the window",
    words="Not below the lowest, not above the highest.",
    formula="AND(ROUND(string_fuse_judged,6)>=ROUND(string_fuse_min,6),ROUND(string_fuse_judged,6)<=ROUND(string_fuse_max,6))",
    source="code_fuse_low",
)
def string_fuse_fits(string_fuse_judged: Value, string_fuse_min: Value, string_fuse_max: Value) -> Value:
    rating = round_half_away(string_fuse_judged, 6)
    return (rating >= round_half_away(string_fuse_min, 6)) & (rating <= round_half_away(string_fuse_max, 6))


@chapter.check(
    name="string_fuse",
    safety=True,
    label="String fuses",
    words="Where they are needed: the rating lies within the code's window and does not exceed the module's.",
    value="string_fuse_judged",
    at_least="string_fuse_min",
    at_most="string_fuse_max",
    formula='IF(string_fuse_needed,IF(string_fuse_fits="","FAIL",IF(string_fuse_fits,"PASS","FAIL")),"N/A")',
    source="code_fuse_low",
    optional=("string_fuse_fits",),
    sentences={
        PASS: "Fit a direct-current fuse of the rating shown in each string, in the pole that the code asks for, rated for "
        "the array's cold voltage.",
        FAIL: "String fuses are needed and no rating fits between what the string drives and what the module withstands: "
        "plan another rating, fewer strings in parallel, or modules with a higher maximum series fuse.",
        NOT_APPLICABLE: "The other strings cannot drive more current back than a module withstands: no string fuse is needed.",
    },
)
def string_fuse_check(string_fuse_needed: Value, string_fuse_fits: Value) -> Value:
    return np.where(string_fuse_needed == 1, where_pass(string_fuse_fits == 1, FAIL), NOT_APPLICABLE)
