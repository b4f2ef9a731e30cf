"""The cable runs: what they must carry, what they may carry, and the voltage that they lose."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.inputs import OPTIONAL
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.wording import number_text

chapter = Part(
    "cables",
    "Cables",
    "Array to controller, controller to battery, to the direct loads, battery to inverter. A run whose length stays blank is not judged; "
    "with a length, its size must be entered as well.",
    sheet="Cables",
)

DROPS = common_practice("usual allowance for voltage drop")
OHM = cite("circuit-laws", "V = I × R, out and back")
# key, words, default drop in per cent, name of the highest current, name of the current for the drop
RUNS = (
    ("array", "array to controller", 3, "array_isc_max", "array_imp"),
    ("battery", "controller to battery", 1, "battery_run_current", "controller_i_max"),
    ("load", "to the direct loads", 3, "direct_run_current", "load_i_dc"),
    ("inverter", "battery to inverter", 3, "inverter_run_current", "inverter_i_peak"),
)
# the array's current gets the code's factor for long hours; that of the other runs has it already
LONG_HOURS = {"array": "code_continuous_factor", "battery": "whole", "load": "whole", "inverter": "whole"}
# whether a run that is entered counts: 1, or what says so
COUNTS = {"array": "whole", "battery": "whole", "load": "load_run_counts", "inverter": "inverter_run_counts"}
chapter.constant("whole", 1, "", "The whole, as a share", "1", cite("si"))
chapter.constant("metres_per_kilometre", 1000, "m/km", "Metres in a kilometre", "", cite("si"))

chapter.number(
    "run_terminals_t",
    "°C",
    60,
    90,
    "Temperature for which the terminals are marked",
    blank="=code_terminal_t",
    blank_source="code_terminal_t",
    where="marking on breaker, fuse holder, controller",
)
for _key, _words, _drop, _, _ in RUNS:
    _name = f"run_{_key}"
    _where = f"run {_words}"
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
        blank=2,
        blank_source=own_rule("one circuit by itself"),
        where="in the same conduit or bundle",
    )
    chapter.number(
        f"{_name}_ambient",
        "°C",
        -20,
        85,
        f"Warmest air around the cable, {_words}",
        blank="=site_t_max",
        blank_source=common_practice("shaded cable"),
        where="on a roof in the sun add {roof_adder} °C",
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


@chapter.quantity(
    symbol="I,bat",
    unit="A",
    label="Highest current between controller and battery",
    words="The controller's rated current, or that of the loads on its load output if it is higher, times {code_battery_fuse} "
    "for long hours.",
    formula="code_battery_fuse*MAX(controller_i_max,load_output_i)",
    source="code_battery_fuse",
    optional=("load_output_i",),
)
def battery_run_current(code_battery_fuse: Value, controller_i_max: Value, load_output_i: Value) -> Value:
    return code_battery_fuse * larger(controller_i_max, load_output_i)


@chapter.quantity(
    symbol="I,load",
    unit="A",
    label="Highest current between battery and loads",
    words="Direct loads and inverter together, times {code_battery_fuse} for long hours of it.",
    formula="direct_run_current+inverter_run_current",
    source="code_battery_fuse",
)
def load_run_current(direct_run_current: Value, inverter_run_current: Value) -> Value:
    return direct_run_current + inverter_run_current


@chapter.quantity(
    symbol="I,DC",
    unit="A",
    label="Highest current to the direct loads",
    words="Peak current of the DC loads times {code_battery_fuse}, for long hours of it.",
    formula="code_battery_fuse*load_i_dc",
    source="code_battery_fuse",
)
def direct_run_current(code_battery_fuse: Value, load_i_dc: Value) -> Value:
    return code_battery_fuse * load_i_dc


@chapter.quantity(
    symbol="I,inv",
    unit="A",
    label="Highest current between battery and inverter",
    words="Current of the inverter at its rated power times {code_battery_fuse}, for long hours of it.",
    formula="code_battery_fuse*inverter_i_rated",
    source="code_battery_fuse",
)
def inverter_run_current(code_battery_fuse: Value, inverter_i_rated: Value) -> Value:
    return code_battery_fuse * inverter_i_rated


@chapter.quantity(
    unit="",
    label="Whether an entered run to direct loads counts",
    words="0 where loads are entered and none of them is DC.",
    formula='IF(AND(loads_state="run",direct_loads_state="not run"),0,1)',
    source=own_rule("a run without a load is no run"),
)
def load_run_counts(loads_state: Value, direct_loads_state: Value) -> Value:
    return np.where((loads_state == "run") & (direct_loads_state == "not run"), 0.0, 1.0)


@chapter.quantity(
    unit="",
    label="Whether an entered run to an inverter counts",
    words="0 where loads are entered and none of them is AC.",
    formula='IF(AND(loads_state="run",inverter_state="not run"),0,1)',
    source=own_rule("a run without a load is no run"),
)
def inverter_run_counts(loads_state: Value, inverter_state: Value) -> Value:
    return np.where((loads_state == "run") & (inverter_state == "not run"), 0.0, 1.0)


runs = chapter.grid(
    Grid(
        "runs",
        "What each run carries",
        "The code's ampacity with its corrections, and the drop at the usual current.",
        "conductor_ampacity",
        tuple(
            Row(
                key,
                words,
                {
                    "length": f"run_{key}_length",
                    "size": f"run_{key}_size",
                    "insulation": f"run_{key}_insulation",
                    "grouped": f"run_{key}_grouped",
                    "ambient": f"run_{key}_ambient",
                    "highest": highest,
                    "long_hours": LONG_HOURS[key],
                    "counts": COUNTS[key],
                },
            )
            for key, words, _, highest, usual in RUNS
        ),
        "Cables",
    )
)


@runs.column(
    symbol="A",
    unit="mm²",
    words="cross-section of the conductor",
    named=True,
    formula="INDEX(conductors_area,MATCH(size,conductors_size,0))",
)
def area(size: Value, *, conductors: Table) -> Value:
    return conductors.exact(size, "size", "area")


@runs.column(symbol="length", words="1 if a length is entered", optional=("length",), formula='IF(length="",0,1)')
def has_length(length: Value) -> Value:
    return ~np.isnan(length) * 1.0


@runs.column(symbol="conductor", words="1 if a conductor is entered", optional=("size",), formula='IF(size="",0,1)')
def has_size(size: Value) -> Value:
    return (size != "") * 1.0


@runs.column(
    kind="text",
    symbol="state",
    words="whether the run is judged: it needs both",
    named=True,
    formula='IF(has_length+has_size=0,"not run",IF(has_length+has_size=1,"unfinished","run"))',
)
def state(has_length: Value, has_size: Value) -> Value:
    parts = has_length + has_size
    return np.where(parts == 0, "not run", np.where(parts == 1, "unfinished", "run"))


@runs.column(symbol="run", words="1 if it is judged", named=True, formula='IF(AND(state="run",counts=1),1,0)')
def is_run(state: Value, counts: Value) -> Value:
    return ((state == "run") & (counts == 1)) * 1.0


@runs.column(symbol="open", words="1 if it is unfinished", named=True, formula='IF(state="unfinished",1,0)')
def is_open(state: Value) -> Value:
    return (state == "unfinished") * 1.0


@runs.column(
    symbol="air, up to",
    unit="°C",
    words="row of air temperature",
    formula='IF(ROUND(ambient,9)>MAX(ambient_bands_t_to),"",INDEX(ambient_bands_t_to,COUNTIF(ambient_bands_t_to,"<"&ROUND(ambient,9))+1))',
)
def band(ambient: Value, *, ambient_bands: Table) -> Value:
    return ambient_bands.next_up(ambient, "t_to")


@runs.column(
    symbol="f,air",
    words="correction for air temperature",
    named=True,
    formula='INDEX(ambient_factors_factor,MATCH(ROUND(band,0)&"|"&insulation,ambient_factors_key,0))',
)
def f_air(band: Value, insulation: Value, *, ambient_factors: Table) -> Value:
    return ambient_factors.exact(joined(band, insulation), "key", "factor")


@runs.column(
    symbol="f,group",
    words="adjustment for conductors together",
    named=True,
    formula='IF(ROUND(grouped,9)>MAX(grouping_conductors_to),"",'
    'INDEX(grouping_factor,COUNTIF(grouping_conductors_to,"<"&ROUND(grouped,9))+1))',
)
def f_group(grouped: Value, *, grouping: Table) -> Value:
    return grouping.next_up(grouped, "conductors_to", "factor")


@runs.column(symbol="I,max", unit="A", words="highest current", formula="highest", named=True)
def i_max(highest: Value) -> Value:
    return highest


@runs.column(
    symbol="I,table",
    unit="A",
    words="ampacity that the table must show: the larger of two tests",
    named=True,
    formula='IF(f_air=0,"",MAX(long_hours*i_max,i_max/(f_air*f_group)))',
)
def needed(f_air: Value, long_hours: Value, i_max: Value, f_group: Value) -> Value:
    corrected = np.divide(i_max, f_air * f_group)
    return np.where(f_air == 0, np.nan, np.maximum(long_hours * i_max, corrected))


@runs.column(
    symbol="T,ins",
    unit="°C",
    words="rated temperature of the insulation",
    formula="INDEX(insulations_t_rated,MATCH(insulation,insulations_name,0))",
)
def t_rated(insulation: Value, *, insulations: Table) -> Value:
    return insulations.exact(insulation, "name", "t_rated")


@runs.column(
    symbol="T,work", unit="°C", words="as warm as insulation and terminals allow", named=True, formula="MIN(run_terminals_t,t_rated)"
)
def t_work(run_terminals_t: Value, t_rated: Value) -> Value:
    return np.minimum(run_terminals_t, t_rated)


@runs.column(
    kind="text",
    symbol="column",
    words="column of the table that the terminals allow",
    named=True,
    formula='IF(ROUND(t_work,9)<MIN(insulations_t_rated),"",INDEX(insulations_name,MATCH(ROUND(t_work,9),insulations_t_rated,1)))',
)
def terminal_class(t_work: Value, *, insulations: Table) -> Value:
    return insulations.band(t_work, "t_rated", "name")


@runs.column(
    symbol="I,ins", unit="A", words="ampacity by the insulation", formula='INDEX(ampacity_amps,MATCH(size&"|"&insulation,ampacity_key,0))'
)
def by_insulation(size: Value, insulation: Value, *, ampacity: Table) -> Value:
    return ampacity.exact(joined(size, insulation), "key", "amps")


@runs.column(
    symbol="I,term",
    unit="A",
    words="ampacity by the terminals",
    formula='INDEX(ampacity_amps,MATCH(size&"|"&terminal_class,ampacity_key,0))',
)
def by_terminals(size: Value, terminal_class: Value, *, ampacity: Table) -> Value:
    return ampacity.exact(joined(size, terminal_class), "key", "amps")


@runs.column(
    symbol="Iz",
    unit="A",
    words="current that the run may carry",
    named=True,
    formula="MIN(by_insulation*f_air*f_group,by_terminals/long_hours)",
)
def carries(by_insulation: Value, f_air: Value, f_group: Value, by_terminals: Value, long_hours: Value) -> Value:
    return np.minimum(by_insulation * f_air * f_group, by_terminals / long_hours)


@runs.column(
    symbol="I,cap",
    unit="A",
    words="largest overcurrent device that this conductor allows",
    named=True,
    formula="MIN(by_insulation*f_air*f_group,by_terminals,IF(COUNTIF(small_conductors_size,size)=0,by_terminals,"
    "INDEX(small_conductors_amps,MATCH(size,small_conductors_size,0))))",
)
def cap(by_insulation: Value, f_air: Value, f_group: Value, by_terminals: Value, size: Value, *, small_conductors: Table) -> Value:
    small = small_conductors.exact(size, "size", "amps")
    cable = np.minimum(by_insulation * f_air * f_group, by_terminals)
    return np.where(np.isnan(small), cable, np.minimum(cable, small))


losses = chapter.grid(
    Grid(
        "losses",
        "What each run loses",
        "Resistance at working temperature, out and back, and the drop at the usual current.",
        OHM,
        tuple(
            Row(
                key,
                words,
                {
                    "length": f"run_{key}_length",
                    "size": f"run_{key}_size",
                    "allowed": f"run_{key}_drop_allowed",
                    "usual": usual,
                    "ambient": f"run_{key}_ambient",
                }
                | {name: f"runs_{key}_{name}" for name in ("state", "t_work", "carries", "i_max")},
            )
            for key, words, _, _, usual in RUNS
        ),
        "Cables",
    )
)


@losses.column(
    symbol="r",
    unit="Ω/km",
    words="resistance at working temperature, not cooler than the air",
    formula="INDEX(conductors_ohm_km,MATCH(size,conductors_size,0))*(1+code_conductor_alpha*(MAX(t_work,ambient)-code_conductor_t))",
)
def ohm_km(size: Value, code_conductor_alpha: Value, t_work: Value, ambient: Value, code_conductor_t: Value, *, conductors: Table) -> Value:
    cold = conductors.exact(size, "size", "ohm_km")
    return cold * (1 + code_conductor_alpha * (np.maximum(t_work, ambient) - code_conductor_t))


@losses.column(symbol="R", unit="Ω", words="resistance out and back", named=True, formula="2*length*ohm_km/metres_per_kilometre")
def resistance(length: Value, ohm_km: Value, metres_per_kilometre: Value) -> Value:
    return 2 * length * ohm_km / metres_per_kilometre


@losses.column(symbol="ΔV", unit="V", words="drop at the usual current", named=True, formula="usual*resistance")
def drop(usual: Value, resistance: Value) -> Value:
    return usual * resistance


@losses.column(symbol="ΔV/V", unit="%", words="drop in per cent of nominal", named=True, formula="drop/battery_nominal*whole_percent")
def percent(drop: Value, battery_nominal: Value, whole_percent: Value) -> Value:
    return drop / battery_nominal * whole_percent


@losses.column(
    symbol="Iz/I",
    words="what it may carry by what it must, if the run is judged",
    named=True,
    formula='IF(AND(state="run",i_max>0),carries/i_max,"")',
)
def carry_share(state: Value, i_max: Value, carries: Value) -> Value:
    return np.where((state == "run") & (i_max > 0), np.divide(carries, i_max), np.nan)


@losses.column(symbol="ΔV/allowed", words="drop as a share of what is allowed", named=True, formula="percent/MAX(allowed,curve_small)")
def drop_share(percent: Value, allowed: Value, curve_small: Value) -> Value:
    return percent / np.maximum(allowed, curve_small)


def larger(one: Any, other: Any) -> Any:
    """Return the larger of two, or the one that there is."""
    return np.maximum(np.where(np.isnan(one), other, one), np.where(np.isnan(other), one, other))


def joined(*parts: Any) -> Any:
    """Return the key of a two-part look-up, such as ``35|90C``; element by element for arrays."""
    if any(np.ndim(part) for part in parts):
        rows = zip(*(np.ravel(part) for part in np.broadcast_arrays(*parts)), strict=True)
        return np.array([joined(*row) for row in rows], dtype=object)
    return "|".join(part if isinstance(part, str) else number_text(round_half_away(part, 0)) for part in parts)
