"""An installed system, sound or faulty, as pvlib's single diode and a sampled switching wave make it; and what meters show.

Nothing of the workbook is used: currents come from the open set's own six parameters, a meter's reading from the samples
of the wave.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import pandas
from scipy.optimize import brentq

from tests.catalogue import diode_current, of_cells, sheet_of
from tests.engines import Formula
from tests.support import example, whole_example

SAMPLES = 10_000
ROWS = 10


@cache
def record(cells: int = 36, isc: float = 8.3) -> pandas.DataFrame:
    """The record of the open set whose short-circuit current comes nearest, as a table of one row."""
    modules = of_cells(cells)
    return modules.iloc[[int((modules["I_sc_ref"] - isc).abs().argmin())]].reset_index(drop=True)


@dataclass(frozen=True)
class Roof:
    """What is really there on the day. Resistances in ohms; ``suns`` is each string's share of the irradiance."""

    sun: float = 900.0
    t_cell: float = 50.0
    series: int = 2
    suns: tuple[float, ...] = (1.0, 1.0, 1.0)
    battery: float = 26.0
    r_array: float = 0.01
    r_battery: float = 0.005
    switch_drop: float = 0.2
    cells: int = 36

    def current(self, volts: float) -> float:
        """The array's current at its own terminals."""
        return float(self._currents(np.array([volts]))[0])

    def _currents(self, volts: np.ndarray) -> np.ndarray:
        modules = record(self.cells).iloc[[0] * len(volts)]
        each = [
            diode_current(modules, np.maximum(0.0, volts) / self.series, self.sun * share, self.t_cell) * self.suns.count(share)
            for share in set(self.suns)
        ]
        return np.asarray(np.sum(each, axis=0))

    @cache  # noqa: B019 - a few hundred small values live as long as the tests
    def open_volts(self) -> float:
        """The array's open-circuit voltage."""
        return float(brentq(lambda v: self.current(v) - 1e-9, 0.0, 60.0 * self.series, xtol=1e-6))

    @cache  # noqa: B019
    def closed(self) -> tuple[float, float]:
        """PV volts at the controller, and amps, with the switch of a PWM controller closed."""

        def misfit(amps: float) -> float:
            at_controller = self.battery + self.switch_drop + amps * self.r_battery
            return self.current(at_controller + amps * self.r_array) - amps

        most = self.current(0.0)
        amps = float(brentq(misfit, 0.0, most + 1e-9, xtol=1e-6)) if misfit(0.0) > 0 else 0.0
        # without a current the switch's diode lets the array stand at its own volts
        volts = self.battery + self.switch_drop + amps * self.r_battery if amps > 0 else self.open_volts()
        return volts, amps

    def peak(self) -> tuple[float, float]:
        """PV volts at the controller, and amps, with the array at maximum power."""
        volts = np.linspace(self.open_volts() / 2, self.open_volts(), 400)
        amps = self._currents(volts)
        best = int(np.argmax(volts * amps))
        return float(volts[best] - amps[best] * self.r_array), float(amps[best])


def wave(roof: Roof, duty: float) -> tuple[np.ndarray, np.ndarray]:
    """One period of the volts and amps at a PWM controller's input, sampled."""
    volts, amps = roof.closed()
    on = np.arange(SAMPLES) < round(duty * SAMPLES)
    return np.where(on, volts, roof.open_volts()), np.where(on, amps, 0.0)


def shown(samples: np.ndarray, meter: str) -> float:
    """What a meter of that kind makes of a sampled wave."""
    return float(np.sqrt(np.mean(samples**2)) if meter == "true RMS" else np.mean(samples))


NO_STRINGS = {f"string{n}_{what}": None for n in range(1, ROWS + 1) for what in ("voc", "isc")}
UNREAD = ("reading_v_pv", "reading_i_pv", "reading_sky", "reading_t_air", "reading_t_battery", "reading_mode", "reading_meter")
BARE = dict.fromkeys(UNREAD) | NO_STRINGS


