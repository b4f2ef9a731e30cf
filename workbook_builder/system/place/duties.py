"""Duties of the code by voltage, current and place: each is asked only where it applies, and passes only by a confirmation."""

from dataclasses import replace
from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.profile_rules import DUTIES
from workbook_builder.language.sources import own_rule
from workbook_builder.language.steps import taking
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, NOT_KNOWN, PASS
from workbook_builder.system.conductors.run_entries import INDOORS

chapter = Part("enclosure", continues=True)
TIE = own_rule("a tie counts as above: the safe side")
PLACE = own_rule("a duty applies where the code says; a place that is not entered is not known")
COLUMNS = ("key", "item", "label", "measured", "asks", "hazard")
LIST = [dict(zip(COLUMNS, map(str, row), strict=True)) for row in zip(*(DUTIES.column(name).values for name in COLUMNS), strict=True)]
ROOM = "ventilated room"
VOLTAGES = {"array": "array_voc_cold", "battery": "battery_nominal"}

# labels and questions stand on the sheets Entries and Verdicts
chapter.table(replace(DUTIES, columns=(DUTIES.column("hazard"),)))
chapter.choice(
    "array_circuit_inside",
    ("no", "equipment building only", "yes", NOT_KNOWN),
    "Whether the array's circuit enters a building",
    blank=OPTIONAL,
    where="your design: the cable from the array to the controller; an equipment building houses nothing but this system; "
    "blank: duties that rest on it are not judged",
)
chapter.choice(
    "battery_building",
    ("dwelling", "other building", "no building", NOT_KNOWN),
    "Which building the battery stands in, or supplies",
    blank=OPTIONAL,
    where="dwelling: a house for one or two families; blank: a dwelling if the array stands on one, otherwise not known",
)
for _one in LIST:
    chapter.choice(
        f"confirm_{_one['key']}",
        ("yes", "no", NOT_KNOWN),
        _one["item"],
        blank=OPTIONAL,
        where="the sheet Enclosure says what the code in force asks, and whether it applies here; leave it blank where it does not apply",
    )
chapter.constant("duty_no_volts", 100_000, "V", "Voltage that stands for never", "", own_rule("no array reaches it"))
chapter.constant("duty_no_amps", 100_000, "A", "Current that stands for never", "", own_rule("no array reaches it"))


INSIDE = own_rule("what is indoors has entered a building, whatever is answered")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether a run of the array is indoors",
    words="The run of the strings or that of the array.",
    formula=f'IF(OR(run_array_place="{INDOORS}",run_string_place="{INDOORS}"),"yes","no")',
    source=INSIDE,
)
def run_indoors(run_array_place: Value, run_string_place: Value) -> Value:
    return np.where((run_array_place == INDOORS) | (run_string_place == INDOORS), "yes", "no")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the controller shares the box of a battery in a room",
    words="Both are answered so.",
    formula='IF(enclosure_shared&battery_place="yesroom","yes","no")',
    source=INSIDE,
    optional=("enclosure_shared", "battery_place"),
)
def box_indoors(enclosure_shared: Value, battery_place: Value) -> Value:
    return np.where((enclosure_shared == "yes") & (battery_place == "room"), "yes", "no")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether other entries put the array's circuit into a building",
    words="A run of the array is indoors, or the controller stands in a room or shares the box of a battery in a room.",
    formula=f'IF(OR(run_indoors="yes",box_indoors="yes",enclosure_place="{ROOM}"),"yes","no")',
    source=INSIDE,
    optional=("enclosure_place",),
)
def array_seen_inside(run_indoors: Value, box_indoors: Value, enclosure_place: Value) -> Value:
    return np.where((run_indoors == "yes") | (box_indoors == "yes") | (enclosure_place == ROOM), "yes", "no")


