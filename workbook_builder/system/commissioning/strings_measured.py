"""String by string: open-circuit volts and short-circuit amps against what the sun and temperature of the day predict."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL, EntryTable
from workbook_builder.language.sources import FROM_MEMORY, cite, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.system.commissioning.readings import SHEET, STEPS

chapter = Part(
    "strings",
    "Strings, one by one",
    "Each string by itself: open the array isolator, see with the clamp that no string carries current, then take the string fuses out; "
    "without fuses, open a plug of each string. Read sun and temperature again if they changed.",
    sheet=STEPS,
    typed_on=SHEET,
)

MOST = 8
ITEMS = tuple((f"string{number}", f"String {number}") for number in range(1, MOST + 1))
table = EntryTable(
    "strings",
    "Table of strings",
    "Volts at open circuit, then amps in short circuit through a switch or tester made for it, never by joining live leads.",
    ITEMS,
    (("voc", "Voc read (V)"), ("isc", "Isc read (A)")),
)
chapter.entry_table(table)
for _item, _label in ITEMS:
    chapter.number(
        f"{_item}_voc",
        "V",
        -1500,
        1500,
        f"{_label}: open-circuit volts",
        blank=OPTIONAL,
        table="strings",
        where="meter on the string's own leads; with the minus sign if it shows one",
    )
    chapter.number(
        f"{_item}_isc", "A", -60, 60, f"{_label}: short-circuit amps", blank=OPTIONAL, table="strings", where="clamp on the string's lead"
    )

AGREE = cite("iec-62446-1", "string voltages within 5 % of the prediction", FROM_MEMORY)
OWN = own_rule("each string is judged by itself")
chapter.constant("string_voc_share", 0.05, "", "How far a string's open-circuit volts may be from the prediction", "", AGREE)
JUDGED = "Whether a string agrees, in words"


@chapter.quantity(
    symbol="±Isc",
    unit="",
    label="How far a string's short-circuit amps may be from the prediction, as a share",
    words="Sun, clamp and spread of arrays: root of the sum of squares.",
    formula="(reading_g_uncertainty^2/whole_percent^2+day_i_spread)^(1/2)",
    source=own_rule("the amps follow the sun"),
)
def string_isc_share(reading_g_uncertainty: Value, whole_percent: Value, day_i_spread: Value) -> Value:
    return np.sqrt(reading_g_uncertainty**2 / whole_percent**2 + day_i_spread)


def _limit(symbol: str, unit: str, label: str, formula: str) -> dict[str, Any]:
    return {"symbol": symbol, "unit": unit, "label": label, "words": "The prediction, and the share.", "formula": formula, "source": OWN}


@chapter.quantity(**_limit("Voc,low", "V", "Lowest agreeing volts of a string", "day_voc*(1-string_voc_share)"))
def voc_least(day_voc: Value, string_voc_share: Value) -> Value:
    return day_voc * (1 - string_voc_share)


@chapter.quantity(**_limit("Voc,high", "V", "Highest agreeing volts of a string", "day_voc*(1+string_voc_share)"))
def voc_most(day_voc: Value, string_voc_share: Value) -> Value:
    return day_voc * (1 + string_voc_share)


@chapter.quantity(**_limit("Isc,low", "A", "Lowest agreeing amps of a string", "day_isc*(1-string_isc_share)"))
def isc_least(day_isc: Value, string_isc_share: Value) -> Value:
    return day_isc * (1 - string_isc_share)


@chapter.quantity(**_limit("Isc,high", "A", "Highest agreeing amps of a string", "day_isc*(1+string_isc_share)"))
def isc_most(day_isc: Value, string_isc_share: Value) -> Value:
    return day_isc * (1 + string_isc_share)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether strings can be judged",
    words="In sun enough, once there is a prediction.",
    formula='IF(COUNT(day_g,day_voc,day_isc)<3,"no prediction",IF(ROUND(day_g,6)>=g_judged_least,"lit","too dark"))',
    source=own_rule("as for the finding"),
    optional=("day_g", "day_voc", "day_isc"),
)
def strings_light(day_g: Value, day_voc: Value, day_isc: Value, g_judged_least: Value) -> Value:
    enough = round_half_away(day_g, 6) >= round_half_away(g_judged_least, 6)
    return np.where(np.isnan(day_g) | np.isnan(day_voc) | np.isnan(day_isc), "no prediction", np.where(enough, "lit", "too dark"))


judged = chapter.grid(
    Grid(
        "judged",
        "Strings against the prediction",
        "A blank line is not measured if the design has that string. No volts or amps at all: the string is missing or open.",
        OWN,
        tuple(
            Row(item, label, {"voc": f"{item}_voc", "isc": f"{item}_isc"}, {"number": float(number)}, start=number == 1)
            for number, (item, label) in enumerate(ITEMS, 1)
        ),
        STEPS,
        numbers={"number": ("number", "")},
    )
)


@judged.column(
    symbol="blank",
    kind="text",
    words="what a blank line says",
    named=True,
    formula='IF(number<=array_parallel,"not measured","not in the design")',
)
def blank(number: Value, array_parallel: Value) -> Value:
    return np.where(number <= array_parallel, "not measured", "not in the design")


def _word(name: str, none: str) -> str:
    return (
        f'IF(ROUND({name},6)<={none},"missing",IF(ROUND({name},6)<ROUND({name}_least,6),"low",'
        f'IF(ROUND({name},6)>ROUND({name}_most,6),"high","ok")))'
    )


def _judge(read: Any, none: Any, low: Any, high: Any) -> Any:
    number = round_half_away(read, 6)
    inside = np.where(number < round_half_away(low, 6), "low", np.where(number > round_half_away(high, 6), "high", "ok"))
    return np.where(number <= round_half_away(none, 6), "missing", inside)


@judged.column(symbol="Voc is", kind="text", words="its volts against the limits", formula=_word("voc", "v_none"))
def voc_word(voc: Value, v_none: Value, voc_least: Value, voc_most: Value) -> Value:
    return _judge(voc, v_none, voc_least, voc_most)


@judged.column(symbol="Isc is", kind="text", words="its amps against the limits", formula=_word("isc", "i_unseen"))
def isc_word(isc: Value, i_unseen: Value, isc_least: Value, isc_most: Value) -> Value:
    return _judge(isc, i_unseen, isc_least, isc_most)


def _said(name: str, none: str) -> str:
    return f'IF({name}="",blank,IF(ROUND({name}+{none},6)<0,"reversed",IF(strings_light="lit",{name}_word&"",strings_light)))'


def _say(read: Any, none: Any, blank: Any, light: Any, word: Any) -> Any:
    # a reversed string is dangerous in any light
    known = np.where(round_half_away(read + none, 6) < 0, "reversed", np.where(light == "lit", word, light))
    return np.where(np.isnan(read), blank, known)


@judged.column(
    symbol="Voc", kind="text", words="what is said of its volts", named=True, optional=("voc", "voc_word"), formula=_said("voc", "v_none")
)
def voc_says(voc: Value, v_none: Value, blank: Value, strings_light: Value, voc_word: Value) -> Value:
    return _say(voc, v_none, blank, strings_light, voc_word)


@judged.column(
    symbol="Isc", kind="text", words="what is said of its amps", named=True, optional=("isc", "isc_word"), formula=_said("isc", "i_unseen")
)
def isc_says(isc: Value, i_unseen: Value, blank: Value, strings_light: Value, isc_word: Value) -> Value:
    return _say(isc, i_unseen, blank, strings_light, isc_word)


@judged.column(
    symbol="good",
    words="1 if what was read agrees",
    formula='IF(AND(OR(voc_says=blank,voc_says="ok"),OR(isc_says=blank,isc_says="ok")),1,0)',
)
def fine(voc_says: Value, isc_says: Value, blank: Value) -> Value:
    return (((voc_says == blank) | (voc_says == "ok")) & ((isc_says == blank) | (isc_says == "ok"))) * 1.0


@judged.column(
    symbol="string",
    kind="text",
    words="what is said of the string",
    named=True,
    formula='IF(AND(voc_says=blank,isc_says=blank),blank,IF(fine=1,"agrees",'
    'IF(OR(voc_says="reversed",isc_says="reversed",strings_light="lit"),"look at it",strings_light)))',
)
def says(voc_says: Value, isc_says: Value, blank: Value, fine: Value, strings_light: Value) -> Value:
    bad = (voc_says == "reversed") | (isc_says == "reversed") | (strings_light == "lit")
    read = np.where(fine == 1, "agrees", np.where(bad, "look at it", strings_light))
    return np.where((voc_says == blank) & (isc_says == blank), blank, read)


@judged.column(
    symbol="mark",
    kind="text",
    words="how it is marked",
    named=True,
    formula='IF(says="agrees","✓",IF(says="look at it","✗",IF(says="not measured","?","–")))',
)
def mark(says: Value) -> Value:
    other = np.where(says == "not measured", "?", "–")
    return np.where(says == "agrees", "✓", np.where(says == "look at it", "✗", other))


@judged.running(
    symbol="good",
    words="strings whose volts and amps agree, up to here",
    optional=("voc_says", "isc_says"),
    formula='IF(AND(voc_says="ok",isc_says="ok"),1,0)',
)
def good(voc_says: Value, isc_says: Value) -> Value:
    return ((voc_says == "ok") & (isc_says == "ok")) * 1.0


@judged.running(symbol="bad", words="strings to look at, up to here", optional=("says",), formula='IF(says="look at it",1,0)')
def bad(says: Value) -> Value:
    return (says == "look at it") * 1.0


LAST = f"judged_string{MOST}"


@chapter.quantity(
    symbol="",
    unit="",
    label="Strings of the design that are not yet known to agree",
    words="All strings less those whose volts and amps agree; below 0 if more agree than the design has.",
    formula=f"ROUND(array_parallel,0)-{LAST}_good",
    source=OWN,
)
def strings_open(array_parallel: Value, judged_string8_good: Value) -> Value:
    return round_half_away(array_parallel, 0) - judged_string8_good


@chapter.quantity(
    kind="text",
    unit="",
    label="What the table of strings says",
    words="All agree only if volts and amps of each string of the design were measured and agree.",
    formula=f'IF({LAST}_bad>0,"look at those marked ✗",IF(strings_light="lit",IF(strings_open=0,"all agree",'
    'IF(strings_open>0,"not all are measured","too many strings")),strings_light))',
    source=OWN,
)
def strings_state(judged_string8_bad: Value, strings_light: Value, strings_open: Value) -> Value:
    more = np.where(strings_open > 0, "not all are measured", "too many strings")
    known = np.where(strings_open == 0, "all agree", more)
    return np.where(judged_string8_bad > 0, "look at those marked ✗", np.where(strings_light == "lit", known, strings_light))