def design(roof: Roof, **changes: Any) -> dict[str, Any]:
    """The design as it was meant to be: the same module, two in series, three strings, a 24 V bank."""
    meant = (
        sheet_of(record().iloc[0])
        | BARE
        | {
            "array_series": 2,
            "array_parallel": 3,
            "controller_type": "PWM",
            "controller_v_drop": 0.2,
            "battery_chemistry": "flooded",
            "controller_tempcomp": "no",
            "reading_g": roof.sun,
            "reading_t_module": roof.t_cell - 3 * roof.sun / 1000,
            "reading_v_battery": roof.battery,
            "reading_g_uncertainty": None,
            "reading_t_uncertainty": None,
            "reading_v_uncertainty": None,
            "reading_i_uncertainty": None,
        }
    )
    return example(**meant | changes)


def readings(roof: Roof, duty: float = 1.0, meter: str = "averaging", **changes: Any) -> dict[str, Any]:
    """The design with what the meters of that kind show under a PWM controller."""
    volts, amps = wave(roof, duty)
    read = {"reading_v_pv": shown(volts, meter), "reading_i_pv": shown(amps, meter), "reading_meter": meter}
    return design(roof, **read | changes)


def faulty(roof: Roof, **changes: Any) -> Roof:
    return replace(roof, **changes)


def holding(roof: Roof, set_point: float) -> Roof:
    """The roof whose controller holds that voltage at its own terminals: the battery's are lower by the drop of its cable."""
    amps = faulty(roof, battery=set_point).closed()[1]
    return faulty(roof, battery=set_point - roof.r_battery * amps)


