"""Files that are meant to harm: each ends in one sentence and exit status 2, within 2 s of work and 300 MB."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.hostile.make import FILES, archive, special, write
from workbook_builder.file.reading import read_workbook

HOME = Path(__file__).parents[1]
SECONDS, MEGABYTES = 2.0, 300
Program = subprocess.Popen[str]
# The command line, in a process of its own for each file: a copy of one that has loaded the program and nothing else.
CODE = """
import json, os, resource, sys
import workbook_builder.evaluation.evaluation, workbook_builder.file.reading, workbook_builder.file.report, defusedxml.ElementTree
from workbook_builder.__main__ import main
for line in sys.stdin:
    path, said = json.loads(line)
    child = os.fork()
    if not child:
        sys.stderr = open(said, "w")
        status = main(["check", path])
        most = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
        sys.stderr.write(f"\\nends {status} {most / 1024}")
        sys.stderr.close()
        os._exit(0)
    _, _, used = os.wait4(child, 0)
    print(used.ru_utime + used.ru_stime, flush=True)
"""


@pytest.fixture(scope="module")
def program() -> Iterator[Program]:
    environment = os.environ | {"PYTHONPATH": str(HOME)}
    command = [sys.executable, "-c", CODE]
    with subprocess.Popen(command, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as running:
        yield running


def checked(program: Program, path: Path) -> tuple[int, str, float, float]:
    """Exit status, what was said, seconds of work and megabytes."""
    assert program.stdin is not None
    assert program.stdout is not None
    said = path.with_name("said.txt")
    program.stdin.write(json.dumps([str(path), str(said)]) + "\n")
    program.stdin.flush()
    seconds = float(program.stdout.readline())
    words, _, ends = said.read_text(encoding="utf-8").rpartition("\nends ")
    status, megabytes = ends.split()
    return int(status), words, seconds, float(megabytes)


@pytest.mark.parametrize("kind", FILES)
def test_a_hostile_file_ends_in_one_sentence_quickly_and_small(program: Program, kind: str, tmp_path: Path) -> None:
    status, said, seconds, megabytes = checked(program, write(kind, tmp_path))
    assert (status, said.count("problem: ")) == (2, 1)
    assert "Traceback" not in said
    assert len(said) < 500
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


@pytest.mark.parametrize("kind", ["a pipe", "a folder", "a device", "a link that leads nowhere"])
def test_what_is_no_ordinary_file_is_not_waited_for(program: Program, kind: str, tmp_path: Path) -> None:
    status, said, seconds, _ = checked(program, special(kind, tmp_path))
    assert (status, said.count("problem: ")) == (2, 1)
    assert seconds < SECONDS


SAID = {
    "nothing": "is empty",
    "a letter": "is not an .xlsx file",
    "an old spreadsheet": "is an .xls file",
    "a spreadsheet with a password": "is locked by a password",
    "an OpenDocument spreadsheet": "is an OpenDocument file",
    "an archive of locked parts": "is locked by a password",
    "a workbook of others": "is not a workbook of this package",
    "a file without its last byte": "its end is missing",
    "ninety thousand parts": "far more parts",
    "entities within entities": "a document type or an entity",
    "a program in it": "a part that is never opened",
    "a name of the whole sheet": "leads to far too many cells",
}


@pytest.mark.parametrize("kind", SAID)
def test_the_sentence_says_what_the_file_is(program: Program, kind: str, tmp_path: Path) -> None:
    assert SAID[kind] in checked(program, write(kind, tmp_path))[1]


def test_the_small_workbook_of_which_the_corpus_is_made_is_read(tmp_path: Path) -> None:
    """So that a file of it is refused for what was made hostile in it, and not for what all of them lack."""
    path = tmp_path / "plain.xlsx"
    path.write_bytes(archive())
    reading = read_workbook(path)
    assert (reading.profile, reading.inputs, reading.trusted) == ("nec-2023", {}, False)
    assert json.dumps([one.as_data() for one in reading.findings])
