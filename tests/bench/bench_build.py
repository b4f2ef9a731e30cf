"""Building the example: time against the bare writer library, size of the file, peak memory, recalculation after an entry."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import xlsxwriter

from tests.bench import Measure, report, seconds
from tests.engines import engine
from tests.support import evaluation, example, write_stale
from workbook_builder.file.building import build, plan_for
from workbook_builder.file.emit import cached
from workbook_builder.file.plan import Entry, Formula, Plan
from workbook_builder.language.profiles import load_profile

RATIO, FILE_KB, PEAK_MB, ENTRY_MS = 3.0, 400.0, 150.0, 30.0
CASES = 60
ENDS = ["verdict", "array_voc_cold", "pwm_p_absorb_hot", "mppt_gain", "best_arrangement"]
MEGABYTE = 1024  # ru_maxrss is in kilobytes on Linux


def bare(path: Path, plan: Plan, values: Mapping[str, Any]) -> None:
    """Write the same texts, numbers, formulas and names with the library alone: no formats, charts, rules, no judgement."""
    inputs = example()
    book = xlsxwriter.Workbook(str(path))
    for sheet in plan.sheets:
        page = book.add_worksheet(sheet.name)
        for (row, column), cell in sheet.cells.items():
            content: Any = cell.content
            if isinstance(content, Formula):
                page.write_formula(row, column, f"={content.text}", None, cached(values[content.key]))
            elif isinstance(content, Entry):
                page.write(row, column, inputs.get(content.name, ""))
            else:
                page.write(row, column, content)
    for name in plan.names:
        book.define_name(name, plan.reference(name))
    book.close()


def peak_of_one_build(path: Path) -> float:
    """Megabytes at the highest of a fresh process that builds the example and does nothing else."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.bench_build", "--only-build", str(path)], check=True, capture_output=True, text=True
    )
    return float(done.stdout)


def recalculation(folder: Path) -> float:
    """Milliseconds in LibreOffice for one changed entry: written, recalculated, and the ends of every chain read.

    Cells that no one reads may wait; what is read here rests on the curve, the year and the whole list of arrangements.
    """
    with engine("libreoffice").open(write_stale(folder / "stale.xlsx")) as book:
        base = {f"entry_{name}": value for name, value in example().items()}
        book.recalculate(base, ENDS)
        one = [{"entry_module_voc": 22.0 + step / CASES} for step in range(CASES)]
        return seconds(lambda: book.recalculate_many(one, ENDS), 3) / CASES * 1000


def recalculation_of_a_whole_design(folder: Path) -> float:
    """The same on a workbook in which the example is typed: every chapter has something to calculate."""
    path = build(example(), folder / "typed.xlsx").path
    with engine("libreoffice").open(path) as book:
        one = [{"entry_module_voc": 22.0 + step / CASES} for step in range(CASES)]
        book.recalculate(one[0], ENDS)
        return seconds(lambda: book.recalculate_many(one, ENDS), 3) / CASES * 1000


def main() -> int:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = build(example(), folder / "example.xlsx", example=True).path
        plan = plan_for(load_profile("nec-2023"), example=True)
        values = evaluation().all_values(example()) | plan.layout
        bare(folder / "bare.xlsx", plan, values)
        ours = seconds(lambda: build(example(), path, example=True), 7)
        alone = seconds(lambda: bare(folder / "bare.xlsx", plan, values), 7)
        cells = [cell for sheet in plan.sheets for cell in sheet.cells.values()]
        print(
            f"{len(cells)} cells, {sum(isinstance(cell.content, Formula) for cell in cells)} formulas; "
            f"built in {ours * 1000:.0f} ms, bare in {alone * 1000:.0f} ms"
        )
        return report(
            [
                Measure("build against the bare library", ours / alone, RATIO, "times"),
                Measure("size of the example's file", path.stat().st_size / 1000, FILE_KB, "kB"),
                Measure("peak memory of a build", peak_of_one_build(folder / "peak.xlsx"), PEAK_MB, "MB"),
                Measure("recalculation after one entry, blank workbook", recalculation(folder), ENTRY_MS, "ms"),
                Measure("recalculation after one entry, example", recalculation_of_a_whole_design(folder), ENTRY_MS, "ms"),
            ]
        )


if __name__ == "__main__":
    if "--only-build" in sys.argv:
        from workbook_builder.file.design import read_design
        from workbook_builder.language.locations import TEMPLATES

        build(read_design(TEMPLATES / "example.toml").inputs, sys.argv[-1], example=True)
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MEGABYTE)
        sys.exit(0)
    sys.exit(main())
