"""Writing is whole or not at all, never over what a person typed; a fault of the tool itself is told from a failing design."""

from __future__ import annotations

import errno
import io
import json
import os
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.support import design_text, example, example_inputs
from workbook_builder import __main__ as program
from workbook_builder.__main__ import main
from workbook_builder.file.building import build
from workbook_builder.file.reading import read_workbook
from workbook_builder.file.writing import write_whole
from workbook_builder.language.errors import WorkbookError, printable
from workbook_builder.language.locations import TEMPLATES


@pytest.fixture
def design(tmp_path: Path) -> Path:
    file = tmp_path / "design.toml"
    file.write_text(design_text(example_inputs(), "nec-2023"), encoding="utf-8")
    return file


def refused(arguments: list[str | Path], capsys: pytest.CaptureFixture[str]) -> str:
    assert main(list(map(str, arguments))) == 2
    return capsys.readouterr().err


def test_a_design_file_is_never_written_over(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = design.read_bytes()
    assert "is the design file itself" in refused(["build", design, "-o", design], capsys)
    assert design.read_bytes() == before


def test_a_workbook_that_holds_other_entries_is_replaced_only_by_force(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = design.with_name("made.xlsx")
    build(example(site_name="Typed by hand"), made)
    said = refused(["build", design, "-o", made], capsys)
    assert "holds entries that would be lost; got site_name" in said
    assert "--force" in said
    assert read_workbook(made).inputs["site_name"] == "Typed by hand"
    assert main(["build", str(design), "-o", str(made), "--force"]) in (0, 1)
    assert read_workbook(made).inputs == read_workbook(design.with_name("made.xlsx")).inputs != {}
    assert read_workbook(made).inputs.get("site_name") != "Typed by hand"


def test_a_workbook_of_the_same_entries_or_of_none_is_replaced(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = design.with_name("made.xlsx")
    build({}, made)
    assert main(["build", str(design), "-o", str(made)]) in (0, 1)
    assert main(["build", str(design), "-o", str(made)]) in (0, 1)
    assert "holds entries that would be lost" in refused(["build", "--blank", "-o", made], capsys)


def test_a_workbook_of_a_profile_that_is_not_built_in_is_replaced_where_that_profile_is_given(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ours, made = design.with_name("ours"), design.with_name("made.xlsx")
    shutil.copytree(TEMPLATES / "profiles" / "nec-2023", ours)
    command = ["build", str(design), "-o", str(made)]
    assert main([*command, "--profile", str(ours)]) in (0, 1)
    assert main([*command, "--profile", str(ours)]) in (0, 1)
    assert "holds entries that would be lost" in refused(["build", "--blank", "-o", made, "--profile", ours], capsys)


def test_a_file_that_is_no_workbook_of_this_package_is_not_replaced(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    letter = design.with_name("letter.xlsx")
    letter.write_text("Dear colleague,")
    assert "is no workbook of this package, and is not replaced" in refused(["build", design, "-o", letter], capsys)
    assert letter.read_text() == "Dear colleague,"


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_what_stops_in_the_middle_leaves_the_former_file_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    file = tmp_path / "made.xlsx"
    file.write_bytes(b"former")

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full) if step == "fsync" else monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(WorkbookError, match=r"cannot be written.*the disk is full"):
        write_whole(file, b"new")
    assert [one.name for one in tmp_path.iterdir()] == ["made.xlsx"]
    assert file.read_bytes() == b"former"


def test_a_kill_leaves_the_former_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "made.xlsx"
    file.write_bytes(b"former")

    def killed(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", killed)
    with pytest.raises(KeyboardInterrupt):
        write_whole(file, b"new")
    assert file.read_bytes() == b"former"


def test_a_pipe_or_a_folder_is_not_written_to(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.xlsx")
    (tmp_path / "folder.xlsx").mkdir()
    for name in ("pipe.xlsx", "folder.xlsx"):
        with pytest.raises(WorkbookError, match="no ordinary file"):
            write_whole(tmp_path / name, b"new")


# ---- the command line of last resort


def broken(*_: Any) -> int:
    raise ZeroDivisionError("by nothing")


def test_a_fault_of_the_tool_has_an_exit_status_of_its_own_and_shows_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(program, "_inputs", broken)
    assert main(["inputs"]) == 3
    said = capsys.readouterr().err
    assert "ZeroDivisionError: by nothing" in said
    assert "a fault of the tool, not of your design" in said
    assert "Traceback" not in said
    assert main(["inputs", "--json"]) == 3
    assert json.loads(capsys.readouterr().out)["problems"][0]["fault"] == "stopped"
    with pytest.raises(ZeroDivisionError):
        main(["inputs", "--debug"])


def test_a_person_who_stops_it_gets_no_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: Any) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(program, "_inputs", stopped)
    assert main(["inputs"]) == 130


def test_signs_that_steer_a_terminal_are_written_out() -> None:
    assert printable("a\x1b[2Jb\x9bc\u202ed\u200be\nf") == "a\\u001b[2Jb\\u009bc\\u202ed\\u200be\nf"
    assert printable("−12 °C, Ω, ✓") == "−12 °C, Ω, ✓"


def test_what_a_design_says_cannot_steer_the_terminal(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    design.write_text('[module]\nvoc = "\\u001b[2J"\n', encoding="utf-8")
    said = refused(["check", design], capsys)
    assert "\x1b" not in said


def test_a_pipe_of_an_old_code_page_stops_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, encoding="cp1252"))
    monkeypatch.setattr(sys, "argv", ["workbook-builder", "inputs"])
    assert program.run() == 0
    sys.stdout.flush()
    assert b"%" in written.getvalue()