@chapter.quantity(
    kind="text",
    unit="",
    label="Which building the array's circuit enters",
    words="As answered; a blank is not known. No building at all counts as one that houses more, where other entries contradict it.",
    formula=f'IF(array_circuit_inside="","{NOT_KNOWN}",IF(array_circuit_inside&array_seen_inside="noyes","yes",array_circuit_inside))',
    source=PLACE,
    optional=("array_circuit_inside",),
)
def array_inside(array_circuit_inside: Value, array_seen_inside: Value) -> Value:
    contradicted = (array_circuit_inside == "no") & (array_seen_inside == "yes")
    said = np.where(contradicted, "yes", array_circuit_inside)
    return np.where(array_circuit_inside == "", NOT_KNOWN, said)


@chapter.quantity(
    kind="text",
    unit="",
    label="Which building the array's circuit would enter",
    words="A dwelling where the battery stands in one or supplies one; so is taken any building that houses more than this system and is "
    "not named. Otherwise another building.",
    formula='IF(OR(battery_building="dwelling",'
    'AND(array_inside="yes",site_place="not on a building",battery_building<>"other building")),"dwelling","other building")',
    source=PLACE,
    optional=("battery_building",),
)
def building_entered(battery_building: Value, array_inside: Value, site_place: Value) -> Value:
    unnamed = (array_inside == "yes") & (site_place == "not on a building") & (battery_building != "other building")
    return np.where((battery_building == "dwelling") | unnamed, "dwelling", "other building")


@chapter.quantity(
    kind="text",
    unit="",
    label="Strictest place on the way of the array's circuit",
    words="The place of the array, or the building that its circuit enters.",
    formula=f'IF(OR(site_place="dwelling",array_inside="no",array_inside="{NOT_KNOWN}"),site_place,building_entered)',
    source=PLACE,
)
def code_place(site_place: Value, array_inside: Value, building_entered: Value) -> Value:
    outside = (site_place == "dwelling") | (array_inside == "no") | (array_inside == NOT_KNOWN)
    return np.where(outside, site_place, building_entered)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether duties inside buildings apply",
    words="The array's circuit enters a building of any kind, by the answer or by other entries.",
    formula=f'IF(array_seen_inside="yes","yes",IF(array_inside="{NOT_KNOWN}","{NOT_KNOWN}",IF(array_inside="no","no","yes")))',
    source=PLACE,
)
def duty_inside_building(array_inside: Value, array_seen_inside: Value) -> Value:
    said = np.where((array_inside == NOT_KNOWN) | (array_inside == "no"), array_inside, "yes")
    return np.where(array_seen_inside == "yes", "yes", said)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether duties on buildings apply",
    words="The array stands on a building, or its circuit enters one that houses more than this system.",
    formula=f'IF(OR(site_place<>"not on a building",array_inside="yes"),"yes",IF(array_inside="{NOT_KNOWN}","{NOT_KNOWN}","no"))',
    source=PLACE,
)
def duty_on_building(site_place: Value, array_inside: Value) -> Value:
    elsewhere = np.where(array_inside == NOT_KNOWN, NOT_KNOWN, "no")
    return np.where((site_place != "not on a building") | (array_inside == "yes"), "yes", elsewhere)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether duties at dwellings apply",
    words="The array stands on a dwelling, or the battery stands in one or supplies one.",
    formula='IF(OR(site_place="dwelling",battery_building="dwelling"),"yes",'
    f'IF(OR(battery_building="",battery_building="{NOT_KNOWN}"),"{NOT_KNOWN}","no"))',
    source=PLACE,
    optional=("battery_building",),
)
def duty_at_dwelling(site_place: Value, battery_building: Value) -> Value:
    unknown = (battery_building == "") | (battery_building == NOT_KNOWN)
    return np.where((site_place == "dwelling") | (battery_building == "dwelling"), "yes", np.where(unknown, NOT_KNOWN, "no"))


