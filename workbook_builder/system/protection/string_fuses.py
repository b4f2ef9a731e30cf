"""String fuses: the window of their rating, and whether the one that is planned fits."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, PASS
from workbook_builder.system.protection.standard_sizes import next_size

chapter = Part("protection", continues=True)


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


@chapter.quantity(
    kind="text",
    unit="",
    label="String fuse against its window, in words",
    words="Not known while the module's maximum series fuse is missing.",
    formula='IF(string_fuse_max="","not known",IF(string_fuse_fits="","outside",IF(string_fuse_fits,"within","outside")))',
    source="code_fuse_low",
    optional=("string_fuse_max", "string_fuse_fits"),
    waits=("string_fuse_min",),
)
def string_fuse_window(string_fuse_max: Value, string_fuse_fits: Value) -> Value:
    return np.where(np.isnan(string_fuse_max), "not known", np.where(string_fuse_fits == 1, "within", "outside"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Devices of the strings against that window",
    words="None where there is none, or nobody said so and no standard size fits. Open where an entry is missing.",
    formula='IF(string_device_state="none","none",IF(string_fuse_window="not known","open",IF(string_device_state="fitted",'
    'string_fuse_window,IF(string_fuse_window="within","open","none"))))',
    source=own_rule("silence is not an answer"),
)
def string_fuse_fit(string_device_state: Value, string_fuse_window: Value) -> Value:
    proposed = np.where(string_fuse_window == "within", "open", "none")
    there = np.where(string_device_state == "fitted", string_fuse_window, proposed)
    return np.where(string_device_state == "none", "none", np.where(string_fuse_window == "not known", "open", there))


@chapter.quantity(
    kind="text",
    unit="",
    label="What is known of the string fuses",
    words="Sound where each string has a device within the window; wrong where it has none but needs one, or none fits.",
    formula='IF(string_fuse_fit="within","sound",IF(OR(string_fuse_fit="outside",AND(string_fuse_fit="none",string_need="needed")),'
    '"wrong","open"))',
    source="reverse_current",
)
def string_fuse_state(string_fuse_fit: Value, string_need: Value) -> Value:
    wrong = (string_fuse_fit == "outside") | ((string_fuse_fit == "none") & (string_need == "needed"))
    return np.where(string_fuse_fit == "within", "sound", np.where(wrong, "wrong", "open"))


@chapter.check(
    name="string_fuse",
    safety=True,
    label="String fuses",
    words="Where the other strings or the battery make them necessary: each string has a device whose rating lies within the code's "
    "window and does not exceed the module's.",
    value="string_fuse_judged",
    at_least="string_fuse_min",
    at_most="string_fuse_max",
    formula='IF(string_device_state="contradiction","INCOMPLETE",IF(string_need="not needed","N/A",'
    'IF(string_fuse_state="sound","PASS",IF(string_fuse_state="wrong","FAIL","NOT JUDGED"))))',
    source="reverse_current",
    asks=("controller_backfeed", "string_device", "module_max_fuse"),
    sentences={
        PASS: "Fit a direct-current device of the rating shown in each string, in the pole that the code asks for, rated for "
        "the array's cold voltage.",
        FAIL: "The other strings or the battery drive more current back into a string than its modules withstand, and no device of a "
        "rating that fits stops the current. Modules and cables burn. Fit a device of the rating shown in each string, or choose a "
        "controller that blocks, fewer strings, or modules with a higher maximum series fuse.",
        NOT_JUDGED: "Nobody can say whether a reverse current into a string stays within what its modules withstand.",
        NOT_APPLICABLE: "Neither the other strings nor the battery can drive more current back than a module withstands. No string fuse "
        "is needed.",
        INCOMPLETE: "The entries contradict each other, or one is missing: a rating of string fuses is entered, and that the strings have "
        "no device. Clear one of the two on Entries.",
    },
)
def string_fuse_check(string_device_state: Value, string_need: Value, string_fuse_state: Value) -> Value:
    known = np.where(string_fuse_state == "sound", PASS, np.where(string_fuse_state == "wrong", FAIL, NOT_JUDGED))
    judged = np.where(string_need == "not needed", NOT_APPLICABLE, known)
    return np.where(string_device_state == "contradiction", INCOMPLETE, judged)
