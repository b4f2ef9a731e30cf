"""The three cable runs: what they must carry, the voltage they lose, and the smallest size that does."""

from typing import Any

import numpy as np

from workbook_builder.declare import FAIL, INCOMPLETE, NOT_APPLICABLE, NOTE, OPTIONAL, PASS, Chapter
from workbook_builder.entries import number_text
from workbook_builder.grids import Grid, Row
from workbook_builder.quantities.verdicts import where_pass
from workbook_builder.sources import cite, common_practice, own_rule
from workbook_builder.tables import round_half_away

chapter = Chapter(
    "cables",
    "Cables",
    "Three runs: array to controller, controller to battery, battery to loads. A run whose length stays blank is not judged; "
    "with a length, its size must be entered as well.",
    sheet="Cables",
)

DROPS = common_practice("usual allowance for voltage drop")
OHM = cite("circuit-laws", "V = I × R, out and back")
# key, words, default drop in per cent, name of the highest current, name of the current for the drop
RUNS = (
    ("array", "array to controller", 3, "array_isc_max", "array_imp"),
    ("battery", "controller to battery", 1, "battery_run_current", "battery_run_current"),
    ("load", "battery to loads", 3, "load_run_current", "load_i_peak"),
)
chapter.constant("metres_per_kilometre", 1000, "m/km", "Metres in a kilometre", "", cite("si"))

chapter.number("run_terminals_t", "°C", 60, 90, "Temperature for which the terminals are marked", blank="=code_terminal_t",
               blank_source=own_rule("unmarked terminals of the profile"), where="marking on breaker, fuse holder, controller")  # fmt: skip
for _key, _words, _drop, _, _ in RUNS:
    _name = f"run_{_key}"
    _where = f"run {_words}"
    chapter.number(f"{_name}_length", "m", 0.2, 150, f"Length one way, {_words}", blank=OPTIONAL,
                   where=f"{_where}; blank: not judged")  # fmt: skip
    chapter.choice(f"{_name}_size", (), f"Conductor, {_words}", blank=OPTIONAL, options_from="conductors_size",
                   where=f"{_where}; needed where a length is entered")  # fmt: skip
    chapter.choice(f"{_name}_material", ("copper",), f"Material, {_words}", blank="copper",
                   blank_source=own_rule("aluminium is not covered"), where="marking on the cable")  # fmt: skip
    chapter.choice(f"{_name}_insulation", (), f"Insulation, {_words}", blank="=insulation_default",
                   options_from="insulations_name", blank_source=own_rule("the lowest class of the profile"),
                   where="marking on the cable")  # fmt: skip
    chapter.number(f"{_name}_grouped", "", 1, 30, f"Current-carrying conductors together, {_words}", whole=True, blank=2,
                   blank_source=own_rule("one circuit by itself"), where="in the same conduit or bundle")  # fmt: skip
    chapter.number(f"{_name}_ambient", "°C", -20, 85, f"Warmest air around the cable, {_words}", blank="=site_t_max",
                   blank_source=common_practice("shaded cable"), where="on a roof in the sun add 33 °C")  # fmt: skip
    chapter.number(f"{_name}_drop_allowed", "%", 0, 10, f"Allowed voltage drop, {_words}", blank=_drop, blank_source=DROPS,
                   where="your design; per cent of the battery's nominal voltage")  # fmt: skip


@chapter.quantity(
    kind="text", unit="", label="Lowest class of insulation of the profile", words="First row of the table.",
    formula='IF(code_terminal_t>0,INDEX(insulations_name,1),"")', source="insulations",
)  # fmt: skip
def insulation_default(code_terminal_t, *, insulations):
    return np.where(code_terminal_t > 0, insulations.column("name").values[0], "")


@chapter.quantity(
    symbol="I,bat", unit="A", label="Highest current between controller and battery",
    words="The controller's rated current times 1.25, for long hours of it.", formula="code_battery_fuse*controller_i_max",
    source="code_battery_fuse",
)  # fmt: skip
def battery_run_current(code_battery_fuse, controller_i_max):
    return code_battery_fuse * controller_i_max


