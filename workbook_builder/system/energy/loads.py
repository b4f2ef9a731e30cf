"""The loads: what is typed of each, and what all of them use in a day with the inverter and the controller."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL, EntryTable
from workbook_builder.language.sources import cite, own_rule
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import INCOMPLETE, NOT_APPLICABLE, NOTE, PASS

chapter = Part(
    "loads",
    "Loads",
    "One row for each kind of appliance, from its label. Rows that are not needed stay blank; without any load the "
    "battery and the energy are not judged.",
    sheet="Loads",
)

ENERGY = cite("circuit-laws", "energy = power × time")
ITEMS = tuple((f"load{n}", f"Load {n}") for n in range(1, 13))
table = EntryTable(
    "loads",
    "Table of loads",
    "A blank number means one, blank days mean every day, a blank surge none, and a blank supply AC.",
    ITEMS,
    (
        ("name", "Appliance"),
        ("w", "Power each (W)"),
        ("count", "How many"),
        ("hours", "Hours a day"),
        ("days", "Days a week"),
        ("supply", "AC or DC"),
        ("surge", "Surge, times"),
    ),
)
chapter.entry_table(table)

for _item, _label in ITEMS:
    chapter.text(f"{_item}_name", f"{_label}: appliance", blank=OPTIONAL, table="loads", where="your words")
    chapter.number(
        f"{_item}_w",
        "W",
        0.5,
        2900,  # with the note on loads below load_w_small, every slip by 1000 is refused or noted
        f"{_label}: power of each",
        blank=OPTIONAL,
        table="loads",
        where="label of the appliance, in watts; split a larger one into several",
    )
    chapter.number(
        f"{_item}_count",
        "",
        1,
        200,
        f"{_label}: how many",
        whole=True,
        table="loads",
        blank=1,
        blank_source=own_rule("one of each"),
        where="at the site",
    )
    chapter.number(f"{_item}_hours", "h/d", 0.05, 24, f"{_label}: hours a day", blank=OPTIONAL, table="loads", where="ask the users")
    chapter.number(
        f"{_item}_days",
        "d/week",
        1,
        7,
        f"{_label}: days a week",
        table="loads",
        blank=7,
        blank_source=own_rule("every day"),
        where="ask the users",
    )
    chapter.choice(
        f"{_item}_supply",
        ("AC", "DC"),
        f"{_label}: supply",
        table="loads",
        blank="AC",
        blank_source=own_rule("the one with the higher loss"),
        where="through the inverter, or not",
    )
    chapter.number(
        f"{_item}_surge",
        "",
        1,
        10,
        f"{_label}: surge as a multiple of its power",
        table="loads",
        blank=1,
        blank_source=own_rule("no surge"),
        where="motors and refrigerators: 3 to 7",
    )

chapter.number(
    "load_growth",
    "%",
    0,
    100,
    "Growth margin on the loads",
    blank=20,
    blank_source=cite("usaid-health", "design load"),
    where="what will be added in the coming years",
)
chapter.constant("load_w_small", 3, "W", "Power of one appliance below which kilowatts may be meant", "", own_rule("2.9 kW typed as 2.9"))
chapter.constant("no_small_load", 0, "", "Loads below that power without a note", "", own_rule("none"))
chapter.constant("days_per_week", 7, "d/week", "Days in a week", "", cite("si"))
chapter.constant("hours_per_day", 24, "h/d", "Hours in a day", "", cite("si"))

rows = chapter.grid(
    Grid(
        "load_rows",
        "Energy of each load",
        "Power and energy of each row; AC loads with the loss of the inverter.",
        ENERGY,
        tuple(
            Row(item, label, {field: f"{item}_{field}" for field, _ in table.fields}, start=number == 0, named=number == len(ITEMS) - 1)
            for number, (item, label) in enumerate(ITEMS)
        ),
        "Loads",
    )
)


@rows.column(
    symbol="begun",
    kind="flag",
    words="whether anything else is typed in the row",
    optional=("name",),
    formula='OR(name<>"",ROUND(count,9)<>1,ROUND(days,9)<>days_per_week,ROUND(surge,9)<>1)',
)
def begun(name: Value, count: Value, days: Value, days_per_week: Value, surge: Value) -> Value:
    number = (round_half_away(count, 9) != 1) | (round_half_away(days, 9) != days_per_week) | (round_half_away(surge, 9) != 1)
    return (name != "") | number


@rows.column(symbol="power", words="1 if a power is entered", optional=("w",), formula='IF(w="",0,1)')
def has_w(w: Value) -> Value:
    return ~np.isnan(w) * 1.0


@rows.column(symbol="hours", words="1 if hours are entered", optional=("hours",), formula='IF(hours="",0,1)')
def has_hours(hours: Value) -> Value:
    return ~np.isnan(hours) * 1.0


@rows.column(
    symbol="used",
    kind="text",
    words="whether the row is in use: it needs both",
    formula='IF(has_w+has_hours=0,IF(begun,"unfinished","empty"),IF(has_w+has_hours=1,"unfinished","used"))',
)
def state(has_w: Value, has_hours: Value, begun: Value) -> Value:
    parts = has_w + has_hours
    empty = np.where(begun == 1, "unfinished", "empty")
    return np.where(parts == 0, empty, np.where(parts == 1, "unfinished", "used"))


@rows.column(
    symbol="P",
    unit="W",
    words="power of all of them",
    optional=("w",),
    formula='IF(state="used",w*count,IF(state="empty",0,""))',
)
def power(state: Value, w: Value, count: Value) -> Value:
    return np.where(state == "used", w * count, np.where(state == "empty", 0, np.nan))


@rows.column(symbol="P,bat", unit="W", words="power taken from the battery", formula='power/IF(supply="AC",inv_efficiency/whole_percent,1)')
def battery_power(power: Value, supply: Value, inv_efficiency: Value, whole_percent: Value) -> Value:
    return power / np.where(supply == "AC", inv_efficiency / whole_percent, 1)


@rows.column(
    symbol="E",
    unit="Wh/d",
    words="energy a day, average of the week",
    optional=("hours",),
    formula='IF(state="used",battery_power*hours*days/days_per_week,battery_power*hours_per_day)',
)
def energy(state: Value, battery_power: Value, hours: Value, days: Value, days_per_week: Value, hours_per_day: Value) -> Value:
    return np.where(state == "used", battery_power * hours * days / days_per_week, battery_power * hours_per_day)


@rows.column(symbol="P,surge", unit="W", words="power while starting", formula="power*surge")
def starting(power: Value, surge: Value) -> Value:
    return power * surge


@rows.column(symbol="P,one", unit="W", words="power of one of them", optional=("w",), formula='IF(state="used",w,IF(state="empty",0,""))')
def one(state: Value, w: Value) -> Value:
    return np.where(state == "used", w, np.where(state == "empty", 0, np.nan))


@rows.running(symbol="Σ E", unit="Wh/d", words="energy summed", formula="energy")
def sum_energy(energy: Value) -> Value:
    return energy


@rows.running(symbol="Σ P", unit="W", words="battery power summed", formula="battery_power")
def sum_power(battery_power: Value) -> Value:
    return battery_power


@rows.running(symbol="Σ surge", unit="W", words="starting power summed", formula="starting")
def sum_start(starting: Value) -> Value:
    return starting


@rows.running(symbol="Σ AC", unit="W", words="power of the AC loads summed", formula='IF(supply="AC",power,0)')
def sum_ac(supply: Value, power: Value) -> Value:
    return np.where(supply == "AC", power, 0 * power)


@rows.running(symbol="Σ s,AC", unit="W", words="starting power of the AC loads summed", formula='IF(supply="AC",starting,0)')
def sum_start_ac(supply: Value, starting: Value) -> Value:
    return np.where(supply == "AC", starting, 0 * starting)


@rows.running(
    symbol="small", words="rows below {load_w_small:unit} so far", formula="IF(AND(ROUND(one,6)>0,ROUND(one,6)<ROUND(load_w_small,6)),1,0)"
)
def small(one: Value, load_w_small: Value) -> Value:
    power = round_half_away(one, 6)
    return ((power > 0) & (power < round_half_away(load_w_small, 6))) * 1.0


@rows.column(
    symbol="P,AC", unit="W", words="largest AC appliance so far", named=True, formula='MAX(previous_most_ac,IF(supply="AC",one,0))'
)
def most_ac(previous_most_ac: Value, supply: Value, one: Value) -> Value:
    return np.maximum(previous_most_ac, np.where(supply == "AC", one, 0 * one))


@rows.start(formula='IF(supply="AC",one,0)')
def most_ac_start(supply: Value, one: Value) -> Value:
    return np.where(supply == "AC", one, 0 * one)


@rows.column(
    symbol="P,DC", unit="W", words="largest DC appliance so far", named=True, formula='MAX(previous_most_dc,IF(supply="DC",one,0))'
)
def most_dc(previous_most_dc: Value, supply: Value, one: Value) -> Value:
    return np.maximum(previous_most_dc, np.where(supply == "DC", one, 0 * one))


@rows.start(formula='IF(supply="DC",one,0)')
def most_dc_start(supply: Value, one: Value) -> Value:
    return np.where(supply == "DC", one, 0 * one)


@rows.column(
    symbol="ΔP,AC",
    unit="W",
    words="most that one AC appliance takes more while starting",
    named=True,
    formula='MAX(previous_gain_ac,IF(supply="AC",one*(surge-1),0))',
)
def gain_ac(previous_gain_ac: Value, supply: Value, one: Value, surge: Value) -> Value:
    return np.maximum(previous_gain_ac, np.where(supply == "AC", one * (surge - 1), 0 * one))


@rows.start(formula='IF(supply="AC",one*(surge-1),0)')
def gain_ac_start(supply: Value, one: Value, surge: Value) -> Value:
    return np.where(supply == "AC", one * (surge - 1), 0 * one)


@rows.column(
    symbol="ΔP,DC",
    unit="W",
    words="most that one DC appliance takes more while starting",
    named=True,
    formula='MAX(previous_gain_dc,IF(supply="DC",one*(surge-1),0))',
)
def gain_dc(previous_gain_dc: Value, supply: Value, one: Value, surge: Value) -> Value:
    return np.maximum(previous_gain_dc, np.where(supply == "DC", one * (surge - 1), 0 * one))


@rows.start(formula='IF(supply="DC",one*(surge-1),0)')
def gain_dc_start(supply: Value, one: Value, surge: Value) -> Value:
    return np.where(supply == "DC", one * (surge - 1), 0 * one)


LAST = "load_rows_load12"


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether loads are entered",
    words="Each row in use needs a power and hours.",
    formula=f'IF({LAST}_sum_energy="","unfinished",IF({LAST}_sum_power>0,"run","not run"))',
    source=own_rule("optional part"),
    optional=(f"{LAST}_sum_energy", f"{LAST}_sum_power"),
    waits=("inv_idle", "inv_hours", "controller_i_own"),
)
def loads_state(load_rows_load12_sum_energy: Value, load_rows_load12_sum_power: Value) -> Value:
    entered = np.where(load_rows_load12_sum_power > 0, "run", "not run")
    return np.where(np.isnan(load_rows_load12_sum_energy), "unfinished", entered)


@chapter.quantity(
    symbol="E,own",
    unit="Wh/d",
    label="Energy that inverter and controller themselves take in a day",
    words="Idle power of the inverter while it is switched on, and the charge that the controller draws at nominal voltage.",
    formula="inv_idle*inv_hours+controller_ah_own*battery_nominal",
    source=ENERGY,
)
def load_wh_own(inv_idle: Value, inv_hours: Value, controller_ah_own: Value, battery_nominal: Value) -> Value:
    return inv_idle * inv_hours + controller_ah_own * battery_nominal


@chapter.quantity(
    symbol="E,load",
    unit="Wh/d",
    label="Energy that the loads take from the battery in a day",
    words="All rows with the inverter's loss, and what inverter and controller themselves take. Empty while no load is entered.",
    formula=f'IF({LAST}_sum_energy>0,{LAST}_sum_energy+load_wh_own,"")',
    source=ENERGY,
)
def load_wh_day(load_rows_load12_sum_energy: Value, load_wh_own: Value) -> Value:
    return np.where(load_rows_load12_sum_energy > 0, load_rows_load12_sum_energy + load_wh_own, np.nan)


@chapter.quantity(
    symbol="E,design",
    unit="Wh/d",
    label="Energy a day to design for",
    words="With the growth margin.",
    formula="load_wh_day*(1+load_growth/whole_percent)",
    source=cite("usaid-health", "design load"),
)
def load_wh_design(load_wh_day: Value, load_growth: Value, whole_percent: Value) -> Value:
    return load_wh_day * (1 + load_growth / whole_percent)


@chapter.quantity(
    symbol="Q,load",
    unit="Ah/d",
    label="Charge a day to design for, at nominal voltage",
    words="Energy by nominal voltage.",
    formula="load_wh_design/battery_nominal",
    source=ENERGY,
)
def load_ah_design(load_wh_design: Value, battery_nominal: Value) -> Value:
    return load_wh_design / battery_nominal


@chapter.quantity(
    symbol="E,always",
    unit="Wh/d",
    label="Part of the energy to design for that no month changes",
    words="What inverter and controller themselves take, with the growth margin.",
    formula="load_wh_own*(1+load_growth/whole_percent)",
    source=own_rule("neither is switched off with the loads"),
)
def load_wh_always(load_wh_own: Value, load_growth: Value, whole_percent: Value) -> Value:
    return load_wh_own * (1 + load_growth / whole_percent)


chapter.limit(
    name="load_watts",
    label="Loads are entered in watts",
    words="No load of less than {load_w_small:unit} each: the label of a large appliance may give kilowatts.",
    value=f"{LAST}_small",
    at_most="no_small_load",
    unless=(("loads_state", "not run"),),
    source=own_rule("a slip by 1000 is refused, or shown here"),
    sentences={
        PASS: "No load is so small that kilowatts may have been typed for watts.",
        NOTE: "A load draws less than {load_w_small:unit}. If its label gives kilowatts, the sums are too small and the battery runs "
        "empty. Type watts: 1500 for 1.5 kW.",
        NOT_APPLICABLE: "No load is entered.",
        INCOMPLETE: "A row of the loads is unfinished: complete it on Entries.",
    },
)
