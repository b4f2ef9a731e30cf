"""The smallest conductor of each run that does, and the checks of all runs."""

from functools import reduce

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import own_rule
from workbook_builder.language.steps import Function, Kind, taking
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.conductors.run_entries import LONG_HOURS, RUNS, SHORT
from workbook_builder.system.conductors.runs import OHM
from workbook_builder.system.conductors.size_ladder import ampacity_columns, smallest_column

chapter = Part("cables", continues=True)

COUNT = 13
sizes = chapter.grid(
    Grid(
        "sizes",
        "The smallest conductor that does",
        "Each size of the profile's table in each run; the first that carries the highest current and keeps the drop is taken.",
        "conductor_ampacity",
        tuple(
            Row(
                f"{key}{n}",
                f"{words}, size {n}",
                {
                    "length": f"run_{key}_length",
                    "insulation": f"run_{key}_insulation",
                    "allowed": f"run_{key}_drop_allowed",
                    "usual": usual,
                    "long_hours": LONG_HOURS[key],
                }
                | {name: f"runs_{key}_{name}" for name in ("air", "f_all", "i_max", "t_work", "terminal_class")},
                {"number": float(n)},
                start=n == 1,
                named=n == COUNT,
            )
            for key, words, _, _, usual in RUNS
            for n in range(1, COUNT + 1)
        ),
        "Cables",
        single=True,
        numbers={"number": ("row of the table", "")},
    )
)


@sizes.column(
    kind="text", symbol="size", words="conductor", formula='IF(number>COUNT(conductors_ohm_km),"none",INDEX(conductors_size,number))'
)
def size(number: Value, *, conductors: Table) -> Value:
    return conductors.row(number, "size") or "none"


ampacity_columns(sizes)


@sizes.column(symbol="Iz", unit="A", words="current that it may carry", formula="MIN(insulated*f_all,terminated/long_hours)")
def may_carry(insulated: Value, f_all: Value, terminated: Value, long_hours: Value) -> Value:
    return np.minimum(insulated * f_all, terminated / long_hours)


@sizes.column(
    symbol="r",
    unit="Ω/km",
    words="resistance at working temperature",
    formula='IF(size="none","",INDEX(conductors_ohm_km,MATCH(size,conductors_size,0))'
    "*(1+code_conductor_alpha*(MAX(t_work,air)-code_conductor_t)))",
)
def per_km(size: Value, code_conductor_alpha: Value, t_work: Value, air: Value, code_conductor_t: Value, *, conductors: Table) -> Value:
    return conductors.exact(size, "size", "ohm_km") * (1 + code_conductor_alpha * (np.maximum(t_work, air) - code_conductor_t))


@sizes.column(
    symbol="ΔV/V",
    unit="%",
    words="drop in per cent of nominal",
    formula="usual*2*length*per_km/metres_per_kilometre/battery_nominal*whole_percent",
)
def loses(usual: Value, length: Value, per_km: Value, metres_per_kilometre: Value, battery_nominal: Value, whole_percent: Value) -> Value:
    return usual * 2 * length * per_km / metres_per_kilometre / battery_nominal * whole_percent


@sizes.column(
    kind="flag",
    symbol="does",
    words="carries and keeps the drop",
    optional=("may_carry", "loses"),
    formula='IF(OR(may_carry="",loses=""),FALSE,AND(ROUND(may_carry,6)>=ROUND(i_max,6),ROUND(loses,6)<=ROUND(allowed,6)))',
)
def does(may_carry: Value, loses: Value, i_max: Value, allowed: Value) -> Value:
    enough = round_half_away(may_carry, 6) >= round_half_away(i_max, 6)
    return enough & (round_half_away(loses, 6) <= round_half_away(allowed, 6))


smallest_column(sizes)


ASKED = tuple(f"run_{key}_{field}" for key, *_ in RUNS for field in ("length", "size"))


def _of_a_run(name: str, column: str, label: str, words: str, symbol: str = "", unit: str = "", kind: Kind = "number") -> None:
    """Declare a value of a table of the runs under a name of its own, for the sheets that show it."""
    handed = taking([column], lambda **values: values[column], name)
    source = own_rule("from the table of runs")
    chapter.quantity(symbol=symbol, unit=unit, label=label, words=words, formula=column, kind=kind, source=source)(handed)


for _key, _run in SHORT.items():
    _of_a_run(
        f"run_{_key}_ampacity",
        f"runs_{_key}_needed",
        f"Ampacity that the table must show, before correction: {_run}",
        "The larger of the code's two tests.",
        "I,table",
        "A",
    )
    _of_a_run(
        f"run_{_key}_drop",
        f"losses_{_key}_drop",
        f"Voltage drop at the usual current: {_run}",
        "Resistance out and back, times the current.",
        "ΔV",
        "V",
    )
    _of_a_run(
        f"run_{_key}_smallest",
        f"sizes_{_key}{COUNT}_smallest",
        f"Smallest conductor that does: {_run}",
        "none: no size of the table does.",
        kind="text",
    )


def _summed(name: str, field: str, label: str, words: str) -> None:
    """Declare the sum of a column over the runs."""
    names = [f"runs_{key}_{field}" for key, *_ in RUNS]
    function = taking(names, lambda **fields: sum(fields.values()), name)
    chapter.quantity(unit="", label=label, words=words, formula="+".join(names), source=own_rule("nothing is passed unseen"))(function)


