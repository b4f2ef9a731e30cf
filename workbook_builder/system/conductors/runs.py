"""The cable runs: what they must carry, what they may carry, and the voltage that they lose."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import cite
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.wording import number_text
from workbook_builder.system.conductors.run_entries import COUNTS, LONG_HOURS, PLACED, RUNS, WANTED

chapter = Part("cables", continues=True)
OHM = cite("circuit-laws", "V = I × R, out and back")

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
                    "sun": f"run_{key}_sun" if key in PLACED else "no_sun",
                    "soil": f"run_{key}_soil" if key in PLACED else "whole",
                    "highest": highest,
                    "long_hours": LONG_HOURS[key],
                    "counts": COUNTS.get(key, "whole"),
                    "wanted": WANTED.get(key, "whole"),
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


@runs.column(symbol="missing", words="1 if it applies and is not entered", named=True, formula='IF(AND(state="not run",wanted=1),1,0)')
def is_missing_run(state: Value, wanted: Value) -> Value:
    return ((state == "not run") & (wanted == 1)) * 1.0


@runs.column(symbol="open", words="1 if it is unfinished", named=True, formula='IF(state="unfinished",1,0)')
def is_open(state: Value) -> Value:
    return (state == "unfinished") * 1.0


@runs.column(symbol="T,air", unit="°C", words="warmest air around the cable, the sun included", named=True, formula="ambient+sun")
def air(ambient: Value, sun: Value) -> Value:
    return ambient + sun


@runs.column(
    symbol="air, up to",
    unit="°C",
    words="row of air temperature",
    formula='IF(ROUND(air,9)>MAX(ambient_bands_t_to),"",INDEX(ambient_bands_t_to,COUNTIF(ambient_bands_t_to,"<"&ROUND(air,9))+1))',
)
def band(air: Value, *, ambient_bands: Table) -> Value:
    return ambient_bands.next_up(air, "t_to")


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


@runs.column(symbol="f", words="all corrections together", named=True, formula="f_air*f_group*soil")
def f_all(f_air: Value, f_group: Value, soil: Value) -> Value:
    return f_air * f_group * soil


@runs.column(symbol="I,max", unit="A", words="highest current", formula="highest", named=True)
def i_max(highest: Value) -> Value:
    return highest


@runs.column(
    symbol="I,table",
    unit="A",
    words="ampacity that the table must show: the larger of two tests",
    named=True,
    formula='IF(f_all=0,"",MAX(long_hours*i_max,i_max/f_all))',
)
def needed(f_all: Value, long_hours: Value, i_max: Value) -> Value:
    return np.where(f_all == 0, np.nan, np.maximum(long_hours * i_max, np.divide(i_max, f_all)))


@runs.column(
    symbol="T,ins",
    unit="°C",
    words="rated temperature of the insulation",
    formula="INDEX(insulations_t_rated,MATCH(insulation,insulations_name,0))",
)
def t_rated(insulation: Value, *, insulations: Table) -> Value:
    return insulations.exact(insulation, "name", "t_rated")


@runs.column(
    symbol="T,term",
    unit="°C",
    words="temperature of the terminals: as marked, otherwise by the current of the run",
    named=True,
    optional=("run_terminals_t",),
    formula='IF(run_terminals_t<>"",run_terminals_t,'
    "IF(ROUND(long_hours*i_max,6)>ROUND(code_terminal_amps,6),code_terminal_t_high,code_terminal_t))",
)
def t_term(
    run_terminals_t: Value, long_hours: Value, i_max: Value, code_terminal_amps: Value, code_terminal_t_high: Value, code_terminal_t: Value
) -> Value:
    large = round_half_away(long_hours * i_max, 6) > round_half_away(code_terminal_amps, 6)
    return np.where(np.isnan(run_terminals_t), np.where(large, code_terminal_t_high, code_terminal_t), run_terminals_t)


@runs.column(symbol="T,work", unit="°C", words="as warm as insulation and terminals allow", named=True, formula="MIN(t_term,t_rated)")
def t_work(t_term: Value, t_rated: Value) -> Value:
    return np.minimum(t_term, t_rated)


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
    formula="MIN(by_insulation*f_all,by_terminals/long_hours)",
)
def carries(by_insulation: Value, f_all: Value, by_terminals: Value, long_hours: Value) -> Value:
    return np.minimum(by_insulation * f_all, by_terminals / long_hours)


@runs.column(
    symbol="I,cap",
    unit="A",
    words="largest overcurrent device that this conductor allows",
    named=True,
    formula="MIN(by_insulation*f_all,by_terminals,IF(COUNTIF(small_conductors_size,size)=0,by_terminals,"
    "INDEX(small_conductors_amps,MATCH(size,small_conductors_size,0))))",
)
def cap(by_insulation: Value, f_all: Value, by_terminals: Value, size: Value, *, small_conductors: Table) -> Value:
    small = small_conductors.exact(size, "size", "amps")
    cable = np.minimum(by_insulation * f_all, by_terminals)
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
                }
                | {name: f"runs_{key}_{name}" for name in ("state", "air", "t_work", "carries", "i_max")},
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
    formula="INDEX(conductors_ohm_km,MATCH(size,conductors_size,0))*(1+code_conductor_alpha*(MAX(t_work,air)-code_conductor_t))",
)
def ohm_km(size: Value, code_conductor_alpha: Value, t_work: Value, air: Value, code_conductor_t: Value, *, conductors: Table) -> Value:
    cold = conductors.exact(size, "size", "ohm_km")
    return cold * (1 + code_conductor_alpha * (np.maximum(t_work, air) - code_conductor_t))


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
    formula='IF(AND(state="run",ROUND(i_max,6)>0),carries/i_max,"")',
)
def carry_share(state: Value, i_max: Value, carries: Value) -> Value:
    return np.where((state == "run") & (round_half_away(i_max, 6) > 0), np.divide(carries, i_max), np.nan)


@losses.column(symbol="ΔV/allowed", words="drop as a share of what is allowed", named=True, formula="percent/MAX(allowed,curve_small)")
def drop_share(percent: Value, allowed: Value, curve_small: Value) -> Value:
    return percent / np.maximum(allowed, curve_small)


def joined(*parts: Any) -> Any:
    """Return the key of a two-part look-up, such as ``35|90C``; element by element for arrays."""
    if any(np.ndim(part) for part in parts):
        rows = zip(*(np.ravel(part) for part in np.broadcast_arrays(*parts)), strict=True)
        return np.array([joined(*row) for row in rows], dtype=object)
    return "|".join(part if isinstance(part, str) else number_text(round_half_away(part, 0)) for part in parts)
