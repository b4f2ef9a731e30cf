"""What the battery fuse must break: its rated voltage against the bank's, its breaking capacity against a short circuit."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import FROM_MEMORY, cite, common_practice, own_rule
from workbook_builder.language.tables import Table, read_table
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_JUDGED, PASS

chapter = Part("protection", continues=True)

UPPER = cite("battery-short-circuit", "12 V blocks and cells of low resistance, charged and warm", FROM_MEMORY)
SHEET = "fuse data sheet, for direct current"

chapter.number(
    "battery_fuse_v_rated",
    "V",
    10,
    1500,
    "Rated voltage of the battery fuse, direct current",
    blank=OPTIONAL,
    where=f"{SHEET}; the lowest of all fuses at the battery",
)
chapter.number(
    "battery_fuse_breaking",
    "kA",
    0.5,
    200,
    "Breaking capacity of the battery fuse, direct current",
    blank=OPTIONAL,
    where=f"{SHEET}; the lowest of all fuses at the battery",
)
chapter.number(
    "battery_short_maker",
    "kA",
    0.05,
    100,
    "Short-circuit current of one battery string, by its maker",
    blank=OPTIONAL,
    where="battery data sheet; blank: an upper estimate by chemistry and capacity",
)
chapter.constant("amperes_per_kiloampere", 1000, "A/kA", "Amperes in a kiloampere", "", common_practice("decimal prefix"))
chapter.constant(
    "short_margin",
    1.25,
    "",
    "Margin on the short-circuit current of the bank",
    "",
    own_rule("a charged, warm, new bank gives more than a sheet says"),
)
chapter.table(
    read_table(
        TEMPLATES / "short_circuit.csv",
        "short_circuit",
        "Short-circuit current of batteries, upper estimate",
        UPPER,
        "For each ampere-hour of one string. The maker's figure comes first.",
    )
)


@chapter.quantity(
    symbol="i,sc",
    unit="A/Ah",
    label="Short-circuit current for each Ah, upper estimate",
    words="The chemistry's row.",
    formula="INDEX(short_circuit_per_ah,MATCH(battery_chemistry,short_circuit_chemistry,0))",
    source=UPPER,
)
def battery_short_upper(battery_chemistry: Value, *, short_circuit: Table) -> Value:
    return short_circuit.exact(battery_chemistry, "chemistry", "per_ah")


chapter.constant(
    "short_least", 0.1, "", "Least share of the estimate that a maker's short-circuit current counts as", "", own_rule("less is a slip")
)


@chapter.quantity(
    symbol="Isc,est",
    unit="kA",
    label="Short-circuit current of the bank, upper estimate",
    words="The upper figure of the chemistry times the bank's capacity.",
    formula="battery_short_upper*battery_bank_ah/amperes_per_kiloampere",
    source=own_rule("plain product"),
)
def battery_short_estimate(battery_short_upper: Value, battery_bank_ah: Value, amperes_per_kiloampere: Value) -> Value:
    return battery_short_upper * battery_bank_ah / amperes_per_kiloampere


@chapter.quantity(
    symbol="Isc,bat",
    unit="kA",
    label="Short-circuit current of the bank",
    words="The maker's figure of one string times the strings, or else the upper estimate of the chemistry times the bank's capacity. The "
    "maker's figure below a tenth of the estimate is a slip, and the estimate counts.",
    formula='IF(battery_short_maker="",battery_short_estimate,IF(battery_short_maker*battery_parallel<battery_short_estimate*short_least,'
    "battery_short_estimate,battery_short_maker*battery_parallel))",
    source=own_rule("the maker's figure before an estimate"),
    optional=("battery_short_maker",),
)
def battery_short_ka(battery_short_maker: Value, battery_short_estimate: Value, battery_parallel: Value, short_least: Value) -> Value:
    stated = battery_short_maker * battery_parallel
    slip = np.isnan(battery_short_maker) | (stated < battery_short_estimate * short_least)
    return np.where(slip, battery_short_estimate, stated)


@chapter.quantity(
    symbol="I,break",
    unit="kA",
    label="Lowest breaking capacity of the battery fuse",
    words="Short-circuit current of the bank, times {short_margin}.",
    formula="short_margin*battery_short_ka",
    source=own_rule("a charged, warm, new bank gives more than a sheet says"),
)
def battery_break_least(short_margin: Value, battery_short_ka: Value) -> Value:
    return short_margin * battery_short_ka


chapter.limit(
    name="battery_fuse_breaking",
    safety=True,
    label="Breaking capacity of the battery fuse",
    words="The fuse must break {short_margin} times the bank's short-circuit current.",
    value="battery_break_least",
    at_most="battery_fuse_breaking",
    unless=(("battery_fuse_breaking", ""),),
    asks=("battery_fuse_breaking",),
    source="breaking_capacity",
    sentences={
        PASS: "The fuse breaks the short-circuit current of the bank, with a margin.",
        FAIL: "The fuse cannot break the bank's short-circuit current and can burst. Choose one whose breaking capacity for direct current "
        "is at least the value shown, or enter the maker's short-circuit current of the battery.",
        NOT_JUDGED: "Nobody can say whether the fuse breaks the short-circuit current of the bank. Choose one that breaks at least the "
        "value shown.",
    },
)


chapter.limit(
    name="battery_fuse_voltage",
    safety=True,
    label="Rated voltage of the battery fuse",
    words="The bank's highest charge voltage, with its rise in the cold, not above the rated d.c. voltage of the fuse.",
    value="battery_v_high_cold",
    at_most="battery_fuse_v_rated",
    unless=(("battery_fuse_v_rated", ""),),
    asks=("battery_fuse_v_rated",),
    source="breaking_capacity",
    sentences={
        PASS: "The fuse is rated for the highest voltage of the bank.",
        FAIL: "The bank's highest voltage is above what the fuse is rated for. When the fuse opens, the arc does not go out. Choose a fuse "
        "whose rated d.c. voltage is at least the value shown.",
        NOT_JUDGED: "Nobody can say whether the arc in the fuse goes out at the bank's highest voltage.",
    },
)
