"""What only a person at the site can confirm: a list of questions, each with what a yes confirms, and who answers for it."""

from dataclasses import replace

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import common_practice, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_APPLICABLE, NOT_JUDGED, NOT_KNOWN, NOTE, PASS, where_pass

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
chapter.table(replace(_LIST, columns=(_LIST.column("advice"), _LIST.column("yes"), _LIST.column("if_no"))))
chapter.table(
    read_table(
        TEMPLATES / "no_names.csv",
        "no_names",
        "Words that name nobody and no day",
        own_rule("silence earns nothing, in whatever words"),
        "One of these in place of a name or a date counts as a blank. Capitals and spaces around it make no difference.",
    )
)
QUESTIONS = [
    (str(key), str(item), str(yes)) for key, item, yes in zip(*(_LIST.column(name).values for name in ("key", "item", "yes")), strict=True)
]

for _key, _item, _yes in QUESTIONS:
    chapter.choice(f"confirm_{_key}", ("yes", "no", NOT_KNOWN), _item, blank=OPTIONAL, where=_yes.removesuffix("."))
chapter.choice(
    "confirm_management",
    ("yes", "no", NOT_KNOWN),
    "Limits of the battery management are kept",
    blank=OPTIONAL,
    where="A yes confirms: The set points, the currents and the temperatures here stay within the limits that the maker of the LiFePO4 "
    "battery gives for its management system. It is asked for LiFePO4 only",
)
chapter.text(
    "confirm_by",
    "Name of the person who confirms",
    blank=OPTIONAL,
    where="the person who looked, and answers for each yes above, the duties of the code included; blank: no yes counts",
)
chapter.text("confirm_date", "Date of the confirmations", blank=OPTIONAL, where="the day on which that person looked, such as 2026-11-25")

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


WHO = own_rule("a confirmation says who confirms, and when")


def empty_of_meaning(text: Value, no_names: Table) -> Value:
    """Whether texts say nothing; spreadsheets compare them without regard to case, and the formula to spaces."""
    nothing = {"", *(str(word) for word in no_names.column("word").values)}
    said = [" ".join(str(one).lower().split()) in nothing for one in np.ravel(np.asarray(text, dtype=object))]
    return np.reshape(np.array(said), np.shape(text))


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the confirmations have a name",
    words="A word of the list of those that name nobody does not count.",
    formula='IF(confirm_by="","nobody",IF(SUMPRODUCT((no_names_word=TRIM(confirm_by))*1)>0,"nobody","somebody"))',
    source=WHO,
    optional=("confirm_by",),
)
def confirmed_who(confirm_by: Value, *, no_names: Table) -> Value:
    return np.where(empty_of_meaning(confirm_by, no_names), "nobody", "somebody")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether a person answers for the confirmations",
    words="A name and a date are entered, and neither is a word of that list.",
    formula='IF(OR(confirmed_who="nobody",confirm_date=""),"nobody",'
    'IF(SUMPRODUCT((no_names_word=TRIM(confirm_date))*1)>0,"nobody","somebody"))',
    source=WHO,
    optional=("confirm_date",),
)
def confirmed_named(confirmed_who: Value, confirm_date: Value, *, no_names: Table) -> Value:
    return np.where((confirmed_who == "nobody") | empty_of_meaning(confirm_date, no_names), "nobody", "somebody")


@chapter.check(
    name="confirmed_safety",
    safety=True,
    label="Confirmed for safety",
    words="Each question of the list on the sheet Enclosure of which a no means FAIL is answered with yes, by a person with a name.",
    formula=f'IF({LAST}_refused>0,"FAIL",IF(OR({LAST}_open_safety>0,confirmed_named="nobody"),"NOT JUDGED","PASS"))',
    asks=(*asked("FAIL"), "confirm_by", "confirm_date"),
    source=own_rule("only a yes confirms"),
    advice=("Not confirmed: ", f"{LAST}_open_safety", "; see the sheet Enclosure."),
    sentences={
        PASS: "The person named confirmed each of these. This workbook cannot see whether it is so.",
        NOT_JUDGED: "Nobody confirmed all of these. Find out before anything is built, and enter who confirms, and when.",
        FAIL: "At least one question of safety is answered with no. The list on the sheet Enclosure says what to do. Do not build "
        "before that is done.",
    },
)
def confirmed_safety(confirmed_labels_refused: Value, confirmed_labels_open_safety: Value, confirmed_named: Value) -> Value:
    unsettled = (confirmed_labels_open_safety > 0) | (confirmed_named == "nobody")
    return np.where(confirmed_labels_refused > 0, FAIL, np.where(unsettled, NOT_JUDGED, PASS))


@chapter.check(
    name="confirmed",
    label="Confirmed for good work",
    words="Each other question of the list on the sheet Enclosure is answered with yes, by a person with a name.",
    formula=f'IF({LAST}_noted>0,"NOTE",IF(OR({LAST}_open_other>0,confirmed_named="nobody"),"NOT JUDGED","PASS"))',
    asks=(*asked("NOTE"), "confirm_by", "confirm_date"),
    source=own_rule("only a yes confirms"),
    advice=("Not confirmed: ", f"{LAST}_open_other", "; see the sheet Enclosure."),
    sentences={
        PASS: "The person named confirmed each question of good work. This workbook cannot see whether it is so.",
        NOTE: "At least one question of good work is answered with no. The list on the sheet Enclosure says what follows, and what to do.",
        NOT_JUDGED: "Nobody confirmed all questions of good work. Find out, and enter who confirms, and when.",
    },
)
def confirmed_check(confirmed_labels_noted: Value, confirmed_labels_open_other: Value, confirmed_named: Value) -> Value:
    unsettled = (confirmed_labels_open_other > 0) | (confirmed_named == "nobody")
    return np.where(confirmed_labels_noted > 0, NOTE, np.where(unsettled, NOT_JUDGED, PASS))


@chapter.check(
    name="management",
    safety=True,
    label="Limits of the battery management are kept, LiFePO4",
    words="For LiFePO4, a person compared set points, currents and temperatures with the battery's management system.",
    formula='IF(battery_chemistry<>"LiFePO4","N/A",IF(confirm_management="no","FAIL",IF(confirm_management="yes","PASS","NOT JUDGED")))',
    asks=("confirm_management",),
    source=common_practice("a management system that disconnects under charge can destroy the controller and the loads"),
    optional=("confirm_management",),
    sentences={
        PASS: "A person compared the limits of the battery management. This workbook cannot see whether they are kept.",
        FAIL: "The design exceeds a limit of the battery management. The battery then disconnects itself under charge, and the voltage "
        "can destroy controller and loads. Set the set points and currents within the maker's limits.",
        NOT_JUDGED: "Nobody compared the set points with the limits of the battery management.",
        NOT_APPLICABLE: "A lead-acid battery has no management system of its own.",
    },
)
def management(battery_chemistry: Value, confirm_management: Value) -> Value:
    judged = np.where(confirm_management == "no", FAIL, where_pass(confirm_management == "yes", NOT_JUDGED))
    return np.where(battery_chemistry != "LiFePO4", NOT_APPLICABLE, judged)
