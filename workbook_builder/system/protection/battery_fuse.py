"""The battery fuse: the next standard size, and whether its cable allows the one that is planned."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, PASS, where_pass
from workbook_builder.system.protection.standard_sizes import next_size

chapter = Part("protection", continues=True)

chapter.number(
    "battery_fuse_rating",
    "A",
    1,
    800,
    "Rating of the battery fuse you plan",
    blank=OPTIONAL,
    where="blank: the smallest standard size is proposed",
)


@chapter.quantity(
    symbol="In,bat",
    unit="A",
    label="Smallest battery fuse",
    words="{code_battery_fuse} times the highest current between controller and battery, next standard size.",
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
    formula='IF(runs_battery_state="not run","NOT JUDGED",IF(runs_battery_cap="","INCOMPLETE",'
    'IF(ROUND(battery_fuse_judged,6)<=ROUND(runs_battery_cap,6),"PASS","FAIL")))',
    source="small_conductors",
    optional=("runs_battery_cap",),
)
def battery_fuse_cable(runs_battery_state: Value, runs_battery_cap: Value, battery_fuse_judged: Value) -> Value:
    cable = where_pass(round_half_away(battery_fuse_judged, 6) <= round_half_away(runs_battery_cap, 6), FAIL)
    known = np.where(np.isnan(runs_battery_cap), INCOMPLETE, cable)
    return np.where(runs_battery_state == "not run", NOT_JUDGED, known)


@chapter.quantity(
    kind="flag",
    unit="",
    label="That rating is too low for the controller",
    words="Below the highest current of the battery's run, with {code_battery_fuse} times for long hours.",
    formula="ROUND(battery_fuse_judged,6)<ROUND(battery_run_current,6)",
    source="code_battery_fuse",
)
def battery_fuse_low(battery_fuse_judged: Value, battery_run_current: Value) -> Value:
    return round_half_away(battery_fuse_judged, 6) < round_half_away(battery_run_current, 6)


@chapter.check(
    name="battery_fuse",
    safety=True,
    label="Battery fuse and its cable",
    words="At least {code_battery_fuse} times the current between controller and battery, not above what the cable allows: Ib ≤ In ≤ Iz.",
    value="battery_fuse_judged",
    at_least="battery_run_current",
    at_most="runs_battery_cap",
    formula='IF(battery_fuse_low,"FAIL",IF(battery_fuse_cable="NOT JUDGED","NOT JUDGED",IF(battery_fuse_cable="PASS","PASS",'
    'IF(battery_fuse_cable="FAIL","FAIL","INCOMPLETE"))))',
    source="code_battery_fuse",
    asks=("run_battery_length", "run_battery_size"),
    sentences={
        PASS: "The fuse carries the controller's current and protects its cable. Put it as near to the battery's positive "
        "terminal as can be.",
        FAIL: "The fuse would open in service, or does not protect its cable: choose a thicker cable or another rating.",
        NOT_JUDGED: "Nobody can say whether the fuse protects the battery cable, which is not entered. Fit one of at least the value "
        "shown, and not above what the cable carries.",
        INCOMPLETE: "The battery cable has a length but no conductor, or the code's tables do not reach its air or terminals, or no "
        "standard fuse is large enough.",
    },
)
def battery_fuse_check(battery_fuse_low: Value, battery_fuse_cable: Value) -> Value:
    return np.where(battery_fuse_low == 1, FAIL, battery_fuse_cable)
