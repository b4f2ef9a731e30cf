"""The smallest conductor of each run that does, and the checks of all runs."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_JUDGED, NOTE, PASS, where_pass
from workbook_builder.system.conductors.runs import LONG_HOURS, OHM, RUNS
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
                    "ambient": f"run_{key}_ambient",
                    "long_hours": LONG_HOURS[key],
                }
                | {name: f"runs_{key}_{name}" for name in ("f_air", "f_group", "i_max", "t_work", "terminal_class")},
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


@sizes.column(symbol="Iz", unit="A", words="current that it may carry", formula="MIN(insulated*f_air*f_group,terminated/long_hours)")
def may_carry(insulated: Value, f_air: Value, f_group: Value, terminated: Value, long_hours: Value) -> Value:
    return np.minimum(insulated * f_air * f_group, terminated / long_hours)


@sizes.column(
    symbol="r",
    unit="Ω/km",
    words="resistance at working temperature",
    formula='IF(size="none","",INDEX(conductors_ohm_km,MATCH(size,conductors_size,0))'
    "*(1+code_conductor_alpha*(MAX(t_work,ambient)-code_conductor_t)))",
)
def per_km(size: Value, code_conductor_alpha: Value, t_work: Value, ambient: Value, code_conductor_t: Value, *, conductors: Table) -> Value:
    return conductors.exact(size, "size", "ohm_km") * (1 + code_conductor_alpha * (np.maximum(t_work, ambient) - code_conductor_t))


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


CARRIED = tuple(f"losses_{key}_carry_share" for key in LONG_HOURS)
DROPPED = tuple(f"losses_{key}_drop_share" for key in LONG_HOURS)
RUNS = ("run_array_length", "run_array_size", "run_battery_length", "run_battery_size", "run_load_length", "run_load_size")


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


@chapter.quantity(
    unit="",
    label="Runs that are judged",
    words="Runs with a length and a conductor.",
    formula="runs_array_is_run+runs_battery_is_run+runs_load_is_run+runs_inverter_is_run",
    source=own_rule("nothing is passed unseen"),
)
def runs_entered(runs_array_is_run: Value, runs_battery_is_run: Value, runs_load_is_run: Value, runs_inverter_is_run: Value) -> Value:
    return runs_array_is_run + runs_battery_is_run + runs_load_is_run + runs_inverter_is_run


@chapter.quantity(
    unit="",
    label="Runs that are unfinished",
    words="Runs with a length but no conductor, or the other way round.",
    formula="runs_array_is_open+runs_battery_is_open+runs_load_is_open+runs_inverter_is_open",
    source=own_rule("nothing is passed unseen"),
)
def runs_open(runs_array_is_open: Value, runs_battery_is_open: Value, runs_load_is_open: Value, runs_inverter_is_open: Value) -> Value:
    return runs_array_is_open + runs_battery_is_open + runs_load_is_open + runs_inverter_is_open


@chapter.quantity(
    kind="text",
    unit="",
    label="Whether the cables are judged",
    words="Any run with a length; each of them needs a conductor.",
    formula='IF(runs_open>0,"unfinished",IF(runs_entered>0,"run","not run"))',
    source=own_rule("optional part"),
)
def runs_state(runs_open: Value, runs_entered: Value) -> Value:
    return np.where(runs_open > 0, "unfinished", np.where(runs_entered > 0, "run", "not run"))


@chapter.quantity(
    unit="",
    label="Runs whose figures are complete",
    words="Runs for which a share could be computed.",
    formula=f"COUNT({','.join(CARRIED)})",
    source=own_rule("nothing is passed unseen"),
    optional=CARRIED,
)
def runs_known(
    losses_array_carry_share: Value, losses_battery_carry_share: Value, losses_load_carry_share: Value, losses_inverter_carry_share: Value
) -> Value:
    shares = (losses_array_carry_share, losses_battery_carry_share, losses_load_carry_share, losses_inverter_carry_share)
    return sum(~np.isnan(share) for share in shares) * 1.0


@chapter.quantity(
    symbol="Iz/I",
    unit="",
    label="Worst run: current it may carry, as a share of what it must",
    words="The smallest of the runs that are judged.",
    formula=f'IF(runs_known=0,"",MIN({",".join(CARRIED)}))',
    source=own_rule("the worst decides"),
    optional=CARRIED,
)
def runs_carry_worst(
    runs_known: Value,
    losses_array_carry_share: Value,
    losses_battery_carry_share: Value,
    losses_load_carry_share: Value,
    losses_inverter_carry_share: Value,
) -> Value:
    controller = np.fmin(losses_array_carry_share, losses_battery_carry_share)
    worst = np.fmin(controller, np.fmin(losses_load_carry_share, losses_inverter_carry_share))
    return np.where(runs_known == 0, np.nan, worst)


@chapter.quantity(
    unit="",
    label="Runs whose drop is known",
    words="Runs for which the share of the allowed drop could be computed.",
    formula=f"COUNT({','.join(DROPPED)})",
    source=own_rule("nothing is passed unseen"),
    optional=DROPPED,
)
def runs_drops(
    losses_array_drop_share: Value, losses_battery_drop_share: Value, losses_load_drop_share: Value, losses_inverter_drop_share: Value
) -> Value:
    shares = (losses_array_drop_share, losses_battery_drop_share, losses_load_drop_share, losses_inverter_drop_share)
    return sum(~np.isnan(share) for share in shares) * 1.0


@chapter.quantity(
    symbol="ΔV/allowed",
    unit="",
    label="Worst run: drop as a share of what is allowed",
    words="The largest of the runs that are judged.",
    formula=f'IF(runs_drops=0,"",MAX({",".join(DROPPED)}))',
    source=own_rule("the worst decides"),
    optional=DROPPED,
)
def runs_drop_worst(
    runs_drops: Value,
    losses_array_drop_share: Value,
    losses_battery_drop_share: Value,
    losses_load_drop_share: Value,
    losses_inverter_drop_share: Value,
) -> Value:
    controller = np.fmax(losses_array_drop_share, losses_battery_drop_share)
    worst = np.fmax(controller, np.fmax(losses_load_drop_share, losses_inverter_drop_share))
    return np.where(runs_drops == 0, np.nan, worst)


@chapter.check(
    safety=True,
    label="Cables carry their currents",
    words="What each entered run may carry, with the corrections of the profile, not below its highest current.",
    value="runs_carry_worst",
    at_least="whole",
    formula='IF(runs_state="not run","NOT JUDGED",IF(OR(runs_state="unfinished",runs_known<runs_entered),"INCOMPLETE",'
    'IF(ROUND(runs_carry_worst,6)>=ROUND(whole,6),"PASS","FAIL")))',
    source="ampacity",
    optional=("runs_carry_worst",),
    asks=RUNS,
    sentences={
        PASS: "Each entered run carries its highest current at its air temperature and grouping.",
        FAIL: "A run is too thin for its current and would overheat. The sheet Cables names the smallest conductor that does.",
        NOT_JUDGED: "No cable is entered: nobody can say whether one overheats.",
        INCOMPLETE: "A run has a length but no conductor or the other way round, no load, or air too warm for the tables: complete it on "
        "Entries.",
    },
)
def conductors(runs_state: Value, runs_known: Value, runs_entered: Value, runs_carry_worst: Value, whole: Value) -> Value:
    judged = where_pass(round_half_away(runs_carry_worst, 6) >= round_half_away(whole, 6), FAIL)
    unfinished = (runs_state == "unfinished") | (runs_known < runs_entered)
    return np.where(runs_state == "not run", NOT_JUDGED, np.where(unfinished, INCOMPLETE, judged))


@chapter.check(
    label="Voltage drop of the cables",
    words="Drop of each entered run at its usual current, within what is allowed.",
    value="runs_drop_worst",
    at_most="whole",
    formula='IF(runs_state="not run","NOT JUDGED",IF(OR(runs_state="unfinished",runs_known<runs_entered,runs_drop_worst=""),'
    '"INCOMPLETE",IF(ROUND(runs_drop_worst,6)<=ROUND(whole,6),"PASS","NOTE")))',
    source=OHM,
    optional=("runs_drop_worst",),
    asks=RUNS,
    sentences={
        PASS: "Each entered run keeps its allowed drop.",
        NOTE: "A run loses more than its allowed drop: charge or load suffers. The sheet Cables names the conductor that does.",
        NOT_JUDGED: "No cable is entered: the allowed drops are assumed.",
        INCOMPLETE: "A run has a length but no conductor or the other way round, no load, or no allowed drop: complete it on Entries.",
    },
)
def voltage_drop(runs_state: Value, runs_known: Value, runs_entered: Value, runs_drop_worst: Value, whole: Value) -> Value:
    judged = where_pass(round_half_away(runs_drop_worst, 6) <= round_half_away(whole, 6), NOTE)
    unfinished = (runs_state == "unfinished") | (runs_known < runs_entered) | np.isnan(runs_drop_worst)
    return np.where(runs_state == "not run", NOT_JUDGED, np.where(unfinished, INCOMPLETE, judged))
