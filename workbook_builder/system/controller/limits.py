"""The charge controller: whether the array's voltage and current stay within its ratings."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.array.advice import SERIES_ADVISED, STRINGS_ADVISED

chapter = Part(
    "controller",
    "Charge controller",
    "A PWM controller connects the array straight to the battery; an MPPT controller converts voltage into current.",
)

SHEET = "controller data sheet"

chapter.text("controller_name", "Charge controller", where="maker's type, as on its label")
chapter.choice("controller_type", ("PWM", "MPPT"), "Kind of controller", where=SHEET)
chapter.number("controller_v_max", "V", 10, 1500, "Highest PV open-circuit voltage", where=f"{SHEET}, PV input")
chapter.number("controller_i_max", "A", 0.5, 400, "Rated charge current", where=SHEET)
chapter.number(
    "controller_i_sc_max",
    "A",
    0.5,
    400,
    "Highest PV short-circuit current",
    blank=OPTIONAL,
    where=f"{SHEET}, PV input; blank: not judged where an MPPT controller needs it",
)
chapter.number(
    "controller_ocp",
    "A",
    0.5,
    400,
    "Overcurrent protection on its PV input",
    blank=OPTIONAL,
    where="rating of the fuse or breaker between array and controller; if there is none, answer so in the chapter Protection",
)
chapter.number(
    "controller_v_drop",
    "V",
    0,
    2,
    "Voltage drop across the closed controller",
    where=SHEET,
    blank=0.2,
    blank_source=common_practice("usual of transistor switches"),
)
chapter.choice(
    "controller_tempcomp",
    ("yes", "no"),
    "Battery temperature compensation used",
    blank="no",
    blank_source=common_practice("assumed off until the installer says it is on"),
    where="setting and sensor of the controller",
)


@chapter.quantity(
    symbol="Ns,ctrl",
    unit="",
    label="Most modules in series by the controller's limit",
    words="The most whose cold Voc is still below the controller's limit; at the limit itself one fewer.",
    formula="ROUNDUP(ROUND(controller_v_max/(module_voc*voc_factor),9),0)-1",
    source=own_rule("a strict limit: an exact tie does not fit"),
)
def series_max_controller(controller_v_max: Value, module_voc: Value, voc_factor: Value) -> Value:
    return np.ceil(round_half_away(controller_v_max / (module_voc * voc_factor), 9)) - 1


@chapter.quantity(
    symbol="Np,ctrl",
    unit="",
    label="Most strings in parallel for the rated current, with the code's margin",
    words="Rated charge current divided by one string's highest current, rounded down.",
    formula="ROUNDDOWN(ROUND(controller_i_max*array_parallel/array_isc_max,9),0)",
    source="array_current",
)
def parallel_max_controller(controller_i_max: Value, array_parallel: Value, array_isc_max: Value) -> Value:
    return np.floor(round_half_away(controller_i_max * array_parallel / array_isc_max, 9))


chapter.limit(
    name="cold_voltage",
    safety=True,
    match=True,
    label="Cold voltage below the controller's limit",
    words="Array Voc on the coldest morning, strictly below the controller's highest PV voltage.",
    value="array_voc_cold",
    at_most="controller_v_max",
    strictly_below=True,
    source="voltage_rating",
    advice=SERIES_ADVISED,
    sentences={
        PASS: "The controller withstands the array at open circuit on the coldest morning.",
        FAIL: "On a cold morning the array exceeds what the controller withstands and will destroy it. Do not connect the array. Choose "
        "a controller for a higher PV voltage, or fewer modules in series.",
    },
)


chapter.constant(
    "voltage_margin_least",
    0.02,
    "",
    "Share of the controller's voltage limit that is to be left on the coldest morning",
    "",
    own_rule("within the tolerance of Voc on data sheets, and some kelvins of a record cold"),
)


@chapter.quantity(
    symbol="ΔV/V,ctrl",
    unit="",
    label="Share of the controller's voltage limit left on the coldest morning",
    words="The limit less array Voc on the coldest morning, as a share of the limit.",
    formula="1-array_voc_cold/controller_v_max",
    source=own_rule("share of the limit"),
)
def voltage_margin(array_voc_cold: Value, controller_v_max: Value) -> Value:
    return 1 - array_voc_cold / controller_v_max


chapter.limit(
    name="voltage_margin",
    match=True,
    label="Margin below controller's voltage limit",
    words="Share of the controller's limit that array Voc leaves on the coldest morning, not below {voltage_margin_least:%}.",
    value="voltage_margin",
    at_least="voltage_margin_least",
    source=own_rule("a tie is no margin: modules, data sheets and mornings differ"),
    advice=(
        "At most ",
        "series_margin_advised",
        " of these modules in series keep it.",
        "No number of these modules in series is known to keep it.",
    ),
    sentences={
        PASS: "The controller's limit leaves room for the tolerance of modules and for a colder morning.",
        NOTE: "On the coldest morning less than {voltage_margin_least:%} of the controller's limit is left. Modules above their rated "
        "voltage, or a morning that is a little colder, would destroy the controller. Choose a controller for a higher PV voltage, or "
        "fewer modules in series.",
    },
)


@chapter.check(
    safety=True,
    match=True,
    label="Array current within the PWM controller's rating",
    words="The array's short-circuit current must be below the rated current. Below the code's {code_current_factor} times as well: "
    "PASS; between the two: NOTE. An MPPT controller limits its own current.",
    value="array_isc",
    at_most="controller_i_max",
    formula='IF(controller_type="MPPT","N/A",IF(ROUND(array_isc,6)>=ROUND(controller_i_max,6),"FAIL",'
    'IF(ROUND(array_isc_max,6)<=ROUND(controller_i_max,6),"PASS","NOTE")))',
    source=common_practice("all of the array's current flows through a PWM controller"),
    advice=STRINGS_ADVISED,
    sentences={
        PASS: "The controller carries the array's current with the code's margin for bright cloud edges.",
        NOTE: "The rating covers the array's short-circuit current but not the code's {code_current_factor} times of it: under bright "
        "cloud edges the controller may trip or overheat. Prefer a larger controller or fewer strings, or ask its "
        "maker in writing.",
        FAIL: "The array can deliver more current than the controller carries, and will overheat it. Do not connect the array. Choose a "
        "controller for a higher current, or fewer strings in parallel.",
        NOT_APPLICABLE: "An MPPT controller limits its charge current itself; see its short-circuit limit.",
    },
)
def array_current(controller_type: Value, array_isc: Value, array_isc_max: Value, controller_i_max: Value) -> Value:
    current, highest = round_half_away(array_isc, 6), round_half_away(array_isc_max, 6)
    rated = round_half_away(controller_i_max, 6)
    pwm = np.where(current >= rated, FAIL, where_pass(highest <= rated, NOTE))
    return np.where(controller_type == "MPPT", NOT_APPLICABLE, pwm)


@chapter.quantity(
    kind="text",
    unit="",
    label="Highest array current against the controller's PV short-circuit limit",
    words="Within the limit or above it, if one is entered.",
    formula='IF(controller_i_sc_max="","not entered",IF(ROUND(array_isc_max,6)<=ROUND(controller_i_sc_max,6),"within","above"))',
    source="code_current_factor",
    optional=("controller_i_sc_max",),
)
def short_circuit_state(controller_i_sc_max: Value, array_isc_max: Value) -> Value:
    judged = np.where(round_half_away(array_isc_max, 6) <= round_half_away(controller_i_sc_max, 6), "within", "above")
    return np.where(np.isnan(controller_i_sc_max), "not entered", judged)


@chapter.quantity(
    kind="flag",
    unit="",
    label="Highest array current exceeds the output rating of an MPPT controller",
    words="Then its short-circuit limit must be known. The rated current of a PWM controller judges its input as well.",
    formula='AND(controller_type="MPPT",ROUND(array_isc_max,6)>ROUND(controller_i_max,6))',
    source=own_rule("an input is taken to withstand the output's rated current, and no more unless its maker says so"),
)
def isc_above_rating(controller_type: Value, array_isc_max: Value, controller_i_max: Value) -> Value:
    return (controller_type == "MPPT") & (round_half_away(array_isc_max, 6) > round_half_away(controller_i_max, 6))


@chapter.check(
    safety=True,
    match=True,
    label="Short-circuit current within the controller's PV limit",
    words="The array's highest current by the code, not above the controller's PV short-circuit limit. Where that "
    "current exceeds the rated charge current of an MPPT controller, the limit must be entered.",
    value="array_isc_max",
    at_most="controller_i_sc_max",
    formula='IF(short_circuit_state="within","PASS",IF(short_circuit_state="above","FAIL",IF(isc_above_rating,"NOT JUDGED","N/A")))',
    source="code_current_factor",
    asks=("controller_i_sc_max",),
    advice=STRINGS_ADVISED,
    sentences={
        PASS: "The PV input withstands the array's highest short-circuit current.",
        FAIL: "A fault or a reversed polarity would drive more current than the PV input withstands. Do not connect the array. Choose a "
        "controller with a higher PV short-circuit limit, or fewer strings in parallel.",
        NOT_JUDGED: "The array's highest short-circuit current exceeds the rated charge current of this MPPT controller. Nobody can say "
        "whether the PV input withstands it.",
        NOT_APPLICABLE: "No limit is entered, and none is needed here. The rated charge current judges the input of a PWM controller, and "
        "it covers the array's highest short-circuit current where the controller is an MPPT controller.",
    },
)
def short_circuit(short_circuit_state: Value, isc_above_rating: Value) -> Value:
    blank = np.where(isc_above_rating == 1, NOT_JUDGED, NOT_APPLICABLE)
    return np.where(short_circuit_state == "within", PASS, np.where(short_circuit_state == "above", FAIL, blank))


chapter.limit(
    name="input_protection",
    safety=True,
    match=True,
    label="Array current below the protection on the PV input",
    words="The array's highest current by the code, below the rating of the fuse or breaker on the PV input, if any.",
    value="array_isc_max",
    at_most="controller_ocp",
    strictly_below=True,
    unless=(("ocp_state", "none"), ("controller_ocp", "")),
    asks=("controller_ocp", "array_device"),
    source="overcurrent",
    advice=STRINGS_ADVISED,
    sentences={
        PASS: "The fuse or breaker on the PV input carries the array's current in bright sun.",
        FAIL: "The fuse or breaker on the PV input would open in bright sun, or age until it does. Choose a larger one "
        "that the cable and the controller allow, or fewer strings in parallel.",
        NOT_JUDGED: "Nobody can say whether a fuse or breaker on the PV input stays closed in bright sun.",
        NOT_APPLICABLE: "There is no fuse or breaker on the PV input.",
    },
)
