"""Design files, profiles from folders, and the command line: what is taken, and what is refused with which words."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.answers import evaluate
from tests.engines import engine
from tests.support import design_text, example, example_inputs, model, whole_example
from workbook_builder.__main__ import main
from workbook_builder.file.building import build
from workbook_builder.file.design import read_design
from workbook_builder.file.reading import read_workbook
from workbook_builder.language.errors import DesignError, ProfileError, WorkbookBuilderError
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.profile_rules import CLAUSES
from workbook_builder.language.profiles import built_in, load_profile

BROKEN = Path(__file__).parent / "broken"
DESIGNS = sorted((BROKEN / "designs").glob("*.toml"))
PROFILES = sorted(folder for folder in (BROKEN / "profiles").iterdir() if folder.is_dir())
GOOD_PROFILE = TEMPLATES / "profiles" / "nec-2023"
SAY = "# must say: "


def written(folder: Path, text: str, name: str = "design.toml") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


# ---- broken files, each with the words of its message


def words_of(file: Path) -> list[str]:
    lines = file.read_text(encoding="utf-8", errors="replace").splitlines()
    return [word for line in lines if line.startswith(SAY) for word in line.removeprefix(SAY).split(" | ")]


@pytest.mark.parametrize("file", DESIGNS, ids=lambda file: file.stem)
def test_a_broken_design_is_refused_in_the_words_that_it_names(file: Path) -> None:
    with pytest.raises(WorkbookBuilderError) as caught:
        read_design(file)
    said, words = str(caught.value), words_of(file)
    assert words, f"{file.name} names no words"
    assert [word for word in words if word not in said] == [], said
    assert "Traceback" not in said


def test_a_message_names_the_file_the_key_the_value_and_what_is_accepted() -> None:
    with pytest.raises(DesignError) as caught:
        read_design(BROKEN / "designs" / "out_of_range.toml")
    (problem,) = caught.value.problems
    assert problem.place.startswith("out_of_range.toml, module.voc")
    assert (problem.fault, problem.got, problem.accepted) == ("out of range", "2250", "from 1.5 to 400 V")


def test_five_faults_are_five_problems_of_one_message() -> None:
    with pytest.raises(DesignError) as caught:
        read_design(BROKEN / "designs" / "many_at_once.toml")
    assert len(caught.value.problems) == 5


def with_overlay(broken: Path, folder: Path) -> Path:
    """A good profile with the broken files laid over it."""
    made = folder / broken.name
    shutil.copytree(GOOD_PROFILE, made)
    for file in broken.iterdir():
        if file.name == "without.txt":
            (made / file.read_text(encoding="utf-8").strip()).unlink()
        elif file.name != "must_say.txt":
            shutil.copy(file, made / file.name)
    return made


@pytest.mark.parametrize("broken", PROFILES, ids=lambda folder: folder.name)
def test_a_broken_profile_is_refused_in_the_words_that_it_names(broken: Path, tmp_path: Path) -> None:
    folder = with_overlay(broken, tmp_path)
    words = (broken / "must_say.txt").read_text(encoding="utf-8").strip().split(" | ")
    with pytest.raises(ProfileError) as caught:
        load_profile(folder)
    assert [word for word in words if word not in str(caught.value)] == [], str(caught.value)


@pytest.mark.parametrize("key", ["", "nec", "NEC-2023", "../profiles/nec-1897", "nec-2023/profile.toml"])
def test_a_profile_that_is_not_there_is_refused_with_those_that_are(key: str) -> None:
    with pytest.raises(ProfileError, match="there is no such profile") as caught:
        load_profile(key)
    assert all(known in str(caught.value) for known in built_in())


def test_a_profile_folder_of_ones_own_is_used_by_its_path(tmp_path: Path) -> None:
    folder = tmp_path / "own-2030"
    shutil.copytree(GOOD_PROFILE, folder)
    limits = folder / "voltage_limit.csv"
    limits.write_text(limits.read_text(encoding="utf-8").replace("1000", "40"), encoding="utf-8")
    assert load_profile(folder).key == "own-2030"
    assert load_profile(str(folder)) == load_profile(folder)
    assert evaluate(example_inputs(), folder)["code_voltage_limit"] == 40
    assert evaluate(example_inputs(), folder)["check_code_voltage"] == "FAIL"
    assert evaluate(example_inputs())["check_code_voltage"] == "PASS"


@pytest.mark.parametrize("key", built_in())
def test_every_built_in_profile_loads_and_says_where_its_values_come_from(key: str) -> None:
    profile = load_profile(key)
    assert profile.key == key
    for name in (*(value.name for value in profile.values), *(table.name for table in profile.tables), *CLAUSES):
        assert str(profile.sources()[name]), name


# ---- good files

SAME = {
    "a table in a table": "[run.array]\ndrop_allowed = 2",
    "a table with an underscore": "[run_array]\ndrop_allowed = 2",
    "the rest of the name as the key": "[run]\narray_drop_allowed = 2",
    "a dotted key": "run.array.drop_allowed = 2",
    "the whole name at the top": "run_array_drop_allowed = 2",
    "an inline table": "run = { array = { drop_allowed = 2 } }",
    "a text with its unit": '[run]\narray_drop_allowed = "2 %"',
}


@pytest.mark.parametrize("how", list(SAME))
def test_however_a_key_is_nested_it_means_the_same_input(how: str, tmp_path: Path) -> None:
    assert read_design(written(tmp_path, SAME[how])).inputs == {"run_array_drop_allowed": pytest.approx(2)}


@pytest.mark.parametrize(
    ("line", "name", "number"),
    [
        ('site.t_min = "10 degF"', "site_t_min", -12.222222222222221),
        ('site.t_min = "-12 °C"', "site_t_min", -12),
        ('site.t_min = "−12 °C"', "site_t_min", -12),
        ('controller.v_max = "0.1 kV"', "controller_v_max", 100),
        ('module.isc = "9200 mA"', "module_isc", 9.2),
        ('module.pmp = "0.16 kW"', "module_pmp", 160),
        ("site.t_min = -12", "site_t_min", -12),
        ('array.series = "2"', "array_series", 2),
    ],
)
def test_a_text_with_a_unit_is_converted_to_the_unit_of_the_input(line: str, name: str, number: float, tmp_path: Path) -> None:
    assert read_design(written(tmp_path, line)).inputs == {name: pytest.approx(number)}


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    file = tmp_path / "design.toml"
    file.write_bytes(b"\xef\xbb\xbfsite.t_min = -5\n")
    assert read_design(file).inputs == {"site_t_min": -5}


def test_the_profile_asked_for_beats_that_of_the_file(tmp_path: Path) -> None:
    file = written(tmp_path, 'profile = "nec-2020"')
    assert read_design(file).profile == "nec-2020"
    assert read_design(file, "iec-62548").profile == "iec-62548"
    assert read_design(written(tmp_path, "")).profile == "nec-2023"


def test_an_incomplete_design_is_read_and_is_incomplete(tmp_path: Path) -> None:
    inputs = read_design(written(tmp_path, "[site]\nt_min = -5")).inputs
    assert evaluate(inputs)["verdict"] == "INCOMPLETE"


def test_a_date_is_taken_as_its_text(tmp_path: Path) -> None:
    assert read_design(written(tmp_path, "site.date = 2026-11-25")).inputs == {"site_date": "2026-11-25"}


def test_a_design_written_out_reads_back_the_same(tmp_path: Path) -> None:
    file = written(tmp_path, design_text(example_inputs(), "nec-2020"))
    assert read_design(file) == (example_inputs(), "nec-2020")


@pytest.mark.parametrize("text", ['a "quoted" name', "back\\slash", "two\nlines", "tab\there", "Ω – ürün"])
def test_a_text_of_any_kind_is_read_as_it_stands(text: str, tmp_path: Path) -> None:
    assert read_design(written(tmp_path, design_text({"site_name": text}, "nec-2023"))).inputs == {"site_name": text}


# ---- texts that look like formulas

FORMULA_LIKE = ("=1+1", "+5", "-3", "@SUM(1)", '=HYPERLINK("http://a.invalid","b")', "{=1}", "'quoted", "\t=1", "#1")


def test_texts_that_look_like_formulas_stay_texts(tmp_path: Path) -> None:
    """Each in an input of its own, so that one workbook shows them all."""
    names = [entry.name for entry in model().design_inputs if entry.kind == "text"]
    typed_texts = dict(zip(names, FORMULA_LIKE, strict=False))
    assert len(typed_texts) == len(FORMULA_LIKE)
    file = tmp_path / "design.xlsx"
    build(example(**typed_texts), file)
    stored = openpyxl.load_workbook(file)
    for name, text in typed_texts.items():
        sheet, place = stored.defined_names[f"entry_{name}"].attr_text.split("!")
        cell = stored[sheet][place.replace("$", "")]
        assert (cell.data_type, cell.value) == ("s", text)
    read = read_workbook(file).inputs
    assert {name: read[name] for name in typed_texts} == typed_texts
    with engine("libreoffice").open(file) as book:
        shown = book.recalculate({}, [*typed_texts, *(f"status_{name}" for name in typed_texts), "verdict"])
    wanted = typed_texts | {f"status_{name}": "entered" for name in typed_texts}
    assert shown == wanted | {"verdict": evaluate(example(**typed_texts))["verdict"]}


# ---- the command line


def run(*arguments: str | Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run the command line as a person does, in a folder of its own."""
    home = str(Path(__file__).parents[1])
    command = [sys.executable, "-m", "workbook_builder", *map(str, arguments)]
    environment = os.environ | {"PYTHONPATH": home, "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False, encoding="utf-8")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("designs")
    texts = {
        "good": design_text(whole_example(), "nec-2023"),
        "noted": design_text(whole_example(controller_i_max=30), "nec-2023"),
        "bad": design_text(whole_example(controller_v_max=40), "nec-2023"),
        "open": design_text(whole_example(module_voc=None), "nec-2023"),
        "unjudged": design_text(example_inputs(), "nec-2023"),  # without cables, which each code names in its own way
        "faulty": "[module]\nvoc = 2250\nvco = 1\n",
    }
    return {name: written(folder, text, f"{name}.toml") for name, text in texts.items()}


@pytest.mark.parametrize(
    ("name", "status", "verdict"),
    [
        ("good", 0, "PASS"),
        ("noted", 0, "PASS WITH NOTES"),
        ("bad", 1, "FAIL"),
        ("open", 1, "INCOMPLETE"),
        ("unjudged", 1, "INCOMPLETE"),
    ],
)
def test_the_exit_status_tells_the_verdict(
    files: dict[str, Path], name: str, status: int, verdict: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "made.xlsx"
    assert main(["check", str(files[name])]) == status
    assert f"verdict: {verdict}\n" in capsys.readouterr().out
    assert main(["build", str(files[name]), "-o", str(made)]) == status
    assert capsys.readouterr().out == f"{made}: {verdict}\n"
    assert made.is_file()
    assert main(["check", str(made)]) == status
    assert f"verdict: {verdict}\n" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["good", "noted", "bad", "open", "unjudged"])
def test_a_design_and_the_workbook_built_from_it_are_judged_alike(
    files: dict[str, Path], name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["build", str(files[name]), "-o", str(tmp_path / "made.xlsx")])
    capsys.readouterr()
    main(["check", "--json", str(files[name])])
    of_design = json.loads(capsys.readouterr().out)
    main(["check", "--json", str(tmp_path / "made.xlsx")])
    of_workbook = json.loads(capsys.readouterr().out)
    assert (of_workbook.pop("findings"), of_workbook.pop("stored")["verdict"]) == ([], of_design["verdict"])
    assert of_workbook == of_design


def test_the_answer_as_data_is_the_answer_of_evaluate(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--json", str(files["good"])]) == 0
    assert json.loads(capsys.readouterr().out) == evaluate(whole_example())


def test_problems_go_to_standard_error_and_nothing_is_written(
    files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "made.xlsx"
    assert main(["build", str(files["faulty"]), "-o", str(made)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert [line.split(":")[0] for line in err.splitlines()] == ["problem", "problem"]
    assert "module_vco" in err and "2250" in err
    assert not made.exists()


def test_problems_as_data_hold_place_fault_and_what_is_accepted(files: dict[str, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--json", str(files["faulty"])]) == 2
    problems = json.loads(capsys.readouterr().out)["problems"]
    assert {"place", "fault", "got", "accepted", "advice"} == set(problems[0])
    assert len(problems) == 2


def test_build_as_data_tells_path_and_verdict(files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = tmp_path / "made.xlsx"
    assert main(["build", "--json", str(files["bad"]), "-o", str(made)]) == 1
    assert json.loads(capsys.readouterr().out) == {"path": str(made), "verdict": "FAIL"}


def test_a_blank_workbook_is_built_without_complaint(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = tmp_path / "blank.xlsx"
    assert main(["build", "--blank", "-o", str(made), "--profile", "iec-62548"]) == 0
    assert "INCOMPLETE" in capsys.readouterr().out
    read = read_workbook(made)
    assert (read.inputs, read.profile, read.findings) == ({}, "iec-62548", ())


def test_without_a_path_the_workbook_goes_under_output(files: dict[str, Path], tmp_path: Path) -> None:
    (tmp_path / "output").mkdir()
    ran = run("build", files["good"], folder=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert (tmp_path / "output" / "good.xlsx").is_file()


def test_without_a_design_the_example_is_built(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build", "-o", str(tmp_path / "made.xlsx")]) == 0
    assert capsys.readouterr().out.endswith(": PASS\n")
    assert read_workbook(tmp_path / "made.xlsx").inputs == whole_example()


def test_the_profile_of_the_command_line_is_used(files: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["build", str(files["unjudged"]), "--profile", "iec-62548", "-o", str(tmp_path / "made.xlsx")]) == 1
    assert read_workbook(tmp_path / "made.xlsx").profile == "iec-62548"
    capsys.readouterr()
    assert main(["check", str(files["good"]), "--profile", "nowhere"]) == 2
    assert "nec-2023" in capsys.readouterr().err


def unusable(folder: Path) -> dict[str, list[Any]]:
    other = folder / "other.xlsx"
    openpyxl.Workbook().save(other)
    text = written(folder, "not a workbook", "text.xlsx")
    return {
        "no such design": ["check", folder / "nowhere.toml"],
        "no such workbook": ["check", folder / "nowhere.xlsx"],
        "another program's workbook": ["check", other],
        "a text called xlsx": ["check", text],
        "a folder": ["check", folder],
        "blank and a design": ["build", "--blank", folder / "a.toml"],
        "no such profile": ["build", "--profile", "nowhere", "-o", folder / "a.xlsx"],
        "a design that is a workbook": ["build", other, "-o", folder / "b.xlsx"],
    }


@pytest.mark.parametrize(
    "what",
    [
        "no such design",
        "no such workbook",
        "another program's workbook",
        "a text called xlsx",
        "a folder",
        "blank and a design",
        "no such profile",
        "a design that is a workbook",
    ],
)
def test_what_cannot_be_used_ends_with_status_two_and_a_problem(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(argument) for argument in unusable(tmp_path)[what]]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("problem: ")


def test_a_folder_that_is_not_there_is_made_or_refused_in_words(tmp_path: Path, files: dict[str, Path]) -> None:
    ran = run("build", files["good"], "-o", tmp_path / "new" / "deep" / "a.xlsx", folder=tmp_path)
    assert "Traceback" not in ran.stderr
    assert ran.returncode == (0 if (tmp_path / "new" / "deep" / "a.xlsx").is_file() else 2)


@pytest.mark.parametrize("arguments", [[], ["nonsense"], ["check"], ["build", "--nonsense"]])
def test_a_wrong_command_ends_with_status_two(arguments: list[str], tmp_path: Path) -> None:
    ran = run(*arguments, folder=tmp_path)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "usage:" in ran.stderr


@pytest.mark.parametrize("arguments", [["--help"], ["build", "--help"], ["check", "--help"], ["--version"]])
def test_help_loads_none_of_the_heavy_libraries(arguments: list[str], tmp_path: Path) -> None:
    code = (
        "import sys; from workbook_builder.__main__ import main\n"
        "try: main(sys.argv[1:])\n"
        "except SystemExit as end: status = end.code\n"
        "heavy = {'numpy', 'pint', 'xlsxwriter', 'openpyxl', 'pandas'} & set(sys.modules)\n"
        "print('heavy:', sorted(heavy), 'status:', status)"
    )
    home = str(Path(__file__).parents[1])
    ran = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": home},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.stdout.splitlines()[-1] == "heavy: [] status: 0"


def test_the_help_explains_the_exit_status(tmp_path: Path) -> None:
    assert "Exit status" in run("--help", folder=tmp_path).stdout


def test_the_example_of_the_project_uses_known_inputs_only() -> None:
    assert set(example_inputs()) <= {entry.name for entry in model().inputs}
