"""The recipes of the developers' guide, carried out as they stand on a scratch copy."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

TOP = Path(__file__).parents[1]
_BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


class Block(NamedTuple):
    """A block of the guide: its language, the file that its first line names, whether it goes to its end, and the rest."""

    language: str
    file: str
    appended: bool
    text: str


def blocks() -> list[Block]:
    """The blocks of the section Recipes, in order."""
    guide = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = guide[guide.index("\n## Recipes\n") : guide.index("\n## Rules for formulas\n")]
    found = []
    for language, text in _BLOCK.findall(section):
        first, _, rest = text.partition("\n")
        named = first.removeprefix("# ") if first.startswith("# ") else ""
        file, _, sign = named.partition(" ")
        found.append(Block(language, file, sign == "+", rest if named else text))
    return found


def changed(text: str, change: str) -> str:
    """The text with each run of lines marked "-" replaced by the lines marked "+" after it."""
    for removed, added in re.findall(r"((?:^-.*\n)+)((?:^\+.*\n)+)", change, re.MULTILINE):
        old, new = (re.sub(r"^[-+]", "", lines, flags=re.MULTILINE) for lines in (removed, added))
        assert text.count(old) == 1, f"stands {text.count(old)} times: {old}"
        text = text.replace(old, new)
    return text


def carry_out(block: Block, scratch: Path) -> None:
    path = scratch / block.file
    match block.language:
        case "diff":
            path.write_text(changed(path.read_text(encoding="utf-8"), block.text), encoding="utf-8")
        case "sh":
            for line in block.text.splitlines():
                words = [sys.executable if word == "python" else word for word in line.split()]
                done = subprocess.run(words, cwd=scratch, capture_output=True, text=True, check=False)
                # 1: a workbook is written, and its design waits for what the recipes before ask
                assert done.returncode in (0, 1), done.stdout + done.stderr
        case _ if block.appended:
            path.write_text(path.read_text(encoding="utf-8") + "\n" + block.text, encoding="utf-8")
        case _:
            assert not path.exists(), f"{block.file} is there already"
            path.write_text(block.text, encoding="utf-8")


@pytest.fixture(scope="module")
def scratch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the project in which every recipe was carried out."""
    folder = tmp_path_factory.mktemp("scratch")
    for name in ("workbook_builder", "templates"):
        shutil.copytree(TOP / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for block in blocks():
        carry_out(block, folder)
    return folder


def asked(scratch: Path, program: str) -> object:
    """What a program prints as JSON, run in the scratch copy."""
    done = subprocess.run([sys.executable, "-c", program], cwd=scratch, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


PROGRAM = """
import json
import workbook_builder as wb
from workbook_builder.file.design import read_example
second = {"second_capacity": 100, "second_parallel": 2, "second_breaking": 0.5}
values = wb.evaluate(read_example().inputs | second | {"site_water_high": 1.1, "battery_sleepers": 2})
names = ("check_high_water", "check_sleepers", "check_second_battery_fuse_breaking")
names += ("second_battery_bank_ah", "pumps_large_so_far", "mounting_rise")
print(json.dumps({name: values[name] for name in names} | {"verdict": values["verdict"]}))
"""


def test_every_recipe_works_as_it_stands(scratch: Path) -> None:
    """By hand: 1.2 m less 1.1 m is below 0.3 m; 2 × 100 Ah; a bank of 200 Ah drives more than 0.5 kA; (2 A + 5 A) × 24 V."""
    assert asked(scratch, PROGRAM) == {
        "check_high_water": "NOTE",
        "check_sleepers": "FAIL",
        "check_second_battery_fuse_breaking": "FAIL",
        "second_battery_bank_ah": 200.0,
        "pumps_large_so_far": 168.0,
        "mounting_rise": 10.0,
        "verdict": "FAIL",
    }


def test_the_worked_example_stands_on_the_sheet_proof(scratch: Path) -> None:
    program = """
import json
from workbook_builder.evaluation.evaluation import evaluation_for
from workbook_builder.language.profiles import load_profile
values = evaluation_for(load_profile("nec-2023")).all_values({})
print(json.dumps([values["proof_x1_array_voc_cold_agreement"], values["calculation_ok"]]))
"""
    assert asked(scratch, program) == ["agrees", "calculates correctly"]


def test_the_profile_of_the_recipe_makes_a_workbook(scratch: Path) -> None:
    assert (scratch / "output" / "mine.xlsx").stat().st_size > 100_000
