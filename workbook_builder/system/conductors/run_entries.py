"""The cable runs as they are entered, and the highest current of each."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table
from workbook_builder.language.values import Value

chapter = Part(
    "cables",
    "Cables",
    "Five runs: each module string to the junction box, array to controller, controller to battery, to the direct loads, battery to "
    "inverter. A run whose length stays blank is not judged. With a length, the conductor size must be entered as well.",
    sheet="Cables",
)

DROPS = common_practice("usual allowance for voltage drop")
# key, words, default drop in per cent, name of the highest current, name of the current for the drop
RUNS = (
    ("string", "each module string", 1, "string_cable_i", "module_imp"),
    ("array", "array to controller", 3, "array_isc_max", "array_imp"),
    ("battery", "controller to battery", 1, "battery_run_current", "charge_run_usual"),
    ("load", "to the direct loads", 3, "direct_run_current", "load_i_dc"),
    ("inverter", "battery to inverter", 3, "inverter_run_current", "inverter_i_peak"),
)
SHORT = {"string": "each string", "array": "array", "battery": "battery", "load": "loads", "inverter": "inverter"}
# the current of modules gets the code's factor for long hours; that of the other runs has it already
LONG_HOURS = {
    "string": "code_continuous_factor",
    "array": "code_continuous_factor",
    "battery": "whole",
    "load": "whole",
    "inverter": "whole",
}
# whether a run that is entered counts, and whether one that is not is missed, where that is not always so
COUNTS = {"load": "load_run_counts", "inverter": "inverter_run_counts"}
WANTED = {"load": "load_run_wanted", "inverter": "inverter_run_wanted"}
# the place of a run decides how warm its air is; the two others are beside the battery, indoors
PLACED = ("string", "array", "load")
ROOF, OPEN, INDOORS, BURIED = PLACES = ("roof in the sun", "open air", "indoors", "buried")
WHERE = {
    "string": "cable between the modules and the junction box; with one string, the leads of its modules",
    "load": "run to the direct loads; needed where DC loads are entered",
    "inverter": "run battery to inverter; needed where AC loads are entered",
}
chapter.constant("whole", 1, "", "The whole, as a share", "1", cite("si"))
chapter.constant("metres_per_kilometre", 1000, "m/km", "Metres in a kilometre", "", cite("si"))

chapter.number(
    "run_terminals_t",
    "°C",
    60,
    90,
    "Temperature for which the terminals are marked",
    blank=OPTIONAL,
    where="marking on breaker, fuse holder, controller: the lowest of them; that of a lug alone does not count; "
    "blank: {code_terminal_t} °C, above {code_terminal_amps:unit} {code_terminal_t_high} °C",
)
for _key, _words, _drop, _, _ in RUNS:
    _name = f"run_{_key}"
    _where = WHERE.get(_key, f"run {_words}")
    chapter.number(f"{_name}_length", "m", 0.2, 150, f"Length one way, {_words}", blank=OPTIONAL, where=f"{_where}; blank: not judged")
    chapter.choice(
        f"{_name}_size",
        (),
        f"Conductor, {_words}",
        blank=OPTIONAL,
        options_from="conductors_size",
        where=f"{_where}; needed where a length is entered",
    )
    chapter.choice(
        f"{_name}_material",
        ("copper",),
        f"Material, {_words}",
        blank="copper",
        blank_source=own_rule("aluminium is not covered"),
        where="marking on the cable",
    )
    chapter.choice(
        f"{_name}_insulation",
        (),
        f"Insulation, {_words}",
        blank="=insulation_default",
        options_from="insulations_name",
        blank_source=own_rule("the lowest class of the profile"),
        where="marking on the cable",
    )
    chapter.number(
        f"{_name}_grouped",
        "",
        1,
        30,
        f"Current-carrying conductors together, {_words}",
        whole=True,
        blank="=strings_grouped" if _key == "string" else 2,
        blank_source=own_rule("all strings together" if _key == "string" else "one circuit by itself"),
        where="in the same conduit or bundle",
    )
    chapter.number(
        f"{_name}_ambient",
        "°C",
        -20,
        85,
        f"Warmest air in the shade at the cable, {_words}",
        blank="=site_t_max",
        blank_source=common_practice("as warm as the site"),
        where="thermometer in the shade; the workbook adds the heat of the sun by the place of the run"
        if _key in PLACED
        else "warmest air along the cable, such as in the box of the controller",
    )
    if _key in PLACED:
        chapter.choice(
            f"{_name}_place",
            PLACES,
            f"Place of the run, {_words}",
            blank=INDOORS if _key == "load" else ROOF,
            blank_source=own_rule("beside the battery" if _key == "load" else "the hottest place, until the place is known"),
            where="the hottest place along the run; behind modules: roof in the sun",
        )
    chapter.number(
        f"{_name}_drop_allowed",
        "%",
        0,
        10,
        f"Allowed voltage drop, {_words}",
        blank=_drop,
        blank_source=DROPS,
        where="your design; per cent of the battery's nominal voltage",
    )


@chapter.quantity(
    kind="text",
    unit="",
    label="Lowest class of insulation of the profile",
    words="First row of the table.",
    formula="INDEX(insulations_name,1)",
    source="insulations",
)
def insulation_default(*, insulations: Table) -> Value:
    return insulations.column("name").values[0]


chapter.constant("conductors_of_a_string", 2, "", "Conductors of a string", "", cite("circuit-laws", "out and back"))
chapter.constant("conductors_most", 30, "", "Most conductors together that are read", "", own_rule("the end of the table"))


@chapter.quantity(
    unit="",
    label="Conductors of the strings together, while nothing is entered",
    words="Two for each string, at most {conductors_most}.",
    formula="MIN(conductors_most,conductors_of_a_string*array_parallel)",
    source=own_rule("all strings in one bundle, until the place is known"),
)
def strings_grouped(conductors_most: Value, conductors_of_a_string: Value, array_parallel: Value) -> Value:
    return np.minimum(conductors_most, conductors_of_a_string * array_parallel)


chapter.constant("roof_adder", 33, "K", "Air around cables on a roof in the sun, above the warmest air", "", "roof_heat")
chapter.constant(
    "open_adder",
    14,
    "K",
    "Air around cables in the open, above the warmest air in the shade",
    "",
    own_rule("the sun heats a cable off the roof too; 14 K is what an older code added 0.3 to 0.9 m above a roof, from memory"),
)


@chapter.quantity(
    symbol="ΔT,sun",
    unit="K",
    label="Heat of the sun at the run array to controller",
    words="By the place of the run: {roof_adder:unit} on a roof in the sun, {open_adder:unit} in the open air, otherwise nothing.",
    formula=f'IF(run_array_place="{ROOF}",roof_adder,IF(run_array_place="{OPEN}",open_adder,0))',
    source="roof_heat",
)
def run_array_sun(run_array_place: Value, roof_adder: Value, open_adder: Value) -> Value:
    return np.where(run_array_place == ROOF, roof_adder, np.where(run_array_place == OPEN, open_adder, 0 * open_adder))


@chapter.quantity(
    symbol="f,soil",
    unit="",
    label="Correction for soil around the run array to controller",
    words="Nothing but buried cables need it.",
    formula=f'IF(run_array_place="{BURIED}",code_buried_share,1)',
    source="code_buried_share",
)
def run_array_soil(run_array_place: Value, code_buried_share: Value) -> Value:
    return np.where(run_array_place == BURIED, code_buried_share, 1.0)


for _key, _title, _words in (("string", "Each module string", "of each module string"), ("load", "Direct loads", "to the direct loads")):
    chapter.repeat(
        Repeat(
            _key,
            _title,
            ("run_array_sun", "run_array_soil"),
            {"run_array_place": f"run_{_key}_place"},
            {"run_array_sun": f"run_{_key}_sun", "run_array_soil": f"run_{_key}_soil"},
            {
                "run_array_sun": f"Heat of the sun at the run {_words}",
                "run_array_soil": f"Correction for soil around the run {_words}",
            },
        )
    )
chapter.constant("no_sun", 0, "K", "Heat of the sun at runs indoors", "", own_rule("the sun does not reach them"))


@chapter.quantity(
    symbol="I,chg",
    unit="A",
    label="Highest current that the controller sends to the battery",
    words="Rated current of the controller. Through a PWM controller flows no more than the array's highest current by the code.",
    formula='IF(controller_type="PWM",MIN(controller_i_max,array_isc_max),controller_i_max)',
    source=common_practice("a PWM controller adds no current, an MPPT controller does"),
)
def charge_run_most(controller_type: Value, controller_i_max: Value, array_isc_max: Value) -> Value:
    return np.where(controller_type == "PWM", np.minimum(controller_i_max, array_isc_max), controller_i_max)


@chapter.quantity(
    symbol="I,chg",
    unit="A",
    label="Usual current that the controller sends to the battery in full sun",
    words="Rated current of the controller. Through a PWM controller flows no more than the array's short-circuit current.",
    formula='IF(controller_type="PWM",MIN(controller_i_max,array_isc),controller_i_max)',
    source=common_practice("a PWM controller adds no current, an MPPT controller does"),
)
def charge_run_usual(controller_type: Value, controller_i_max: Value, array_isc: Value) -> Value:
    return np.where(controller_type == "PWM", np.minimum(controller_i_max, array_isc), controller_i_max)


@chapter.quantity(
    symbol="I,bat",
    unit="A",
    label="Highest current between controller and battery",
    words="The highest charge current, or that of the loads on the load output if it is higher, times {code_battery_fuse} for long hours.",
    formula="code_battery_fuse*MAX(charge_run_most,load_output_i)",
    source="code_battery_fuse",
    optional=("load_output_i",),
)
def battery_run_current(code_battery_fuse: Value, charge_run_most: Value, load_output_i: Value) -> Value:
    return code_battery_fuse * larger(charge_run_most, load_output_i)


def larger(one: Any, other: Any) -> Any:
    """Return the larger of two, or the one that there is."""
    return np.maximum(np.where(np.isnan(one), other, one), np.where(np.isnan(other), one, other))
