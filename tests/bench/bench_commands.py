"""Commands as a person runs them: seconds of work and megabytes of each, in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench import Measure, report
from workbook_builder.language.locations import TEMPLATES

BUILD_S, CHECK_FILE_S, CHECK_DESIGN_S, MOST_MB = 1.5, 0.6, 0.4, 100.0


def used(*arguments: str | Path) -> tuple[float, float]:
    """Seconds of work and megabytes at the highest of one command, the better of two runs."""
    runs = []
    for _ in range(2):
        command = [sys.executable, "-m", "workbook_builder", *map(str, arguments)]
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, _, usage = os.wait4(child.pid, 0)
        child.returncode = 0
        runs.append((usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024))
    return min(runs)


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "made.xlsx"
        build_s, build_mb = used("build", "-o", made)
        file_s, file_mb = used("check", made)
        design_s, design_mb = used("check", TEMPLATES / "example.toml")
    return report(
        [
            Measure("build", build_s, BUILD_S, "s"),
            Measure("check of a workbook", file_s, CHECK_FILE_S, "s"),
            Measure("check of a design", design_s, CHECK_DESIGN_S, "s"),
            Measure("peak memory of these", max(build_mb, file_mb, design_mb), MOST_MB, "MB"),
        ]
    )


if __name__ == "__main__":
    sys.exit(main())
