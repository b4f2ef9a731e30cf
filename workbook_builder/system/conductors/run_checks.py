"""The smallest conductor of each run that does, and the checks of all runs."""

from functools import reduce
from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import own_rule
from workbook_builder.language.steps import Function, taking
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.conductors.run_entries import LONG_HOURS, RUNS
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


def _named(label: str, symbol: str, unit: str, name: str, words: str, kind: str = "number") -> dict[str, Any]:
    return {
        "symbol": symbol,
        "unit": unit,
        "label": label,
        "words": words,
        "formula": name,
        "kind": kind,
        "source": own_rule("from the table of runs"),
    }


NEEDED, DROP = "Ampacity that the table must show, before correction", "Voltage drop at the usual current"


ASKED = tuple(f"run_{key}_{field}" for key, *_ in RUNS for field in ("length", "size"))


@chapter.quantity(**_named(f"{NEEDED}: each string", "I,table", "A", "runs_string_needed", "The larger of the code's two tests."))
def run_string_ampacity(runs_string_needed: Value) -> Value:
    return runs_string_needed


@chapter.quantity(**_named(f"{DROP}: each string", "ΔV", "V", "losses_string_drop", "Resistance out and back, times the current."))
def run_string_drop(losses_string_drop: Value) -> Value:
    return losses_string_drop


@chapter.quantity(**_named(f"{NEEDED}: array", "I,table", "A", "runs_array_needed", "The larger of the code's two tests."))
def run_array_ampacity(runs_array_needed: Value) -> Value:
    return runs_array_needed


@chapter.quantity(**_named(f"{NEEDED}: battery", "I,table", "A", "runs_battery_needed", "The larger of the code's two tests."))
def run_battery_ampacity(runs_battery_needed: Value) -> Value:
    return runs_battery_needed


@chapter.quantity(**_named(f"{NEEDED}: loads", "I,table", "A", "runs_load_needed", "The larger of the code's two tests."))
def run_load_ampacity(runs_load_needed: Value) -> Value:
    return runs_load_needed


@chapter.quantity(**_named(f"{NEEDED}: inverter", "I,table", "A", "runs_inverter_needed", "The larger of the code's two tests."))
def run_inverter_ampacity(runs_inverter_needed: Value) -> Value:
    return runs_inverter_needed


@chapter.quantity(**_named(f"{DROP}: array", "ΔV", "V", "losses_array_drop", "Resistance out and back, times the current."))
def run_array_drop(losses_array_drop: Value) -> Value:
    return losses_array_drop


@chapter.quantity(**_named(f"{DROP}: battery", "ΔV", "V", "losses_battery_drop", "Resistance out and back, times the current."))
def run_battery_drop(losses_battery_drop: Value) -> Value:
    return losses_battery_drop


@chapter.quantity(**_named(f"{DROP}: loads", "ΔV", "V", "losses_load_drop", "Resistance out and back, times the current."))
def run_load_drop(losses_load_drop: Value) -> Value:
    return losses_load_drop


@chapter.quantity(**_named(f"{DROP}: inverter", "ΔV", "V", "losses_inverter_drop", "Resistance out and back, times the current."))
def run_inverter_drop(losses_inverter_drop: Value) -> Value:
    return losses_inverter_drop


SMALLEST = "Smallest conductor that does"


@chapter.quantity(**_named(f"{SMALLEST}: each string", "", "", "sizes_string13_smallest", "none: no size of the table does.", "text"))
def run_string_smallest(sizes_string13_smallest: Value) -> Value:
    return sizes_string13_smallest


@chapter.quantity(**_named(f"{SMALLEST}: array", "", "", "sizes_array13_smallest", "none: no size of the table does.", "text"))
def run_array_smallest(sizes_array13_smallest: Value) -> Value:
    return sizes_array13_smallest


@chapter.quantity(**_named(f"{SMALLEST}: battery", "", "", "sizes_battery13_smallest", "none: no size does.", "text"))
def run_battery_smallest(sizes_battery13_smallest: Value) -> Value:
    return sizes_battery13_smallest


@chapter.quantity(**_named(f"{SMALLEST}: loads", "", "", "sizes_load13_smallest", "none: no size does.", "text"))
def run_load_smallest(sizes_load13_smallest: Value) -> Value:
    return sizes_load13_smallest


@chapter.quantity(**_named(f"{SMALLEST}: inverter", "", "", "sizes_inverter13_smallest", "none: no size does.", "text"))
def run_inverter_smallest(sizes_inverter13_smallest: Value) -> Value:
    return sizes_inverter13_smallest


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
        INCOMPLETE: "A run has a length but no conductor or the other way round, there is no load for its run, or the air is too warm "
        "for the tables. Complete the run on Entries.",
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