@chapter.quantity(
    symbol="I,load", unit="A", label="Highest current between battery and loads",
    words="The loads' peak current times 1.25, for long hours of it.", formula="code_battery_fuse*load_i_peak",
    source="code_battery_fuse",
)  # fmt: skip
def load_run_current(code_battery_fuse, load_i_peak):
    return code_battery_fuse * load_i_peak


runs = chapter.grid(Grid(
    "runs", "What each run carries and loses", "The code's ampacity with its corrections, and the drop at the usual current.",
    own_rule("each step after the tables of the profile"),
    tuple(
        Row(key, words, {
            "length": f"run_{key}_length", "size": f"run_{key}_size", "insulation": f"run_{key}_insulation",
            "grouped": f"run_{key}_grouped", "ambient": f"run_{key}_ambient", "allowed": f"run_{key}_drop_allowed",
            "highest": highest, "usual": usual,
        })
        for key, words, _, highest, usual in RUNS
    ),
    "Cables",
))  # fmt: skip


@runs.column(kind="text", symbol="state", words="whether the run is judged", named=True, optional=("length", "size"), formula=
             'IF(length="","not run",IF(size="","unfinished","run"))')  # fmt: skip
def state(length, size):
    return np.where(np.isnan(length), "not run", np.where(size == "", "unfinished", "run"))


@runs.column(symbol="run", words="1 if it is judged", named=True, formula='IF(state="run",1,0)')
def is_run(state):
    return (state == "run") * 1.0


@runs.column(symbol="open", words="1 if it is unfinished", named=True, formula='IF(state="unfinished",1,0)')
def is_open(state):
    return (state == "unfinished") * 1.0


@runs.column(symbol="air, up to", unit="°C", words="row of air temperature", formula=
             'IF(ROUND(ambient,9)>MAX(ambient_bands_t_to),"",'
             'INDEX(ambient_bands_t_to,COUNTIF(ambient_bands_t_to,"<"&ROUND(ambient,9))+1))')  # fmt: skip
def band(ambient, *, ambient_bands):
    return ambient_bands.next_up(ambient, "t_to")


@runs.column(symbol="f,air", words="correction for air temperature", named=True, formula=
             'INDEX(ambient_factors_factor,MATCH(ROUND(band,0)&"|"&insulation,ambient_factors_key,0))')  # fmt: skip
def f_air(band, insulation, *, ambient_factors):
    return ambient_factors.exact(_joined(band, insulation), "key", "factor")


@runs.column(symbol="f,group", words="adjustment for conductors together", named=True, formula=
             'IF(ROUND(grouped,9)>MAX(grouping_conductors_to),"",'
             'INDEX(grouping_factor,COUNTIF(grouping_conductors_to,"<"&ROUND(grouped,9))+1))')  # fmt: skip
def f_group(grouped, *, grouping):
    return grouping.next_up(grouped, "conductors_to", "factor")


@runs.column(symbol="I,max", unit="A", words="highest current", formula="highest", named=True)
def i_max(highest):
    return highest


@runs.column(symbol="I,table", unit="A", words="ampacity that the table must show: the larger of two tests", named=True, formula=
             'IF(f_air=0,"",MAX(code_continuous_factor*i_max,i_max/(f_air*f_group)))')  # fmt: skip
def needed(f_air, code_continuous_factor, i_max, f_group):
    corrected = np.divide(i_max, f_air * f_group)
    return np.where(f_air == 0, np.nan, np.maximum(code_continuous_factor * i_max, corrected))


@runs.column(symbol="T,ins", unit="°C", words="rated temperature of the insulation", formula=
             "INDEX(insulations_t_rated,MATCH(insulation,insulations_name,0))")  # fmt: skip
def t_rated(insulation, *, insulations):
    return insulations.exact(insulation, "name", "t_rated")


@runs.column(symbol="T,work", unit="°C", words="as warm as insulation and terminals allow", named=True,
             formula="MIN(run_terminals_t,t_rated)")  # fmt: skip
def t_work(run_terminals_t, t_rated):
    return np.minimum(run_terminals_t, t_rated)


