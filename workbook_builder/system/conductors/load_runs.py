"""The currents of the runs to direct loads and inverter, and whether these runs apply."""

import numpy as np

from workbook_builder.language.declare import Part
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import own_rule
from workbook_builder.language.values import Value

chapter = Part("cables", continues=True)
APPLIES = own_rule("a run without a load is no run")


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
    words="0 where loads are entered and none of them is for this run.",
    formula='IF(AND(loads_state="run",direct_loads_state="not run"),0,1)',
    source=APPLIES,
)
def load_run_counts(loads_state: Value, direct_loads_state: Value) -> Value:
    return np.where((loads_state == "run") & (direct_loads_state == "not run"), 0.0, 1.0)


@chapter.quantity(
    unit="",
    label="Whether a run to direct loads is missed while it is not entered",
    words="1 where a load for this run is entered.",
    formula='IF(direct_loads_state="not run",0,1)',
    source=APPLIES,
)
def load_run_wanted(direct_loads_state: Value) -> Value:
    return np.where(direct_loads_state == "not run", 0.0, 1.0)


chapter.repeat(
    Repeat(
        "inverter",
        "Inverter",
        ("load_run_counts", "load_run_wanted"),
        {"direct_loads_state": "inverter_state"},
        {"load_run_counts": "inverter_run_counts", "load_run_wanted": "inverter_run_wanted"},
        {
            "load_run_counts": "Whether an entered run to an inverter counts",
            "load_run_wanted": "Whether a run to an inverter is missed while it is not entered",
        },
    )
)