def stacked(cases: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Many designs as one, with an array for each input in which they differ; what one of them lacks is blank in it."""
    found: dict[str, Any] = {}
    for name in {name: None for case in cases for name in case}:
        values = [case.get(name) for case in cases]
        texts = any(isinstance(value, str) for value in values)
        nothing: Any = "" if texts else np.nan
        same = all(value == values[0] for value in values)
        filled = [nothing if value is None else value for value in values]
        found[name] = values[0] if same else np.array(filled, dtype=object if texts else float)
    return found


DAY = Roof()
FULL = faulty(DAY, battery=28.4)


def found_on_the_day() -> dict[str, dict[str, Any]]:
    """For each finding a system that leads to it, as its readings in the design: what the fault is called, and what was done."""
    return {
        "bulk": readings(DAY),
        "full": readings(FULL, 0.6),
        "neither": readings(holding(DAY, 28.8 - 0.6), 0.6),
        "weak": readings(faulty(FULL, suns=(1.0, 1.0)), 0.6),
        "early": readings(DAY, 0.5),
        "idle": readings(DAY, 0.0),
        "missing": readings(faulty(DAY, suns=(1.0, 1.0))),
        "shade": readings(faulty(DAY, suns=(1.0, 1.0, 0.5))),
        "strong": readings(faulty(DAY, sun=1150.0), reading_g=900),
        "drop": readings(faulty(DAY, r_battery=0.15)),
        "class": readings(faulty(DAY, series=1)),
        "open": design(DAY, reading_v_pv=0.1, reading_i_pv=0.0),
        "reversed": design(DAY, reading_v_pv=-38.0, reading_i_pv=0.0),
        "backward": design(DAY, reading_v_pv=26.2, reading_i_pv=-2.0),
        "none": design(DAY, reading_v_pv=36.0, reading_i_pv=20.0),
        "several": readings(faulty(DAY, suns=(1.0, 1.0)), reading_g=None, reading_sky="full sun"),
        "dark": readings(faulty(DAY, sun=150.0)),
        "waiting": design(DAY),
    }


def at_the_peak(roof: Roof, **changes: Any) -> dict[str, Any]:
    volts, amps = roof.peak()
    return design(roof, controller_type="MPPT", reading_v_pv=volts, reading_i_pv=amps, **changes)


def beside_the_peak(roof: Roof) -> dict[str, Any]:
    volts = (roof.peak()[0] + 2 * roof.open_volts()) / 3
    return design(roof, controller_type="MPPT", reading_v_pv=volts, reading_i_pv=roof.current(volts))


def compensated(inputs: Mapping[str, Any], **changes: Any) -> dict[str, Any]:
    """The same design with a controller that compensates: flooded, -4 mV/K of a cell, so -48 mV/K of a bank of 24 V."""
    return {**inputs, "controller_tempcomp": "yes", "battery_tempco": -4.0, **changes}


STRINGS = {
    "string1_voc": 40.5,
    "string1_isc": 7.4,
    "string2_voc": -40.0,
    "string2_isc": 3.0,
    "string3_voc": 0.2,
    "string3_isc": 12.0,
    "string4_voc": 50.0,
    "string5_voc": "x",
    "string5_isc": -8.0,
}
SIGNED = {f"item{n}_{what}": value for n in range(62, 73) for what, value in (("done", "done"), ("by", "X. Y."), ("date", "1 May"))}


def every_case() -> dict[str, dict[str, Any]]:
    """Every finding, some with strings and tests; each thing that a controller may say; MPPT; one string; junk."""
    found, off = found_on_the_day(), {"reading_mode": "off or fault"}
    more: dict[str, dict[str, Any]] = {
        "bulk": STRINGS,
        "dark": STRINGS,
        "full": SIGNED | {"reading_insulation": 2.5},
        "weak": SIGNED | {"reading_insulation": 0.4},
        "early": {"string1_voc": 30.0, "string1_isc": 8.0},
        "idle": {"item62_done": "not done", "item63_done": "does not apply"},
        "shade": {"string1_voc": 40.0, "string1_isc": 7.4, "string2_isc": 3.0},
        "class": SIGNED | {"item70_by": None, "item62_done": "not done"},
    }
    return {finding: inputs | more.get(finding, {}) for finding, inputs in found.items()} | {
        "the example": whole_example(),
        "nothing": {},
        "MPPT": at_the_peak(DAY),
        "MPPT limiting": beside_the_peak(FULL),
        "MPPT, shade": at_the_peak(faulty(DAY, suns=(0.8, 0.8, 0.8))),
        "MPPT, weak": beside_the_peak(faulty(FULL, suns=(1.0, 1.0))),
        "true RMS": readings(FULL, 0.4, "true RMS", reading_t_module=None, reading_t_air=20),
        "one string": example(array_parallel=1),
        "cannot charge": design(DAY, array_series=1, reading_v_pv=20.0, reading_i_pv=0.0),
        "bulk, said to be off": found["bulk"] | off,
        "full, said to be off": found["full"] | off,
        "weak, said to be off": found["weak"] | off,
        "early, said to be off": found["early"] | off,
        "full, said to be bulk": found["full"] | {"reading_mode": "bulk"},
        "full and off": readings(FULL, 0.0) | off,
        "drop, said to regulate": found["drop"] | {"reading_mode": "absorption or float"},
        "two explanations": design(DAY, reading_v_pv=26.0, reading_i_pv=0.0),
        "two others": readings(FULL, 0.9),
        "all reversed": design(DAY, reading_v_pv=-38.0, reading_i_pv=-2.0),
        "compensated, cold": compensated(readings(holding(DAY, 28.8 + 0.96), 0.6), reading_t_battery=5),
        "compensated by the air": compensated(readings(holding(DAY, 27.4 - 0.48), 0.3), reading_t_air=35),
        "compensated, not read": compensated(found["full"]),
        "near to both": found["full"] | {"battery_v_absorb": 28.6, "battery_v_float": 28.2},
        "too high": readings(holding(DAY, 30.0)),
        "MPPT, too low": beside_the_peak(holding(DAY, 28.0)),
        "battery as text": found["full"] | {"reading_t_battery": "cold"},
        "an error": found["full"] | {"reading_v_pv": Formula("=1/0")},
        "a text": found["full"] | {"reading_meter": "floating"},
    }