@runs.column(kind="text", symbol="column", words="column of the table that the terminals allow", named=True, formula=
             'IF(ROUND(t_work,9)<MIN(insulations_t_rated),"",'
             "INDEX(insulations_name,MATCH(ROUND(t_work,9),insulations_t_rated,1)))")  # fmt: skip
def terminal_class(t_work, *, insulations):
    return insulations.band(t_work, "t_rated", "name")


@runs.column(symbol="I,ins", unit="A", words="ampacity by the insulation", formula=
             'INDEX(ampacity_amps,MATCH(size&"|"&insulation,ampacity_key,0))')  # fmt: skip
def by_insulation(size, insulation, *, ampacity):
    return ampacity.exact(_joined(size, insulation), "key", "amps")


@runs.column(symbol="I,term", unit="A", words="ampacity by the terminals", formula=
             'INDEX(ampacity_amps,MATCH(size&"|"&terminal_class,ampacity_key,0))')  # fmt: skip
def by_terminals(size, terminal_class, *, ampacity):
    return ampacity.exact(_joined(size, terminal_class), "key", "amps")


@runs.column(symbol="Iz", unit="A", words="current that the run may carry", named=True, formula=
             "MIN(by_insulation*f_air*f_group,by_terminals/code_continuous_factor)")  # fmt: skip
def carries(by_insulation, f_air, f_group, by_terminals, code_continuous_factor):
    return np.minimum(by_insulation * f_air * f_group, by_terminals / code_continuous_factor)


@runs.column(symbol="I,cap", unit="A", words="largest overcurrent device that this conductor allows", named=True, formula=
             "IF(COUNTIF(small_conductors_size,size)=0,by_insulation*f_air*f_group,"
             "INDEX(small_conductors_amps,MATCH(size,small_conductors_size,0)))")  # fmt: skip
def cap(size, by_insulation, f_air, f_group, *, small_conductors):
    small = small_conductors.exact(size, "size", "amps")
    return np.where(np.isnan(small), by_insulation * f_air * f_group, small)


@runs.column(symbol="r", unit="Ω/km", words="resistance of the conductor at working temperature", formula=
             "INDEX(conductors_ohm_km,MATCH(size,conductors_size,0))*(1+code_conductor_alpha*(t_work-code_conductor_t))")  # fmt: skip
def ohm_km(size, code_conductor_alpha, t_work, code_conductor_t, *, conductors):
    cold = conductors.exact(size, "size", "ohm_km")
    return cold * (1 + code_conductor_alpha * (t_work - code_conductor_t))


@runs.column(symbol="R", unit="Ω", words="resistance out and back", named=True,
             formula="2*length*ohm_km/metres_per_kilometre")  # fmt: skip
def resistance(length, ohm_km, metres_per_kilometre):
    return 2 * length * ohm_km / metres_per_kilometre


@runs.column(symbol="ΔV", unit="V", words="drop at the usual current", named=True, formula="usual*resistance")
def drop(usual, resistance):
    return usual * resistance


@runs.column(symbol="ΔV/V", unit="%", words="drop in per cent of nominal", named=True,
             formula="drop/battery_nominal*whole_percent")  # fmt: skip
def percent(drop, battery_nominal, whole_percent):
    return drop / battery_nominal * whole_percent


@runs.column(symbol="Iz/I", words="what it may carry, as a share of what it must", named=True, formula="carries/i_max")
def carry_share(carries, i_max):
    return carries / i_max


@runs.column(symbol="ΔV/allowed", words="drop as a share of what is allowed", named=True, formula=
             'IF(allowed=0,"",percent/allowed)')  # fmt: skip
def drop_share(allowed, percent):
    return np.where(allowed == 0, np.nan, np.divide(percent, allowed))


def _joined(*parts: Any) -> str:
    return "|".join(part if isinstance(part, str) else number_text(round_half_away(part, 0)) for part in parts)


