"""What only a person at the site can confirm: a list of questions, each with what a no means and what to do."""

from dataclasses import replace

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_JUDGED, NOTE, PASS

chapter = Part("enclosure", continues=True)
CARE = common_practice("what inspectors ask for; the local code comes first")
_LIST = read_table(
    TEMPLATES / "confirmations.csv",
    "confirmations",
    "What a no means, and what to do",
    CARE,
    "Rows in the order of the questions on the sheet Entries. FAIL: the design fails; NOTE: a weakness.",
)
# the questions themselves stand on the sheets Entries and Enclosure
chapter.table(replace(_LIST, columns=(_LIST.column("advice"), _LIST.column("if_no"))))
QUESTIONS = [
    (str(key), str(item), str(where))
    for key, item, where in zip(*(_LIST.column(name).values for name in ("key", "item", "where")), strict=True)
]

for _key, _item, _where in QUESTIONS:
    chapter.choice(f"confirm_{_key}", ("yes", "no", "not known"), _item, blank=OPTIONAL, where=_where)

confirmed = chapter.grid(
    Grid(
        "confirmed",
        "What is confirmed",
        "Only a yes counts as confirmed: a blank, a no and a not known do not.",
        CARE,
        tuple(
            Row(key, item, {"answer": f"confirm_{key}"}, {"number": float(number)}, start=number == 1, named=number == len(QUESTIONS))
            for number, (key, item, _) in enumerate(QUESTIONS, 1)
        ),
        "Enclosure",
        numbers={"number": ("row of the list", "")},
    )
)


@confirmed.column(kind="text", symbol="answer", words="what was answered", optional=("answer",), formula='IF(answer="","blank",answer)')
def state(answer: Value) -> Value:
    return np.where(answer == "", "blank", answer)


@confirmed.column(kind="text", symbol="a no means", words="FAIL or NOTE, by the list", formula="INDEX(confirmations_if_no,number)")
def if_no(number: Value, *, confirmations: Table) -> Value:
    return confirmations.row(number, "if_no")


@confirmed.running(symbol="open FAIL", words="safety questions without a yes so far", formula='IF(AND(if_no="FAIL",state<>"yes"),1,0)')
def open_safety(if_no: Value, state: Value) -> Value:
    return np.where((if_no == "FAIL") & (state != "yes"), 1, 0)


@confirmed.running(symbol="no FAIL", words="safety questions with a no so far", formula='IF(AND(if_no="FAIL",state="no"),1,0)')
def refused(if_no: Value, state: Value) -> Value:
    return np.where((if_no == "FAIL") & (state == "no"), 1, 0)


@confirmed.running(symbol="no NOTE", words="other questions with a no so far", formula='IF(AND(if_no="NOTE",state="no"),1,0)')
def noted(if_no: Value, state: Value) -> Value:
    return np.where((if_no == "NOTE") & (state == "no"), 1, 0)


@confirmed.running(symbol="open NOTE", words="other questions without a yes so far", formula='IF(AND(if_no="NOTE",state<>"yes"),1,0)')
def open_other(if_no: Value, state: Value) -> Value:
    return np.where((if_no == "NOTE") & (state != "yes"), 1, 0)


@confirmed.column(
    kind="text",
    symbol="what to do",
    words="nothing after a yes",
    wide=True,
    formula='IF(state="yes","",INDEX(confirmations_advice,number))',
)
def advice(state: Value, number: Value, *, confirmations: Table) -> Value:
    return np.where(state == "yes", "", confirmations.row(number, "advice"))


LAST = f"confirmed_{QUESTIONS[-1][0]}"


def asked(if_no: str) -> tuple[str, ...]:
    """Return the questions of which a no means the given verdict."""
    words = zip(QUESTIONS, _LIST.column("if_no").values, strict=True)
    return tuple(f"confirm_{key}" for (key, _, _), word in words if word == if_no)


@chapter.check(
    name="confirmed_safety",
    safety=True,
    label="Confirmed for safety",
    words="Each question of the list on the sheet Enclosure of which a no means FAIL is answered with yes.",
    formula=f'IF({LAST}_refused>0,"FAIL",IF({LAST}_open_safety>0,"NOT JUDGED","PASS"))',
    asks=asked("FAIL"),
    source=own_rule("only a yes confirms"),
    advice=("Not confirmed: ", f"{LAST}_open_safety", "; see the sheet Enclosure."),
    sentences={
        PASS: "A person confirmed each of these; this workbook cannot see whether it is so.",
        NOT_JUDGED: "Some are not confirmed: find out before anything is built.",
        FAIL: "At least one is answered with no: do not build before that is put right.",
    },
)
def confirmed_safety(confirmed_labels_refused: Value, confirmed_labels_open_safety: Value) -> Value:
    return np.where(confirmed_labels_refused > 0, FAIL, np.where(confirmed_labels_open_safety > 0, NOT_JUDGED, PASS))


@chapter.check(
    name="confirmed",
    label="Confirmed for good work",
    words="Each other question of the list on the sheet Enclosure is answered with yes.",
    formula=f'IF({LAST}_noted>0,"NOTE",IF({LAST}_open_other>0,"NOT JUDGED","PASS"))',
    asks=asked("NOTE"),
    source=own_rule("only a yes confirms"),
    advice=("Not confirmed: ", f"{LAST}_open_other", "; see the sheet Enclosure."),
    sentences={
        PASS: "A person confirmed each of these; this workbook cannot see whether it is so.",
        NOTE: "At least one is answered with no: the list says what to do.",
        NOT_JUDGED: "Some are not confirmed: find out.",
    },
)
def confirmed_check(confirmed_labels_noted: Value, confirmed_labels_open_other: Value) -> Value:
    return np.where(confirmed_labels_noted > 0, NOTE, np.where(confirmed_labels_open_other > 0, NOT_JUDGED, PASS))


@chapter.quantity(
    kind="text",
    unit="",
    label="What fails whatever the arrangement",
    words="First of heat, ventilation, load output and confirmations that fails; every row of the list of arrangements fails with it.",
    formula='IF(controller_heat="too hot","hot enclosure",IF(check_ventilation="FAIL","ventilation",'
    'IF(check_load_output="FAIL","load output",IF(check_confirmed_safety="FAIL","confirmations","nothing"))))',
    source=own_rule("no row passes that a safety check fails"),
    optional=("check_ventilation", "check_load_output", "check_confirmed_safety"),
)
def site_fault(controller_heat: Value, check_ventilation: Value, check_load_output: Value, check_confirmed_safety: Value) -> Value:
    asked = np.where(check_confirmed_safety == FAIL, "confirmations", "nothing")
    late = np.where(check_ventilation == FAIL, "ventilation", np.where(check_load_output == FAIL, "load output", asked))
    return np.where(controller_heat == "too hot", "hot enclosure", late)


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
