"""Which formulas stand as they stood at an earlier revision: faults of those were tried when they came.

Continuous integration tries everything. Elsewhere the revision is MUTATION_SINCE, or the branch that this one follows, or where
it left main, or on main the commit before the last. Where it cannot be worked out, everything counts as changed.
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import tarfile
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

TOP = Path(__file__).parents[1]
PROGRAM = """
import json, sys
from workbook_builder.file.building import plan_for
from workbook_builder.language.profiles import load_profile
print(json.dumps({formula.key: formula.text for _, _, _, formula in plan_for(load_profile(sys.argv[1])).formulas()}))
"""


@cache
def former_formulas(profile: str) -> dict[str, str]:
    """The formulas of the earlier revision by the keys of their values; none where all are to be tried."""
    revision = "" if os.environ.get("CI") else _revision()
    if not revision:
        return {}
    with TemporaryDirectory() as folder:
        archive = _git("archive", revision, "workbook_builder", "templates")
        if not archive:
            return {}
        with tarfile.open(fileobj=io.BytesIO(archive)) as files:
            files.extractall(folder, filter="data")
        program = [sys.executable, "-c", PROGRAM, profile]
        done = subprocess.run(program, cwd=folder, capture_output=True, text=True, check=False)
        if done.returncode:
            return {}
        found: dict[str, str] = json.loads(done.stdout)
        return found


def _revision() -> str:
    wanted = os.environ.get("MUTATION_SINCE", "")
    here, left_main = _git("rev-parse", "HEAD"), _git("merge-base", "main", "HEAD")
    before = left_main.decode().strip() if left_main and left_main != here else "HEAD~1"
    for one in (wanted,) if wanted else ("@{upstream}", before):
        found = _git("rev-parse", "--verify", "--quiet", f"{one}^{{commit}}").decode().strip()
        if found:
            return found
    return ""


def _git(*words: str) -> bytes:
    try:
        return subprocess.run(["git", *words], cwd=TOP, capture_output=True, check=False).stdout
    except OSError:
        return b""