COUNT = 13
sizes = chapter.grid(Grid(
    "sizes", "The smallest conductor that does", "Each size of the profile's table in each run; the first that carries the "
    "highest current and keeps the drop is taken.", own_rule("each step after the tables of the profile"),
    tuple(
        Row(f"{key}{n}", f"{words}, size {n}", {
            "length": f"run_{key}_length", "insulation": f"run_{key}_insulation", "allowed": f"run_{key}_drop_allowed",
            "usual": usual,
        } | {name: f"runs_{key}_{name}" for name in ("f_air", "f_group", "i_max", "t_work", "terminal_class")},
            {"number": float(n)}, start=n == 1, named=n == COUNT)
        for key, words, _, _, usual in RUNS for n in range(1, COUNT + 1)
    ),
    "Cables", single=True, numbers={"number": ("row of the table", "")},
))  # fmt: skip


@sizes.column(kind="text", symbol="size", words="conductor", formula=
              'IF(number>COUNT(conductors_ohm_km),"none",INDEX(conductors_size,number))')  # fmt: skip
def size(number, *, conductors):
    return conductors.row(number, "size") or "none"


@sizes.column(symbol="I,ins", unit="A", words="ampacity by the insulation", formula=
              'IF(size="none","",INDEX(ampacity_amps,MATCH(size&"|"&insulation,ampacity_key,0)))')  # fmt: skip
def insulated(size, insulation, *, ampacity):
    return ampacity.exact(_joined(size, insulation), "key", "amps")


@sizes.column(symbol="I,term", unit="A", words="ampacity by the terminals", formula=
              'IF(size="none","",INDEX(ampacity_amps,MATCH(size&"|"&terminal_class,ampacity_key,0)))')  # fmt: skip
def terminated(size, terminal_class, *, ampacity):
    return ampacity.exact(_joined(size, terminal_class), "key", "amps")


@sizes.column(symbol="Iz", unit="A", words="current that it may carry", formula=
              "MIN(insulated*f_air*f_group,terminated/code_continuous_factor)")  # fmt: skip
def may_carry(insulated, f_air, f_group, terminated, code_continuous_factor):
    return np.minimum(insulated * f_air * f_group, terminated / code_continuous_factor)


@sizes.column(symbol="r", unit="Ω/km", words="resistance at working temperature", formula=
              'IF(size="none","",INDEX(conductors_ohm_km,MATCH(size,conductors_size,0))'
              "*(1+code_conductor_alpha*(t_work-code_conductor_t)))")  # fmt: skip
def per_km(size, code_conductor_alpha, t_work, code_conductor_t, *, conductors):
    return conductors.exact(size, "size", "ohm_km") * (1 + code_conductor_alpha * (t_work - code_conductor_t))


@sizes.column(symbol="ΔV/V", unit="%", words="drop in per cent of nominal", formula=
              "usual*2*length*per_km/metres_per_kilometre/battery_nominal*whole_percent")  # fmt: skip
def loses(usual, length, per_km, metres_per_kilometre, battery_nominal, whole_percent):
    return usual * 2 * length * per_km / metres_per_kilometre / battery_nominal * whole_percent


@sizes.column(kind="flag", symbol="does", words="carries and keeps the drop", optional=("may_carry", "loses"), formula=
              'IF(OR(may_carry="",loses=""),1=0,AND(ROUND(may_carry,6)>=ROUND(i_max,6),ROUND(loses,6)<=ROUND(allowed,6)))')  # fmt: skip
def does(may_carry, loses, i_max, allowed):
    enough = round_half_away(may_carry, 6) >= round_half_away(i_max, 6)
    return enough & (round_half_away(loses, 6) <= round_half_away(allowed, 6))


@sizes.column(kind="text", symbol="smallest", words="smallest that does so far", named=True, formula=
              'IF(previous_smallest<>"none",previous_smallest,IF(does,size,"none"))')  # fmt: skip
def smallest(previous_smallest, does, size):
    return np.where(previous_smallest != "none", previous_smallest, np.where(does == 1, size, "none"))


@sizes.start(formula='IF(does,size,"none")')
def smallest_start(does, size):
    return np.where(does == 1, size, "none")


def _named(label: str, symbol: str, unit: str, name: str, words: str, kind: str = "number") -> dict[str, Any]:
    return {"symbol": symbol, "unit": unit, "label": label, "words": words, "formula": name, "kind": kind,
            "source": own_rule("from the table of runs")}  # fmt: skip


NEEDED, DROP = "Ampacity that the table must show, before correction", "Voltage drop at the usual current"


