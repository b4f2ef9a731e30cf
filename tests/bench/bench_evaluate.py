"""The reference over many modules at once: verdicts and what they rest on, and the curve alone, each in a fresh process."""

from __future__ import annotations

import resource
import subprocess
import sys

import numpy as np

from tests.bench import Measure, report, seconds

JUDGED, CURVES = 100_000, 21_000
JUDGED_S, JUDGED_MB, CURVES_S, CURVES_MB = 5.0, 300.0, 3.0, 1000.0
WANTED = ("verdict", "verdict_match", "array_voc_cold", "check_cold_voltage", "pwm_p_absorb_hot")
MEGABYTE = 1024  # ru_maxrss is in kilobytes on Linux


def many(number: int) -> dict[str, object]:
    """Invented modules in a small spread about the example, one in series and three in parallel."""
    from tests.support import example  # noqa: PLC0415 - the child processes must not hold what they do not measure

    spread = np.random.default_rng(5).uniform(0.97, 1.03, (4, number))
    figures = {"module_voc": 22.5, "module_isc": 9.2, "module_vmp": 18.3, "module_imp": 8.6}
    arrays = {name: value * spread[row] for row, (name, value) in enumerate(figures.items())}
    return example() | {"module_pmp": arrays["module_vmp"] * arrays["module_imp"]} | arrays


def judge() -> None:
    from workbook_builder import evaluate  # noqa: PLC0415

    inputs = many(JUDGED)
    print(seconds(lambda: evaluate(inputs, names=WANTED)), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MEGABYTE)


def curves() -> None:
    """The five values, four conditions, their peaks and twenty operating points: the chapters that hold the curve."""
    from tests.support import evaluation  # noqa: PLC0415

    inputs = many(CURVES)
    accepted = np.asarray(evaluation().all_values(inputs)["curve_ok"])
    if accepted.mean() < 0.5:
        raise SystemExit("bench: fewer than half of the invented modules make a curve")
    print(seconds(lambda: evaluation().all_values(inputs)), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MEGABYTE)


def child(part: str) -> tuple[float, float]:
    command = [sys.executable, "-m", "tests.bench.bench_evaluate", part]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    time, memory = done.stdout.split()
    return float(time), float(memory)


def main() -> int:
    judged_s, judged_mb = child("judge")
    curves_s, curves_mb = child("curves")
    return report(
        [
            Measure(f"judging {JUDGED} modules", judged_s, JUDGED_S, "s"),
            Measure(f"peak memory with {JUDGED} modules", judged_mb, JUDGED_MB, "MB"),
            Measure(f"everything with the curve of {CURVES} modules", curves_s, CURVES_S, "s"),
            Measure(f"peak memory with the curve of {CURVES} modules", curves_mb, CURVES_MB, "MB"),
        ]
    )


if __name__ == "__main__":
    parts = {"judge": judge, "curves": curves}
    if sys.argv[-1] in parts:
        parts[sys.argv[-1]]()
        sys.exit(0)
    sys.exit(main())
