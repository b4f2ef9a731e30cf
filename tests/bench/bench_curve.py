"""How near the curve from the data sheet is to pvlib's single diode with the open set's own parameters."""

from __future__ import annotations

import sys

import numpy as np

from tests.bench import Measure, report
from tests.catalogue import NOMINAL, Curve, design_of, diode_current, diode_peak, of_cells

ABSORB = 14.4
TEMPERATURES = (25.0, 40.0, 55.0, 60.0, 70.0)
IRRADIANCES = ((1000.0, -10.0), (1000.0, 45.0), (800.0, 45.0), (500.0, 40.0), (200.0, 30.0))
AIM = {36: 2.0, 72: 2.0, 60: 6.0}
PEAK_AIM = 0.5
WORST = 5


def why(row: int, cells: int, t_cell: float) -> str:
    """What is peculiar about a module: how far its battery lies behind the knee, and how far the set bent its α and β."""
    one = of_cells(cells).iloc[row]
    behind = ABSORB * NOMINAL[cells] / 12 / (one["V_mp_ref"] * (1 + one["gamma_r"] / 100 * (t_cell - 25)))
    return (
        f"battery at {behind:.2f} of hot Vmp, set's adjustment of α and β {one['Adjust']:.0f} %, "
        f"α {one['alpha_sc'] / one['I_sc_ref'] * 100:.3f} %/K, γ {one['gamma_r']:.2f} %/K, "
        f"set's own Isc {one['I_L_ref'] / (1 + one['R_s'] / one['R_sh_ref']) / one['I_sc_ref'] - 1:+.1%} of its sheet's"
    )


def main() -> int:
    measures = []
    print("current at 14.4 V for each 12 V of battery and 1000 W/m², error in % of Isc: percentiles")
    print("cells   °C      5th     50th     95th   |95th|     worst")
    for cells in (36, 72, 60):
        modules, v = of_cells(cells), ABSORB * NOMINAL[cells] / 12
        conditions = tuple((1000.0, t) for t in TEMPERATURES) + IRRADIANCES
        curve = Curve(design_of(modules), conditions, (v,))
        for t_cell in TEMPERATURES:
            at = (1000.0, t_cell)
            errors = (curve.current(at, v) - diode_current(modules, v, *at)) / modules["I_sc_ref"].to_numpy() * 100
            spread, high = np.percentile(errors, [5, 50, 95]), np.percentile(np.abs(errors), 95)
            print(f"{cells:5} {t_cell:4.0f} " + " ".join(f"{x:8.2f}" for x in (*spread, high, errors[np.abs(errors).argmax()])))
            measures.append(Measure(f"current, {cells} cells, {t_cell:.0f} °C, |95th|", float(high), AIM[cells], "% of Isc"))
            if t_cell == TEMPERATURES[-1]:
                for row in np.argsort(-np.abs(errors))[:WORST]:
                    print(f"      worst at {t_cell:.0f} °C: {errors[row]:+6.2f} %: {why(int(row), cells, t_cell)}")
        rated = (modules["V_mp_ref"] * modules["I_mp_ref"]).to_numpy()
        for sun, t_cell in IRRADIANCES:
            errors = (curve.peak((sun, t_cell)) - diode_peak(modules, sun, t_cell)) / rated / sun * 1e5
            high = float(np.percentile(np.abs(errors), 95))
            name = f"peak power, {cells} cells, {sun:.0f} W/m², {t_cell:.0f} °C, |95th|"
            measures.append(Measure(name, high, PEAK_AIM, "% of rated power"))
    return report(measures)


if __name__ == "__main__":
    sys.exit(main())
