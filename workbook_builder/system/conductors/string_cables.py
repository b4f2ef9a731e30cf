"""String cables: the current of a string, what a fault drives through its cable, and whether the cable withstands it."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.grids import Grid, Row
from workbook_builder.language.sources import cite, common_practice, own_rule
from workbook_builder.language.tables import Table, round_half_away
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, NOT_APPLICABLE, NOT_JUDGED, PASS, where_pass
from workbook_builder.system.conductors.runs import joined
from workbook_builder.system.conductors.size_ladder import ampacity_columns, smallest_column

chapter = Part(
    "wiring",
    "Beside the runs",
    "String cables carry one string, and in a fault what the other strings, the battery or the fuse let through. The smallest "
    "string cable is worked out for outdoor cable while the run of the strings is not entered.",
    sheet="Cables",
)

STRONG = common_practice("thinner conductors break outdoors")
chapter.constant("string_area_least", 2, "mm²", "Smallest cross-section of string cables", "", STRONG)


@chapter.quantity(
    symbol="T,roof",
    unit="°C",
    label="Warmest air around string cables",
    words="With the heat of the sun at the place of the run.",
    formula="runs_string_air",
    source="roof_heat",
)
def string_ambient(runs_string_air: Value) -> Value:
    return runs_string_air


@chapter.quantity(
    kind="text",
    unit="",
    label="Insulation of string cables",
    words="As entered with the run; the best of the profile while the run is not entered.",
    formula='IF(runs_string_state="run",run_string_insulation,INDEX(insulations_name,COUNT(insulations_t_rated)))',
    source="insulations",
)
def string_insulation(runs_string_state: Value, run_string_insulation: Value, *, insulations: Table) -> Value:
    return np.where(runs_string_state == "run", run_string_insulation, insulations.column("name").values[-1])


@chapter.quantity(
    symbol="",
    unit="°C",
    label="Row of that air temperature",
    words="The next warmer row of the profile.",
    formula='IF(ROUND(string_ambient,9)>MAX(ambient_bands_t_to),"",'
    'INDEX(ambient_bands_t_to,COUNTIF(ambient_bands_t_to,"<"&ROUND(string_ambient,9))+1))',
    source="ambient_bands",
)
def string_band(string_ambient: Value, *, ambient_bands: Table) -> Value:
    return ambient_bands.next_up(string_ambient, "t_to")


@chapter.quantity(
    symbol="f,air",
    unit="",
    label="Correction of string cables for that air",
    words="Row of air temperature and insulation.",
    formula='INDEX(ambient_factors_factor,MATCH(ROUND(string_band,0)&"|"&string_insulation,ambient_factors_key,0))',
    source="ambient_factors",
)
def string_f_air(string_band: Value, string_insulation: Value, *, ambient_factors: Table) -> Value:
    return ambient_factors.exact(joined(string_band, string_insulation), "key", "factor")


@chapter.quantity(
    symbol="I,str",
    unit="A",
    label="Highest current of one string",
    words="Its short-circuit current times the code's factor.",
    formula="code_current_factor*string_isc",
    source="code_current_factor",
)
def string_cable_i(code_current_factor: Value, string_isc: Value) -> Value:
    return code_current_factor * string_isc


@chapter.quantity(
    symbol="I,dev",
    unit="A",
    label="Part of the device on the PV input that counts for string cables without a fuse",
    words="The code's share of its rating; where no device is entered, that of the battery fuse.",
    optional=("controller_ocp",),
    formula='code_string_device*IF(controller_ocp="",battery_fuse_judged,controller_ocp)',
    source="code_string_device",
)
def string_device_i(controller_ocp: Value, code_string_device: Value, battery_fuse_judged: Value) -> Value:
    return code_string_device * np.where(np.isnan(controller_ocp), battery_fuse_judged, controller_ocp)


@chapter.quantity(
    symbol="I,fault",
    unit="A",
    label="Current that a string cable must carry in a fault",
    words="The string fuse; without fuses what the other strings drive back, and what the device on the PV input lets through.",
    formula='IF(check_string_fuse="N/A",(array_parallel-1)*string_cable_i+string_device_i,string_fuse_judged)',
    source="code_string_device",
    optional=("string_fuse_judged",),
)
def string_cable_fault(
    check_string_fuse: Value, array_parallel: Value, string_cable_i: Value, string_device_i: Value, string_fuse_judged: Value
) -> Value:
    others = (array_parallel - 1) * string_cable_i + string_device_i
    return np.where(check_string_fuse == NOT_APPLICABLE, others, string_fuse_judged)


@chapter.quantity(
    symbol="I,ins",
    unit="A",
    label="Ampacity that the table must show for the insulation",
    words="Current or fault, by the corrections.",
    formula='IF(string_f_air=0,"",MAX(string_cable_i,string_cable_fault)/(string_f_air*runs_string_f_group*run_string_soil))',
    source="ampacity",
)
def string_by_insulation(
    string_f_air: Value, string_cable_i: Value, string_cable_fault: Value, runs_string_f_group: Value, run_string_soil: Value
) -> Value:
    corrections = string_f_air * runs_string_f_group * run_string_soil
    corrected = np.divide(np.maximum(string_cable_i, string_cable_fault), corrections)
    return np.where(string_f_air == 0, np.nan, corrected)


@chapter.quantity(
    symbol="I,term",
    unit="A",
    label="Ampacity that the table must show for the terminals",
    words="Long hours of the current, or fault.",
    formula="MAX(code_continuous_factor*string_cable_i,string_cable_fault)",
    source="ampacity",
)
def string_by_terminals(code_continuous_factor: Value, string_cable_i: Value, string_cable_fault: Value) -> Value:
    return np.maximum(code_continuous_factor * string_cable_i, string_cable_fault)


COUNT = 6
string_sizes = chapter.grid(
    Grid(
        "string_sizes",
        "The smallest string cable that does",
        "The first sizes of the profile; connectors take no thicker ones.",
        "conductor_ampacity",
        tuple(
            Row(
                f"n{n}",
                f"size {n}",
                {"insulation": "string_insulation", "terminal_class": "runs_string_terminal_class"},
                numbers={"number": float(n)},
                start=n == 1,
                named=n == COUNT,
            )
            for n in range(1, COUNT + 1)
        ),
        "Cables",
        single=True,
        numbers={"number": ("row of the table", "")},
    )
)


@string_sizes.column(
    kind="text",
    symbol="size",
    words="conductor, none if too thin for outdoors",
    formula='IF(number>COUNT(conductors_area),"none",'
    'IF(INDEX(conductors_area,number)<string_area_least,"none",INDEX(conductors_size,number)))',
)
def size(number: Value, string_area_least: Value, *, conductors: Table) -> Value:
    area = conductors.row(number, "area")
    return np.where(area >= string_area_least, conductors.row(number, "size"), "none")


ampacity_columns(string_sizes)


@string_sizes.column(
    symbol="I,cap",
    unit="A",
    words="the same, not above the largest device of small conductors",
    formula="IF(COUNTIF(small_conductors_size,size)=0,terminated,"
    "MIN(terminated,INDEX(small_conductors_amps,MATCH(size,small_conductors_size,0))))",
)
def capped(size: Value, terminated: Value, *, small_conductors: Table) -> Value:
    small = small_conductors.exact(size, "size", "amps")
    return np.where(np.isnan(small), terminated, np.minimum(terminated, small))


@string_sizes.column(
    kind="flag",
    symbol="does",
    words="carries current and fault",
    optional=("insulated", "capped"),
    formula='IF(OR(insulated="",capped=""),FALSE,AND(ROUND(insulated,6)>=ROUND(string_by_insulation,6),'
    "ROUND(capped,6)>=ROUND(string_by_terminals,6)))",
)
def does(insulated: Value, capped: Value, string_by_insulation: Value, string_by_terminals: Value) -> Value:
    enough = round_half_away(insulated, 6) >= round_half_away(string_by_insulation, 6)
    return enough & (round_half_away(capped, 6) >= round_half_away(string_by_terminals, 6))


smallest_column(string_sizes)


@chapter.quantity(
    kind="text",
    unit="",
    label="Smallest string cable that does",
    words="None does where the device lets too much through, or the roof is too hot.",
    formula='IF(string_sizes_n6_smallest="none","none: fuse strings",string_sizes_n6_smallest)',
    source=own_rule("from the table of string cables"),
)
def string_cable_size(string_sizes_n6_smallest: Value) -> Value:
    return np.where(string_sizes_n6_smallest == "none", "none: fuse strings", string_sizes_n6_smallest)


@chapter.quantity(
    symbol="R,str",
    unit="Ω",
    label="Resistance of the string cables, all strings together",
    words="That of one string divided by the strings in parallel.",
    formula="losses_string_resistance/array_parallel",
    source=cite("circuit-laws", "equal resistances in parallel"),
)
def strings_resistance(losses_string_resistance: Value, array_parallel: Value) -> Value:
    return losses_string_resistance / array_parallel


@chapter.quantity(
    kind="text",
    unit="",
    label="String cable against the current of a fault",
    words="Whether the entered cable allows it.",
    formula='IF(runs_string_state="not run","not run",IF(OR(runs_string_cap="",string_cable_fault=""),"unfinished",'
    'IF(ROUND(string_cable_fault,6)<=ROUND(runs_string_cap,6),"within","above")))',
    source="small_conductors",
    optional=("runs_string_cap", "string_cable_fault"),
)
def string_cable_state(runs_string_state: Value, runs_string_cap: Value, string_cable_fault: Value) -> Value:
    within = np.where(round_half_away(string_cable_fault, 6) <= round_half_away(runs_string_cap, 6), "within", "above")
    unknown = np.isnan(runs_string_cap) | np.isnan(string_cable_fault)
    return np.where(runs_string_state == "not run", "not run", np.where(unknown, "unfinished", within))


@chapter.check(
    name="string_cable",
    safety=True,
    label="String cable in a fault",
    words="The string fuse, or what other sources drive back where there is none, not above what the string cable allows.",
    value="string_cable_fault",
    at_most="runs_string_cap",
    formula='IF(OR(check_string_fuse="NOT JUDGED",string_cable_state="not run"),"NOT JUDGED",'
    'IF(OR(check_string_fuse="INCOMPLETE",string_cable_state="unfinished"),"INCOMPLETE",IF(string_cable_state="within","PASS","FAIL")))',
    source="small_conductors",
    asks=("run_string_length", "run_string_size", "controller_backfeed", "string_device", "module_max_fuse"),
    sentences={
        PASS: "The string cable withstands the current that its fuse or the other sources let through.",
        FAIL: "In a fault the string cable carries more current than it withstands. It overheats, and its insulation can burn. Choose a "
        "larger conductor size, or a string fuse of a lower rating.",
        NOT_JUDGED: "Nobody can say whether the string cable withstands the current of a fault.",
        INCOMPLETE: "The string cable or its fuse is not settled. Complete the run of the strings and the string fuses on Entries.",
    },
)
def string_cable_check(check_string_fuse: Value, string_cable_state: Value) -> Value:
    open_ = (check_string_fuse == INCOMPLETE) | (string_cable_state == "unfinished")
    judged = np.where(open_, INCOMPLETE, where_pass(string_cable_state == "within", FAIL))
    return np.where((check_string_fuse == NOT_JUDGED) | (string_cable_state == "not run"), NOT_JUDGED, judged)
