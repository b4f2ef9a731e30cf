"""Measurements of speed, size and accuracy, apart from the tests: each is a share of its limit, taken in one run.

Run one by ``python -m tests.bench.bench_build``; it prints one line for each measure and ends with status 1 if one is over
its limit.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple


class Measure(NamedTuple):
    """What was measured, the figure, its limit and their unit."""

    name: str
    figure: float
    limit: float
    unit: str


def seconds(work: Callable[[], object], runs: int = 5) -> float:
    """The median time of several runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def report(measures: Sequence[Measure]) -> int:
    """Print each measure as a share of its limit; 1 if one is over it, or is no number."""
    for one in measures:
        share = one.figure / one.limit
        verdict = "within" if share <= 1 else "OVER"
        print(f"{share:6.2f}  {verdict:6}  {one.name}: {one.figure:.4g} {one.unit}, limit {one.limit:g} {one.unit}")
    return int(not measures or not all(one.figure <= one.limit for one in measures))
