"""Texts are cleaned once, alike wherever they are written; what was taken out is said; data stay data, whatever is wrong."""

from __future__ import annotations

import json
import shutil
import zipfile
from pathlib import Path

import pytest

from tests.support import design_text, example, example_inputs
from workbook_builder import build, evaluate
from workbook_builder.__main__ import main
from workbook_builder.file.reading import read_workbook
from workbook_builder.language.errors import DesignError, ProfileError
from workbook_builder.language.profiles import FOLDER, load_profile
from workbook_builder.language.texts import LONGEST, unlike, writable

CLEANED = {
    "a\x00b\x07c": "abc",
    "a\x1b[2Jb": "a[2Jb",
    "a\x7fb\x9bc": "abc",
    "a\ud800b": "ab",
    "a\uffffb\ufffec": "abc",
    "one\r\ntwo\rthree\nfour": "one\ntwo\nthree\nfour",
    "tab\there": "tab\there",
    "Ω – ürün 🌞": "Ω – ürün 🌞",
}


@pytest.mark.parametrize("text", CLEANED)
def test_what_no_cell_can_hold_is_taken_out_and_nothing_else(text: str) -> None:
    assert writable(text) == CLEANED[text]
    assert writable(writable(text)) == writable(text)


@pytest.mark.parametrize("text", CLEANED)
def test_a_text_is_the_same_in_its_entry_and_wherever_it_is_shown(text: str, tmp_path: Path) -> None:
    inputs = example(site_name=text)
    path = build(inputs, tmp_path / "a.xlsx").path
    assert evaluate(inputs)["site_name"] == CLEANED[text]
    assert read_workbook(path).inputs["site_name"] == CLEANED[text]
    with zipfile.ZipFile(path) as parts:
        assert all(b"_x00" not in parts.read(name) for name in parts.namelist() if name.endswith(".xml"))


def test_the_original_of_a_text_that_was_cleaned_is_reported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    design = tmp_path / "design.toml"
    design.write_text(design_text(example_inputs(), "nec-2023").replace("Health post", "Health\\u0007post"), encoding="utf-8")
    made = tmp_path / "made.xlsx"
    main(["build", str(design), "-o", str(made)])
    assert "note: site_name: has signs that no cell can hold; it is written without them; got 'Health\\x07post" in capsys.readouterr().err
    main(["build", str(design), "-o", str(made), "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert answer["notes"][0]["place"] == "site_name"
    assert list(unlike({"site_name": "one\r\ntwo", "site_note": "a"})) == []


def test_a_text_longer_than_a_cell_is_refused_and_not_cut(tmp_path: Path) -> None:
    assert evaluate(example(site_note="a" * LONGEST))["site_note"] == "a" * LONGEST
    with pytest.raises(DesignError, match="site_note: is a text of 32768 signs"):
        build(example(site_note="a" * (LONGEST + 1)), tmp_path / "a.xlsx")


@pytest.mark.parametrize(
    ("title", "said"),
    [
        ("a\\u0007b", "title: holds signs that no cell can hold"),
        ("a" * 121, "title: is too long; got 121 signs; accepted: at most 120 signs"),
    ],
)
def test_a_title_that_no_footer_can_hold_is_refused(title: str, said: str, tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    shutil.copytree(FOLDER / "nec-2023", folder)
    text = (folder / "profile.toml").read_text(encoding="utf-8")
    known = load_profile("nec-2023").title
    (folder / "profile.toml").write_text(text.replace(known, title, 1), encoding="utf-8")
    with pytest.raises(ProfileError, match=r"ours/profile\.toml") as error:
        load_profile(folder)
    assert said in str(error.value)


def test_a_title_with_an_ampersand_stands_in_the_footer_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    shutil.copytree(FOLDER / "nec-2023", folder)
    text = (folder / "profile.toml").read_text(encoding="utf-8")
    (folder / "profile.toml").write_text(text.replace(load_profile("nec-2023").title, "Rules & more", 1), encoding="utf-8")
    path = build(example(), tmp_path / "a.xlsx", folder).path
    with zipfile.ZipFile(path) as parts:
        assert b"Rules &amp;&amp; more: Start" in parts.read("xl/worksheets/sheet1.xml")


@pytest.mark.parametrize(
    "arguments", [["check", "--json"], ["build", "--json", "--nonsense"], ["--json", "nonsense"], ["inputs", "--json", "x"]]
)
def test_a_wrong_command_that_asks_for_data_gets_data(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    assert json.loads(capsys.readouterr().out)["problems"][0]["place"] == "command line"


def test_a_wrong_command_that_asks_for_none_gets_words(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["check"])
    assert "usage:" in capsys.readouterr().err