_summed("runs_entered", "is_run", "Runs that are judged", "Runs with a length and a conductor.")
_summed("runs_open", "is_open", "Runs that are unfinished", "Runs with a length but no conductor, or the other way round.")
_summed(
    "runs_missing",
    "is_missing_run",
    "Runs that are not entered",
    "Of each string, array and battery; to direct loads and inverter only where there are such loads.",
)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the cables are judged",
    words="Every run that applies has a length and a conductor, and its figures are complete.",
    formula='IF(OR(runs_open>0,runs_known<runs_entered),"unfinished",IF(runs_missing>0,"not run","run"))',
    source=own_rule("nothing is passed unseen"),
)
def runs_state(runs_open: Value, runs_known: Value, runs_entered: Value, runs_missing: Value) -> Value:
    unfinished = (runs_open > 0) | (runs_known < runs_entered)
    return np.where(unfinished, "unfinished", np.where(runs_missing > 0, "not run", "run"))


def _of_the_runs(name: str, column: str, symbol: str, label: str, words: str, function: Function, spreadsheet: str) -> None:
    """Declare what is taken of a column over the runs that are judged."""
    names = [f"losses_{key}_{column}" for key, *_ in RUNS]
    listed = ",".join(names)
    taken = taking(names, lambda **shares: function(list(shares.values())), name)
    chapter.quantity(
        symbol=symbol,
        unit="",
        label=label,
        words=words,
        formula=f'IF(COUNT({listed})=0,"",{spreadsheet}({listed}))' if spreadsheet != "COUNT" else f"COUNT({listed})",
        source=own_rule("the worst decides, and nothing is passed unseen"),
        optional=names,
    )(taken)


_of_the_runs(
    "runs_carry_worst",
    "carry_share",
    "Iz/I",
    "Worst run: current it may carry, as a share of what it must",
    "The smallest of the runs that are judged.",
    lambda shares: reduce(np.fmin, shares),
    "MIN",
)
_of_the_runs(
    "runs_drop_worst",
    "drop_share",
    "ΔV/allowed",
    "Worst run: drop as a share of what is allowed",
    "The largest of the runs that are judged.",
    lambda shares: reduce(np.fmax, shares),
    "MAX",
)
_of_the_runs(
    "runs_known",
    "carry_share",
    "",
    "Runs whose figures are complete",
    "Runs for which a share could be computed.",
    lambda shares: sum(~np.isnan(share) * 1.0 for share in shares),
    "COUNT",
)


@chapter.quantity(
    kind="flag",
    unit="",
    label="A run is too thin for its current",
    words="The worst of the runs that are judged.",
    formula='IF(runs_carry_worst="",FALSE,ROUND(runs_carry_worst,6)<ROUND(whole,6))',
    source="ampacity",
    optional=("runs_carry_worst",),
)
def runs_thin(runs_carry_worst: Value, whole: Value) -> Value:
    return round_half_away(runs_carry_worst, 6) < round_half_away(whole, 6)


@chapter.check(
    safety=True,
    label="Cables carry their currents",
    words="What each run may carry, with the corrections of the profile, not below its highest current. Every run that applies is entered.",
    value="runs_carry_worst",
    at_least="whole",
    formula='IF(runs_thin,"FAIL",IF(runs_state="unfinished","INCOMPLETE",IF(runs_state="not run","NOT JUDGED","PASS")))',
    source="ampacity",
    asks=ASKED,
    sentences={
        PASS: "Each run carries its highest current in its place, at its air temperature and grouping.",
        FAIL: "A conductor is too small for its current. It overheats, and its insulation can burn. The sheet Cables names the smallest "
        "conductor size that is adequate.",
        NOT_JUDGED: "A cable run is not entered. Nobody can say whether that cable overheats.",
        INCOMPLETE: "A run has a length but no conductor or the other way round, there is no load for its run, or the code's tables do "
        "not reach its air or terminals. Complete the run on Entries.",
    },
)
def conductors(runs_thin: Value, runs_state: Value) -> Value:
    entered = np.where(runs_state == "unfinished", INCOMPLETE, where_pass(runs_state == "run", NOT_JUDGED))
    return np.where(runs_thin == 1, FAIL, entered)


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the voltage drops are within what is allowed",
    words="The worst of the runs that are judged.",
    formula='IF(runs_drop_worst="","not known",IF(ROUND(runs_drop_worst,6)<=ROUND(whole,6),"within","above"))',
    source=OHM,
    optional=("runs_drop_worst",),
)
def runs_drop_state(runs_drop_worst: Value, whole: Value) -> Value:
    within = round_half_away(runs_drop_worst, 6) <= round_half_away(whole, 6)
    return np.where(np.isnan(runs_drop_worst), "not known", np.where(within, "within", "above"))


@chapter.check(
    label="Voltage drop of the cables",
    words="Drop of each run at its usual current, within what is allowed. Every run that applies is entered.",
    value="runs_drop_worst",
    at_most="whole",
    formula='IF(runs_drop_state="above","NOTE",IF(runs_state="unfinished","INCOMPLETE",IF(runs_state="not run","NOT JUDGED",'
    'IF(runs_drop_state="within","PASS","INCOMPLETE"))))',
    source=OHM,
    asks=ASKED,
    sentences={
        PASS: "Each run keeps its allowed voltage drop.",
        NOTE: "A run loses more than its allowed voltage drop. The battery charges less, or the loads get too little voltage. The sheet "
        "Cables names the conductor size that is adequate.",
        NOT_JUDGED: "A cable run is not entered. Nobody can say what voltage that cable loses.",
        INCOMPLETE: "A run has a length but no conductor or the other way round, there is no load for its run, or no allowed drop. "
        "Complete the run on Entries.",
    },
)
def voltage_drop(runs_drop_state: Value, runs_state: Value) -> Value:
    known = np.where(runs_state == "not run", NOT_JUDGED, where_pass(runs_drop_state == "within", INCOMPLETE))
    return np.where(runs_drop_state == "above", NOTE, np.where(runs_state == "unfinished", INCOMPLETE, known))
