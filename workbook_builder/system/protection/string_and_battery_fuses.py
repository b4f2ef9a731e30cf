"""Protection: string fuses, the battery fuse with its breaking capacity, and what the code asks above which voltage."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOTE, PASS, where_pass
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
chapter.number(
    "battery_fuse_rating",
    "A",
    1,
    800,
    "Rating of the battery fuse you plan",
    blank=OPTIONAL,
    where="blank: the smallest standard size is proposed",
)
chapter.number(
    "battery_fuse_breaking",
    "kA",
    0.5,
    200,
    "Breaking capacity of the battery fuse, direct current",
    blank=OPTIONAL,
    where="fuse data sheet",
)
chapter.constant("amperes_per_kiloampere", 1000, "A/kA", "Amperes in a kiloampere", "", common_practice("decimal prefix"))


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


@chapter.quantity(
    symbol="In,bat",
    unit="A",
    label="Smallest battery fuse",
    words="{code_battery_fuse} times the controller's rated current, next standard size.",
    formula=f'IF(ROUND(battery_run_current,9)>MAX(standard_ratings_amps),"",{next_size("battery_run_current")})',
    source="code_battery_fuse",
)
def battery_fuse(battery_run_current: Value, *, standard_ratings: Table) -> Value:
    return standard_ratings.next_up(battery_run_current, "amps")


@chapter.quantity(
    symbol="In,bat",
    unit="A",
    label="Battery fuse judged",
    words="The one you plan, or else the smallest.",
    formula='IF(battery_fuse_rating="",battery_fuse,battery_fuse_rating)',
    source=own_rule("entry before proposal"),
    optional=("battery_fuse_rating",),
)
def battery_fuse_judged(battery_fuse_rating: Value, battery_fuse: Value) -> Value:
    return np.where(np.isnan(battery_fuse_rating), battery_fuse, battery_fuse_rating)


@chapter.quantity(
    kind="text",
    unit="",
    label="That rating against the battery's cable",
    words="PASS if the cable allows it.",
    formula='IF(runs_battery_state="not run","N/A",IF(runs_battery_cap="","INCOMPLETE",'
    'IF(ROUND(battery_fuse_judged,6)<=ROUND(runs_battery_cap,6),"PASS","FAIL")))',
    source="small_conductors",
    optional=("runs_battery_cap",),
)
def battery_fuse_cable(runs_battery_state: Value, runs_battery_cap: Value, battery_fuse_judged: Value) -> Value:
    cable = where_pass(round_half_away(battery_fuse_judged, 6) <= round_half_away(runs_battery_cap, 6), FAIL)
    known = np.where(np.isnan(runs_battery_cap), INCOMPLETE, cable)
    return np.where(runs_battery_state == "not run", NOT_APPLICABLE, known)


@chapter.quantity(
    kind="flag",
    unit="",
    label="That rating is too low for the controller",
    words="Below {code_battery_fuse} times the rated current.",
    formula="ROUND(battery_fuse_judged,6)<ROUND(battery_run_current,6)",
    source="code_battery_fuse",
)
def battery_fuse_low(battery_fuse_judged: Value, battery_run_current: Value) -> Value:
    return round_half_away(battery_fuse_judged, 6) < round_half_away(battery_run_current, 6)


@chapter.check(
    name="battery_fuse",
    safety=True,
    label="Battery fuse and its cable",
    words="At least {code_battery_fuse} times the controller's rated current, and not above what the cable allows: Ib ≤ In ≤ Iz.",
    value="battery_fuse_judged",
    at_least="battery_run_current",
    at_most="runs_battery_cap",
    formula='IF(battery_fuse_low,"FAIL",IF(battery_fuse_cable="N/A","N/A",IF(battery_fuse_cable="PASS","PASS",'
    'IF(battery_fuse_cable="FAIL","FAIL","INCOMPLETE"))))',
    source="code_battery_fuse",
    sentences={
        PASS: "The fuse carries the controller's current and protects its cable. Put it as near to the battery's positive "
        "terminal as can be.",
        FAIL: "The fuse would open in service, or does not protect its cable: choose a thicker cable or another rating.",
        NOT_APPLICABLE: "The battery cable was not entered: fit a fuse of at least the value shown, and not above what the cable carries.",
        INCOMPLETE: "The battery cable has a length but no conductor, air too warm for the tables, or no standard fuse is large enough.",
    },
)
def battery_fuse_check(battery_fuse_low: Value, battery_fuse_cable: Value) -> Value:
    return np.where(battery_fuse_low == 1, FAIL, battery_fuse_cable)


@chapter.quantity(
    symbol="In,PV",
    unit="A",
    label="Lowest rating of the protection on the PV input",
    words="Highest array current by the code, times its factor for long hours.",
    formula="code_continuous_factor*array_isc_max",
    source="code_continuous_factor",
)
def input_fuse_min(code_continuous_factor: Value, array_isc_max: Value) -> Value:
    return code_continuous_factor * array_isc_max


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input against the array's cable",
    words="Whether the cable allows its rating.",
    formula='IF(runs_array_state="not run","not run",IF(runs_array_cap="","unfinished",'
    'IF(ROUND(controller_ocp,6)<=ROUND(runs_array_cap,6),"within","above")))',
    source="small_conductors",
    optional=("runs_array_cap",),
)
def input_fuse_cable(runs_array_state: Value, runs_array_cap: Value, controller_ocp: Value) -> Value:
    within = np.where(round_half_away(controller_ocp, 6) <= round_half_away(runs_array_cap, 6), "within", "above")
    return np.where(runs_array_state == "not run", "not run", np.where(np.isnan(runs_array_cap), "unfinished", within))


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input against the code",
    words="Whether it carries long hours of bright sun.",
    formula='IF(ROUND(controller_ocp,6)>=ROUND(input_fuse_min,6),"enough","low")',
    source="code_continuous_factor",
)
def input_fuse_size(controller_ocp: Value, input_fuse_min: Value) -> Value:
    return np.where(round_half_away(controller_ocp, 6) >= round_half_away(input_fuse_min, 6), "enough", "low")


@chapter.quantity(
    kind="text",
    unit="",
    label="Protection on the PV input: the stricter of the two",
    words="The cable first, then the code.",
    formula='IF(OR(input_fuse_cable="above",input_fuse_cable="unfinished"),input_fuse_cable,input_fuse_size)',
    source=own_rule("the stricter first"),
)
def input_fuse_state(input_fuse_cable: Value, input_fuse_size: Value) -> Value:
    return np.where((input_fuse_cable == "above") | (input_fuse_cable == "unfinished"), input_fuse_cable, input_fuse_size)


@chapter.check(
    name="array_protection",
    safety=True,
    label="Protection on the PV input and the array's cable",
    words="Its rating, not above what the array's cable allows; a note where it is below the code's factor for long hours.",
    value="controller_ocp",
    at_least="input_fuse_min",
    at_most="runs_array_cap",
    formula='IF(controller_ocp="","N/A",IF(input_fuse_state="above","FAIL",IF(input_fuse_state="enough","PASS",'
    'IF(input_fuse_state="low","NOTE","INCOMPLETE"))))',
    source="small_conductors",
    optional=("controller_ocp", "input_fuse_state"),
    sentences={
        PASS: "The device carries the array's current for long hours and, where the cable is entered, protects it.",
        NOTE: "The device is smaller than the code asks for long hours of bright sun and may open: choose the next size, if the "
        "cable allows it.",
        FAIL: "The device is larger than the array's cable allows and does not protect it: choose a thicker cable or a smaller device.",
        NOT_APPLICABLE: "No protection on the PV input was entered.",
        INCOMPLETE: "The array's cable has a length but no conductor or the other way round, or air too warm for the tables.",
    },
)
def array_protection(controller_ocp: Value, input_fuse_state: Value) -> Value:
    enough = np.where(input_fuse_state == "enough", PASS, np.where(input_fuse_state == "low", NOTE, INCOMPLETE))
    judged = np.where(input_fuse_state == "above", FAIL, enough)
    return np.where(np.isnan(controller_ocp), NOT_APPLICABLE, judged)


@chapter.quantity(
    symbol="Isc,bat",
    unit="kA",
    label="Short-circuit current of the bank, estimated",
    words="Usual amperes for each ampere-hour of the chemistry, times the bank.",
    formula="battery_short_per_ah*battery_bank_ah/amperes_per_kiloampere",
    source=common_practice("makers' sheets come first; fresh and warm batteries give more than worn ones"),
)
def battery_short_ka(battery_short_per_ah: Value, battery_bank_ah: Value, amperes_per_kiloampere: Value) -> Value:
    return battery_short_per_ah * battery_bank_ah / amperes_per_kiloampere


chapter.limit(
    name="battery_fuse_breaking",
    safety=True,
    label="Breaking capacity of the battery fuse",
    words="The fuse must break the bank's short-circuit current, estimated.",
    value="battery_short_ka",
    at_most="battery_fuse_breaking",
    unless=(("battery_fuse_breaking", ""),),
    source=common_practice("rating and breaking capacity are two checks"),
    sentences={
        PASS: "The fuse breaks the estimated short-circuit current of the bank.",
        FAIL: "The fuse cannot break the bank's short-circuit current and may burst: choose one with a higher breaking "
        "capacity for direct current.",
        NOT_APPLICABLE: "No breaking capacity was entered: choose a fuse that breaks at least the value shown.",
    },
)


rules = chapter.grid(
    Grid(
        "rules",
        "What is asked above which voltage",
        "Each row of the profile's table of thresholds, for this array's cold voltage.",
        "thresholds",
        tuple(Row(f"n{n}", f"rule {n}", numbers={"number": float(n)}) for n in (1, 2, 3)),
        "Protection",
        single=True,
        numbers={"number": ("row of the table", "")},
    )
)


@rules.column(
    symbol="above", unit="V", words="array voltage", formula='IF(number>COUNT(thresholds_volts),"",INDEX(thresholds_volts,number))'
)
def volts(number: Value, *, thresholds: Table) -> Value:
    return thresholds.row(number, "volts")


@rules.column(
    kind="text", symbol="here", words="whether it applies", formula='IF(ROUND(array_voc_cold,6)>ROUND(volts,6),"applies","does not apply")'
)
def applies(array_voc_cold: Value, volts: Value) -> Value:
    return np.where(round_half_away(array_voc_cold, 6) > round_half_away(volts, 6), "applies", "does not apply")


@rules.column(
    kind="text",
    symbol="what is asked",
    words="what the code asks",
    wide=True,
    formula='IF(number>COUNT(thresholds_volts),"",INDEX(thresholds_rule,number))',
)
def rule(number: Value, *, thresholds: Table) -> Value:
    return thresholds.row(number, "rule")


@chapter.quantity(
    kind="text",
    unit="",
    label="Touch voltage of the array",
    words="Against the lowest threshold of the profile.",
    formula='IF(ROUND(array_voc_cold,6)>ROUND(INDEX(thresholds_volts,1),6),"above the lowest threshold: guard live parts",'
    '"below the lowest threshold")',
    source="thresholds",
)
def touch_voltage(array_voc_cold: Value, *, thresholds: Table) -> Value:
    above = round_half_away(array_voc_cold, 6) > round_half_away(thresholds.column("volts").values[0], 6)
    return np.where(above, "above the lowest threshold: guard live parts", "below the lowest threshold")