@chapter.quantity(**_named(f"{NEEDED}: array", "I,table", "A", "runs_array_needed", "The larger of the code's two tests."))
def run_array_ampacity(runs_array_needed):
    return runs_array_needed


@chapter.quantity(**_named(f"{NEEDED}: battery", "I,table", "A", "runs_battery_needed", "The larger of the code's two tests."))
def run_battery_ampacity(runs_battery_needed):
    return runs_battery_needed


@chapter.quantity(**_named(f"{NEEDED}: loads", "I,table", "A", "runs_load_needed", "The larger of the code's two tests."))
def run_load_ampacity(runs_load_needed):
    return runs_load_needed


@chapter.quantity(**_named(f"{DROP}: array", "ΔV", "V", "runs_array_drop", "Resistance out and back, times the current."))
def run_array_drop(runs_array_drop):
    return runs_array_drop


@chapter.quantity(**_named(f"{DROP}: battery", "ΔV", "V", "runs_battery_drop", "Resistance out and back, times the current."))
def run_battery_drop(runs_battery_drop):
    return runs_battery_drop


@chapter.quantity(**_named(f"{DROP}: loads", "ΔV", "V", "runs_load_drop", "Resistance out and back, times the current."))
def run_load_drop(runs_load_drop):
    return runs_load_drop


SMALLEST = "Smallest conductor that does"


@chapter.quantity(**_named(f"{SMALLEST}: array", "", "", "sizes_array13_smallest", "none: no size of the table does.", "text"))
def run_array_smallest(sizes_array13_smallest):
    return sizes_array13_smallest


@chapter.quantity(**_named(f"{SMALLEST}: battery", "", "", "sizes_battery13_smallest", "none: no size does.", "text"))
def run_battery_smallest(sizes_battery13_smallest):
    return sizes_battery13_smallest


@chapter.quantity(**_named(f"{SMALLEST}: loads", "", "", "sizes_load13_smallest", "none: no size does.", "text"))
def run_load_smallest(sizes_load13_smallest):
    return sizes_load13_smallest


@chapter.quantity(
    unit="", label="Runs that are judged", words="Runs with a length and a conductor.",
    formula="runs_array_is_run+runs_battery_is_run+runs_load_is_run", source=own_rule("nothing is passed unseen"),
)  # fmt: skip
def runs_entered(runs_array_is_run, runs_battery_is_run, runs_load_is_run):
    return runs_array_is_run + runs_battery_is_run + runs_load_is_run


@chapter.quantity(
    unit="", label="Runs that are unfinished", words="Runs with a length but no conductor.",
    formula="runs_array_is_open+runs_battery_is_open+runs_load_is_open", source=own_rule("nothing is passed unseen"),
)  # fmt: skip
def runs_open(runs_array_is_open, runs_battery_is_open, runs_load_is_open):
    return runs_array_is_open + runs_battery_is_open + runs_load_is_open


@chapter.quantity(
    kind="text", unit="", label="Whether the cables are judged", words="Any run with a length; each of them needs a conductor.",
    formula='IF(runs_open>0,"unfinished",IF(runs_entered>0,"run","not run"))', source=own_rule("optional part"),
)  # fmt: skip
def runs_state(runs_open, runs_entered):
    return np.where(runs_open > 0, "unfinished", np.where(runs_entered > 0, "run", "not run"))


@chapter.quantity(
    symbol="Iz/I", unit="", label="Worst run: current it may carry, as a share of what it must",
    words="The smallest of the runs that are judged.",
    formula='IF(COUNT(runs_array_carry_share,runs_battery_carry_share,runs_load_carry_share)=0,"",'
    "MIN(runs_array_carry_share,runs_battery_carry_share,runs_load_carry_share))",
    source=own_rule("the worst decides"),
    optional=("runs_array_carry_share", "runs_battery_carry_share", "runs_load_carry_share"),
)  # fmt: skip
def runs_carry_worst(runs_array_carry_share, runs_battery_carry_share, runs_load_carry_share):
    return np.fmin(np.fmin(runs_array_carry_share, runs_battery_carry_share), runs_load_carry_share)