duties = chapter.grid(
    Grid(
        "duty",
        "Duties of the code by voltage, current and place",
        "What the code in force asks here, and what was answered. A duty that does not apply needs no answer.",
        "duties",
        tuple(
            Row(
                one["key"],
                one["label"],
                {"answer": f"confirm_{one['key']}", "measured": VOLTAGES[one["measured"]]},
                {"number": float(number), "of_array": float(one["measured"] == "array")},
                start=number == 1,
            )
            for number, one in enumerate(LIST, 1)
        ),
        "Enclosure",
        numbers={"number": ("row of the list", ""), "of_array": ("1 for a duty of the array's circuits", "")},
    )
)


@duties.column(symbol="from V", unit="V", words="asked from this voltage", formula="INDEX(duties_volts,number)")
def volts(number: Value, *, duties: Table) -> Value:
    return duties.row(number, "volts")


@duties.column(symbol="from A", unit="A", words="asked from this current", formula="INDEX(duties_amps,number)")
def amps(number: Value, *, duties: Table) -> Value:
    return duties.row(number, "amps")


@duties.column(
    kind="text",
    symbol="place",
    words="whether the place is one where it is asked",
    formula='IF(INDEX(duties_place,number)="everywhere","yes",IF(INDEX(duties_place,number)="on a building",duty_on_building,'
    'IF(INDEX(duties_place,number)="inside a building",duty_inside_building,'
    'IF(INDEX(duties_place,number)="dwelling",duty_at_dwelling,"no"))))',
)
def here(number: Value, duty_on_building: Value, duty_inside_building: Value, duty_at_dwelling: Value, *, duties: Table) -> Value:
    places = {
        "everywhere": "yes",
        "on a building": duty_on_building,
        "inside a building": duty_inside_building,
        "dwelling": duty_at_dwelling,
    }
    return places.get(duties.row(number, "place"), "no")


@duties.column(
    kind="text",
    symbol="reached",
    words="whether voltage or current reach it",
    formula='IF(OR(ROUND(measured,6)>=ROUND(volts,6),ROUND(array_isc_max,6)>=ROUND(amps,6)),"yes","no")',
)
def reached(measured: Value, volts: Value, array_isc_max: Value, amps: Value) -> Value:
    by_volts = round_half_away(measured, 6) >= round_half_away(volts, 6)
    return np.where(by_volts | (round_half_away(array_isc_max, 6) >= round_half_away(amps, 6)), "yes", "no")


@duties.column(kind="text", symbol="applies", words="whether it applies here", named=True, formula='IF(reached="no","no",here)')
def applies(reached: Value, here: Value) -> Value:
    return np.where(reached == "no", "no", here)


@duties.column(
    kind="text",
    symbol="state",
    words="confirmed, refused, open, or not asked here",
    named=True,
    optional=("answer",),
    formula='IF(applies="no","not asked",IF(answer="yes","confirmed",IF(applies&answer="yesno","refused","open")))',
)
def state(applies: Value, answer: Value) -> Value:
    unsettled = np.where((applies == "yes") & (answer == "no"), "refused", "open")
    return np.where(applies == "no", "not asked", np.where(answer == "yes", "confirmed", unsettled))


@duties.column(
    symbol="V refused",
    unit="V",
    words="lowest voltage from which a duty of the array is refused so far",
    named=True,
    optional=("answer",),
    formula='MIN(previous_least_volts,IF(AND(of_array=1,here="yes",answer="no"),volts,duty_no_volts))',
)
def least_volts(previous_least_volts: Value, of_array: Value, here: Value, answer: Value, volts: Value, duty_no_volts: Value) -> Value:
    return np.minimum(previous_least_volts, np.where((of_array == 1) & (here == "yes") & (answer == "no"), volts, duty_no_volts))


@duties.start(formula='IF(AND(of_array=1,here="yes",answer="no"),volts,duty_no_volts)')
def least_volts_start(of_array: Value, here: Value, answer: Value, volts: Value, duty_no_volts: Value) -> Value:
    return np.where((of_array == 1) & (here == "yes") & (answer == "no"), volts, duty_no_volts)


