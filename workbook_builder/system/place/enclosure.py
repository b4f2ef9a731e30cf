"""Where the controller stands: heat inside its enclosure and what that leaves of its rating, water and dust, altitude."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, at_least
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.controller.limits import SHEET

chapter = Part(
    "enclosure",
    "Enclosure and site",
    "What a drawing does not show and an inspector asks for. All of it may stay blank: what is blank is not judged, and "
    "never counts as confirmed.",
    sheet="Enclosure",
)

STANDS = common_practice("usual of wall boxes and rooms; measure where it matters")
DERATING = common_practice("makers lower the rated current in a straight line above a temperature")
IP = cite("iec-60529", "both digits; IP54 outdoors and IP20 indoors are common practice", FROM_MEMORY)
INSULATION = common_practice("makers' sheets; clearances and cooling are commonly stated up to 2000 m")
ENCLOSURES = read_table(
    TEMPLATES / "enclosures.csv",
    "enclosures",
    "Where the controller stands",
    STANDS,
    "Digits of IP: the first stands for dust and fingers, the second for water.",
)
chapter.table(ENCLOSURES)

chapter.choice(
    "enclosure_place",
    [str(place) for place in ENCLOSURES.column("place").values],
    "Where the controller stands",
    blank=OPTIONAL,
    where="blank: the hottest place of the list is taken",
)
chapter.number(
    "enclosure_rise",
    "K",
    0,
    60,
    "How much warmer it is there than the hottest air",
    blank="=enclosure_rise_default",
    blank_source=STANDS,
    where="measured on a hot day at full charge, or the usual of such a place",
)
chapter.number(
    "controller_t_full",
    "°C",
    15,
    80,
    "Warmest surroundings at which it carries its rated current",
    blank=OPTIONAL,
    where=f"{SHEET}, derating curve: where it begins to fall",
)
chapter.number(
    "controller_derating",
    "%/°C",
    0.1,
    20,
    "Rated current lost for each degree above that",
    blank=OPTIONAL,
    where=f"{SHEET}, slope of the derating curve",
)
chapter.number(
    "controller_t_highest",
    "°C",
    25,
    100,
    "Highest surroundings in which it may work",
    blank=OPTIONAL,
    where=SHEET,
    relations=(at_least("controller_t_full", "the one of its rated current"),),
)
chapter.number(
    "enclosure_ip",
    "",
    0,
    69,
    "IP digits of its enclosure",
    whole=True,
    blank=OPTIONAL,
    where="label of the box, such as 54; an X counts as 0",
)
chapter.number("site_altitude", "m", -430, 6000, "Altitude of the site", blank=OPTIONAL, where="map")
chapter.constant(
    "enclosure_t_usual",
    40,
    "°C",
    "Surroundings up to which most controllers carry their rated current",
    "",
    common_practice("usual of makers' sheets"),
)
chapter.constant("altitude_usual", 2000, "m", "Altitude up to which ratings usually hold", "", INSULATION)
chapter.constant("ip_first", 10, "", "Worth of the first digit of IP", "", cite("iec-60529", "two digits", FROM_MEMORY))


@chapter.quantity(
    symbol="ΔT,box",
    unit="K",
    label="Warmer than the hottest air, usual of the place",
    words="The row of the place; if no place is entered, the hottest row.",
    formula='IF(enclosure_place="",MAX(enclosures_rise),INDEX(enclosures_rise,MATCH(enclosure_place,enclosures_place,0)))',
    source=STANDS,
    optional=("enclosure_place",),
)
def enclosure_rise_default(enclosure_place: Value, *, enclosures: Table) -> Value:
    place = np.where(enclosure_place == "", "closed box in the sun", enclosure_place)
    return enclosures.exact(place, "place", "rise")


@chapter.quantity(
    symbol="T,box",
    unit="°C",
    label="Hottest surroundings of the controller",
    words="Hottest air plus the rise there.",
    formula="site_t_max+enclosure_rise",
    source=STANDS,
)
def enclosure_t_max(site_t_max: Value, enclosure_rise: Value) -> Value:
    return site_t_max + enclosure_rise


@chapter.quantity(
    kind="text",
    unit="",
    label="Against the highest surroundings in which it may work",
    words="Above it, or within.",
    formula='IF(controller_t_highest="","not given",IF(ROUND(enclosure_t_max,6)>ROUND(controller_t_highest,6),"too hot","within"))',
    source="maker_instructions",
    optional=("controller_t_highest",),
)
def controller_heat(controller_t_highest: Value, enclosure_t_max: Value) -> Value:
    above = round_half_away(enclosure_t_max, 6) > round_half_away(controller_t_highest, 6)
    return np.where(np.isnan(controller_t_highest), "not given", np.where(above, "too hot", "within"))


@chapter.quantity(
    kind="text",
    unit="",
    label="Against the surroundings of its rated current",
    words="Above them, or within.",
    formula='IF(controller_t_full="","not given",IF(ROUND(enclosure_t_max,6)>ROUND(controller_t_full,6),"above","within"))',
    source=DERATING,
    optional=("controller_t_full",),
)
def derating_begins(controller_t_full: Value, enclosure_t_max: Value) -> Value:
    above = round_half_away(enclosure_t_max, 6) > round_half_away(controller_t_full, 6)
    return np.where(np.isnan(controller_t_full), "not given", np.where(above, "above", "within"))


@chapter.quantity(
    symbol="ΔT,over",
    unit="K",
    label="Hotter than the surroundings of its rated current",
    words="Never below 0.",
    formula="MAX(0,enclosure_t_max-controller_t_full)",
    source=DERATING,
)
def derating_excess(enclosure_t_max: Value, controller_t_full: Value) -> Value:
    return np.maximum(0, enclosure_t_max - controller_t_full)


@chapter.quantity(
    symbol="k,box",
    unit="",
    label="Share of the rated current that is left",
    words="1 less the slope times the excess, never below 0. Empty while the slope is needed and not given.",
    formula='IF(derating_begins="within",1,IF(controller_derating="","",MAX(0,1-controller_derating/whole_percent*derating_excess)))',
    source=DERATING,
    optional=("controller_derating",),
)
def derating_share(derating_begins: Value, controller_derating: Value, whole_percent: Value, derating_excess: Value) -> Value:
    left = np.maximum(0, 1 - controller_derating / whole_percent * derating_excess)
    return np.where(derating_begins == "within", 1.0, left)


@chapter.quantity(
    symbol="I,derated",
    unit="A",
    label="Rated current in the hottest surroundings",
    words="Rated current times that share.",
    formula="controller_i_max*derating_share",
    source=DERATING,
)
def controller_i_derated(controller_i_max: Value, derating_share: Value) -> Value:
    return controller_i_max * derating_share


@chapter.quantity(
    symbol="I,hot",
    unit="A",
    label="Current that it must carry then",
    words="PWM: the highest array current of the code. MPPT: its highest charge current, which it limits itself.",
    formula='IF(controller_type="MPPT",battery_charge_i,array_isc_max)',
    source="code_current_factor",
)
def enclosure_i(controller_type: Value, battery_charge_i: Value, array_isc_max: Value) -> Value:
    return np.where(controller_type == "MPPT", battery_charge_i, array_isc_max)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether anything of a derating curve is entered",
    words="Its beginning or its slope.",
    formula='IF(AND(derating_begins="not given",controller_derating=""),"no data","data")',
    source=own_rule("optional part"),
    optional=("controller_derating",),
)
def derating_given(derating_begins: Value, controller_derating: Value) -> Value:
    return np.where((derating_begins == "not given") & np.isnan(controller_derating), "no data", "data")


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the place is known",
    words="A place, or the controller's highest surroundings, is entered.",
    formula='IF(AND(enclosure_place="",controller_heat="not given"),"no place","place")',
    source=own_rule("optional part"),
    optional=("enclosure_place",),
)
def enclosure_known(enclosure_place: Value, controller_heat: Value) -> Value:
    return np.where((enclosure_place == "") & (controller_heat == "not given"), "no place", "place")


@chapter.quantity(
    kind="text",
    unit="",
    label="Without a whole derating curve",
    words="Not judged: nothing of it is entered, and the place is unknown or not above what most controllers stand at rated "
    "current. Otherwise the maker's curve must be read.",
    formula='IF(AND(derating_given="no data",OR(enclosure_known="no place",ROUND(enclosure_t_max,6)<=ROUND(enclosure_t_usual,6))),'
    '"not judged","read it")',
    source=common_practice("most makers state the rated current for 40 °C or more"),
)
def derating_unread(derating_given: Value, enclosure_known: Value, enclosure_t_max: Value, enclosure_t_usual: Value) -> Value:
    usual = round_half_away(enclosure_t_max, 6) <= round_half_away(enclosure_t_usual, 6)
    unjudged = (derating_given == "no data") & ((enclosure_known == "no place") | usual)
    return np.where(unjudged, "not judged", "read it")


@chapter.quantity(
    kind="text",
    unit="",
    label="What it means where that share does not do",
    words="Thin: not derated, and only the code's factor goes beyond the rating, as the check of the array current says too. "
    "Limited: an MPPT controller limits itself. Otherwise over.",
    formula='IF(controller_type="MPPT","limited",'
    'IF(AND(derating_begins="within",ROUND(array_isc,6)<ROUND(controller_i_max,6)),"thin","over"))',
    source=own_rule("a derated rating must carry the code's factor as well"),
)
def rating_beyond(controller_type: Value, derating_begins: Value, array_isc: Value, controller_i_max: Value) -> Value:
    below = round_half_away(array_isc, 6) < round_half_away(controller_i_max, 6)
    pwm = np.where((derating_begins == "within") & below, "thin", "over")
    return np.where(controller_type == "MPPT", "limited", pwm)


@chapter.quantity(
    kind="text",
    unit="",
    label="What is known without the slope of the curve",
    words="Over: a PWM controller's rated current does not even carry the array undiminished. Otherwise not known.",
    formula='IF(AND(controller_type<>"MPPT",derating_begins<>"not given",ROUND(array_isc,6)>=ROUND(controller_i_max,6)),'
    '"over","not known")',
    source=own_rule("heat never adds to a rating"),
)
def rating_unsloped(controller_type: Value, derating_begins: Value, array_isc: Value, controller_i_max: Value) -> Value:
    above = round_half_away(array_isc, 6) >= round_half_away(controller_i_max, 6)
    return np.where((controller_type != "MPPT") & (derating_begins != "not given") & above, "over", "not known")


@chapter.quantity(
    kind="text",
    unit="",
    label="Current against the rated current there",
    words="Enough, or what it means where it does not do.",
    formula='IF(controller_i_derated="",rating_unsloped,IF(ROUND(enclosure_i,6)<=ROUND(controller_i_derated,6),"enough",rating_beyond))',
    source=own_rule("a derated rating must carry the code's factor as well"),
    optional=("controller_i_derated",),
)
def derated_rating(enclosure_i: Value, controller_i_derated: Value, rating_beyond: Value, rating_unsloped: Value) -> Value:
    enough = round_half_away(enclosure_i, 6) <= round_half_away(controller_i_derated, 6)
    return np.where(np.isnan(controller_i_derated), rating_unsloped, np.where(enough, "enough", rating_beyond))


@chapter.check(
    safety=True,
    label="Controller's current in the heat of its enclosure",
    words="The array's highest current by the code, not above the rated current that the maker's curve leaves in the hottest "
    "surroundings; and these not above the highest in which it may work.",
    value="enclosure_i",
    at_most="controller_i_derated",
    formula='IF(OR(controller_heat="too hot",derated_rating="over"),"FAIL",'
    'IF(OR(controller_heat="not given",derated_rating="not known"),"NOT JUDGED",IF(derated_rating="enough","PASS","NOTE")))',
    source=DERATING,
    asks=("enclosure_place", "controller_t_full", "controller_derating", "controller_t_highest"),
    sentences={
        PASS: "The controller carries the array's current in its hottest surroundings.",
        NOTE: "There the rating is just enough for the array's short-circuit current, or the controller limits itself. Give the box "
        "more air or shade, or choose a larger controller.",
        FAIL: "In its hottest surroundings the controller does not carry the array's current, or must not work at all. Move it to a "
        "cooler place, give the box more air, or choose a larger controller.",
        NOT_JUDGED: "Nobody can say what current the controller carries in its hottest surroundings, or whether it may work there. The "
        "maker's derating curve says it.",
    },
)
def enclosure_current(controller_heat: Value, derated_rating: Value) -> Value:
    unknown = (controller_heat == "not given") | (derated_rating == "not known")
    judged = np.where(unknown, NOT_JUDGED, where_pass(derated_rating == "enough", NOTE))
    return np.where((controller_heat == "too hot") | (derated_rating == "over"), FAIL, judged)


def _ip(symbol: str, column: str, label: str) -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": "",
        "label": label,
        "words": "The row of the place; if no place is entered, the strictest.",
        "formula": f'IF(enclosure_place="",MAX(enclosures_{column}),INDEX(enclosures_{column},MATCH(enclosure_place,enclosures_place,0)))',
        "source": IP,
        "optional": ("enclosure_place",),
    }


@chapter.quantity(**_ip("IP1", "ip_solids", "Lowest first digit of IP"))
def ip_solids_least(enclosure_place: Value, *, enclosures: Table) -> Value:
    strictest = max(enclosures.column("ip_solids").values)
    return np.where(enclosure_place == "", strictest, enclosures.exact(enclosure_place, "place", "ip_solids"))


@chapter.quantity(**_ip("IP2", "ip_water", "Lowest second digit of IP"))
def ip_water_least(enclosure_place: Value, *, enclosures: Table) -> Value:
    strictest = max(enclosures.column("ip_water").values)
    return np.where(enclosure_place == "", strictest, enclosures.exact(enclosure_place, "place", "ip_water"))


@chapter.quantity(
    symbol="IP1",
    unit="",
    label="First digit: dust and fingers",
    words="Tens of the IP digits.",
    formula="ROUNDDOWN(ROUND(enclosure_ip/ip_first,9),0)",
    source=IP,
)
def ip_solids(enclosure_ip: Value, ip_first: Value) -> Value:
    return np.floor(round_half_away(enclosure_ip / ip_first, 9))


@chapter.quantity(
    symbol="IP2",
    unit="",
    label="Second digit: water",
    words="What is left.",
    formula="enclosure_ip-ip_first*ip_solids",
    source=IP,
)
def ip_water(enclosure_ip: Value, ip_first: Value, ip_solids: Value) -> Value:
    return enclosure_ip - ip_first * ip_solids


@chapter.quantity(
    kind="text",
    unit="",
    label="Both digits against the lowest",
    words="Each digit by itself: IP62 keeps out less water than IP54.",
    formula='IF(AND(ROUND(ip_solids,6)>=ROUND(ip_solids_least,6),ROUND(ip_water,6)>=ROUND(ip_water_least,6)),"enough","less")',
    source=IP,
)
def ip_state(ip_solids: Value, ip_solids_least: Value, ip_water: Value, ip_water_least: Value) -> Value:
    dust = round_half_away(ip_solids, 6) >= round_half_away(ip_solids_least, 6)
    water = round_half_away(ip_water, 6) >= round_half_away(ip_water_least, 6)
    return np.where(dust & water, "enough", "less")


@chapter.check(
    name="enclosure_ip",
    label="Protection against water and dust",
    words="Both digits of IP, not below the usual of the place.",
    source=IP,
    formula='IF(enclosure_ip="","NOT JUDGED",IF(ip_state="enough","PASS","NOTE"))',
    optional=("enclosure_ip", "ip_state"),
    asks=("enclosure_ip",),
    sentences={
        PASS: "The enclosure keeps out the water and dust that are usual there.",
        NOTE: "The enclosure lets in water or dust that must be expected there: take IP54 or better outdoors, or put it under a roof "
        "and in a room.",
        NOT_JUDGED: "The IP digits of the enclosure are not entered.",
    },
)
def enclosure_ip_check(enclosure_ip: Value, ip_state: Value) -> Value:
    return np.where(np.isnan(enclosure_ip), NOT_JUDGED, where_pass(ip_state == "enough", NOTE))


chapter.limit(
    name="altitude",
    label="Altitude",
    words="Altitude of the site, not above that for which ratings usually hold.",
    value="site_altitude",
    at_most="altitude_usual",
    unless=(("site_altitude", ""),),
    asks=("site_altitude",),
    source=INSULATION,
    sentences={
        PASS: "Ratings usually hold at this altitude.",
        NOTE: "Thin air insulates and cools less: ask the makers of controller, switches and fuses in writing how far their ratings "
        "hold there. Snow and thin air also let more sun through than the code's factor expects.",
        NOT_JUDGED: "The altitude of the site is not entered.",
    },
)