@chapter.quantity(
    symbol="ΔV/allowed", unit="", label="Worst run: drop as a share of what is allowed",
    words="The largest of the runs that are judged.",
    formula='IF(COUNT(runs_array_drop_share,runs_battery_drop_share,runs_load_drop_share)=0,"",'
    "MAX(runs_array_drop_share,runs_battery_drop_share,runs_load_drop_share))",
    source=own_rule("the worst decides"),
    optional=("runs_array_drop_share", "runs_battery_drop_share", "runs_load_drop_share"),
)  # fmt: skip
def runs_drop_worst(runs_array_drop_share, runs_battery_drop_share, runs_load_drop_share):
    return np.fmax(np.fmax(runs_array_drop_share, runs_battery_drop_share), runs_load_drop_share)


@chapter.quantity(
    unit="", label="Runs whose figures are complete", words="Runs for which a share could be computed.",
    formula="COUNT(runs_array_carry_share,runs_battery_carry_share,runs_load_carry_share)",
    source=own_rule("nothing is passed unseen"),
    optional=("runs_array_carry_share", "runs_battery_carry_share", "runs_load_carry_share"),
)  # fmt: skip
def runs_known(runs_array_carry_share, runs_battery_carry_share, runs_load_carry_share):
    known = [~np.isnan(share) for share in (runs_array_carry_share, runs_battery_carry_share, runs_load_carry_share)]
    return sum(known) * 1.0


chapter.constant("whole", 1, "", "The whole, as a share", "1", cite("si"))


@chapter.check(
    safety=True, label="Cables carry their currents",
    words="What each entered run may carry, with the corrections of the profile, not below its highest current.",
    value="runs_carry_worst", at_least="whole",
    formula='IF(runs_state="not run","N/A",IF(OR(runs_state="unfinished",runs_known<runs_entered),"INCOMPLETE",'
    'IF(ROUND(runs_carry_worst,6)>=ROUND(whole,6),"PASS","FAIL")))',
    source="ampacity", optional=("runs_carry_worst",),
    sentences={
        PASS: "Each entered run carries its highest current at its air temperature and grouping.",
        FAIL: "A run is too thin for its current and would overheat. The sheet Cables names the smallest conductor that does.",
        NOT_APPLICABLE: "No run was entered: the cables are not judged here.",
        INCOMPLETE: "A run has a length but no conductor, no load, or air too warm for the tables: complete it on Entries.",
    },
)  # fmt: skip
def conductors(runs_state, runs_known, runs_entered, runs_carry_worst, whole):
    judged = where_pass(round_half_away(runs_carry_worst, 6) >= round_half_away(whole, 6), FAIL)
    unfinished = (runs_state == "unfinished") | (runs_known < runs_entered)
    return np.where(runs_state == "not run", NOT_APPLICABLE, np.where(unfinished, INCOMPLETE, judged))


@chapter.check(
    label="Voltage drop of the cables", words="Drop of each entered run at its usual current, within what is allowed.",
    value="runs_drop_worst", at_most="whole",
    formula='IF(runs_state="not run","N/A",IF(OR(runs_state="unfinished",runs_known<runs_entered,runs_drop_worst=""),'
    '"INCOMPLETE",IF(ROUND(runs_drop_worst,6)<=ROUND(whole,6),"PASS","NOTE")))',
    source=OHM, optional=("runs_drop_worst",),
    sentences={
        PASS: "Each entered run keeps its allowed drop.",
        NOTE: "A run loses more than its allowed drop: charge or load suffers. The sheet Cables names the conductor that does.",
        NOT_APPLICABLE: "No run was entered: the allowed drops are assumed.",
        INCOMPLETE: "A run has a length but no conductor, no load, or no allowed drop: complete it on Entries.",
    },
)  # fmt: skip
def voltage_drop(runs_state, runs_known, runs_entered, runs_drop_worst, whole):
    judged = where_pass(round_half_away(runs_drop_worst, 6) <= round_half_away(whole, 6), NOTE)
    unfinished = (runs_state == "unfinished") | (runs_known < runs_entered) | np.isnan(runs_drop_worst)
    return np.where(runs_state == "not run", NOT_APPLICABLE, np.where(unfinished, INCOMPLETE, judged))