@duties.column(
    symbol="A refused",
    unit="A",
    words="lowest current from which a duty of the array is refused so far",
    named=True,
    optional=("answer",),
    formula='MIN(previous_least_amps,IF(AND(of_array=1,here="yes",answer="no"),amps,duty_no_amps))',
)
def least_amps(previous_least_amps: Value, of_array: Value, here: Value, answer: Value, amps: Value, duty_no_amps: Value) -> Value:
    return np.minimum(previous_least_amps, np.where((of_array == 1) & (here == "yes") & (answer == "no"), amps, duty_no_amps))


@duties.start(formula='IF(AND(of_array=1,here="yes",answer="no"),amps,duty_no_amps)')
def least_amps_start(of_array: Value, here: Value, answer: Value, amps: Value, duty_no_amps: Value) -> Value:
    return np.where((of_array == 1) & (here == "yes") & (answer == "no"), amps, duty_no_amps)


@duties.column(kind="text", symbol="what is asked", words="what the code asks", wide=True, formula="INDEX(duties_rule,number)")
def rule(number: Value, *, duties: Table) -> Value:
    return duties.row(number, "rule")


LAST = f"duty_{LIST[-1]['key']}"


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the array's voltage makes a refused duty due",
    words="Refused: the answer to a duty of the code is no, and this voltage makes it apply.",
    formula=f'IF({LAST}_least_volts="","nothing",IF(ROUND(array_voc_cold,6)>=ROUND({LAST}_least_volts,6),"refused","nothing"))',
    source=TIE,
    optional=(f"{LAST}_least_volts",),
)
def duty_voltage(array_voc_cold: Value, duty_battery_emergency_least_volts: Value) -> Value:
    due = round_half_away(array_voc_cold, 6) >= round_half_away(duty_battery_emergency_least_volts, 6)
    return np.where(due, "refused", "nothing")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the array's current makes a refused duty due",
    words="Refused: the answer to a duty of the code is no, and this current makes it apply.",
    formula=f'IF({LAST}_least_amps="","nothing",IF(ROUND(array_isc_max,6)>=ROUND({LAST}_least_amps,6),"refused","nothing"))',
    source=TIE,
    optional=(f"{LAST}_least_amps",),
)
def duty_current(array_isc_max: Value, duty_battery_emergency_least_amps: Value) -> Value:
    due = round_half_away(array_isc_max, 6) >= round_half_away(duty_battery_emergency_least_amps, 6)
    return np.where(due, "refused", "nothing")


def _judged(state: Any) -> Any:
    known = np.where(state == "confirmed", PASS, np.where(state == "refused", FAIL, NOT_JUDGED))
    return np.where(state == "not asked", NOT_APPLICABLE, known)


for _one in LIST:
    _state = f"duty_{_one['key']}_state"
    chapter.check(
        name=f"duty_{_one['key']}",
        safety=True,
        label=_one["label"],
        words="Where the code asks for it, a person confirms it: the list of duties on the sheet Enclosure says what exactly.",
        value=VOLTAGES[_one["measured"]],
        formula=f'IF({_state}="not asked","N/A",IF({_state}="confirmed","PASS",IF({_state}="refused","FAIL","NOT JUDGED")))',
        source=f"duty_{_one['key']}",
        asks=tuple(name for name in (f"confirm_{_one['key']}", _one["asks"]) if name),
        sentences={
            PASS: "A person confirmed it. This workbook cannot see whether it is so.",
            FAIL: _one["hazard"],
            NOT_JUDGED: "The code may ask for it at this voltage, current and place. Nobody confirmed it.",
            NOT_APPLICABLE: "The code does not ask for it at this voltage, current and place.",
        },
    )(taking([_state], lambda **values: _judged(*values.values())))
