"""The data of a profile are held within bounds: a factor that protects is not below 1, a table goes on as its rule does."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from workbook_builder.language.errors import ProfileError
from workbook_builder.language.profile_rules import TABLES, VALUES
from workbook_builder.language.profiles import FOLDER, built_in, load_profile

TOML = "profile.toml"
# what is changed in which file, and the words of its message
SPOILT = {
    "a factor that is its own inverse": (TOML, "value = 1.25\n", "value = 0.8\n", "is out of range; got 0.8; accepted: 1 to 2"),
    "a factor in per cent": (TOML, "value = 1.25\n", "value = 125\n", "is out of range; got 125"),
    "a temperature in kelvins": (
        TOML,
        'value = 60\nunit = "°C"',
        'value = 333\nunit = "K"',
        "[values.code_terminal_t]: has another unit than it should; got K; accepted: °C",
    ),
    "a value that is true": (TOML, "value = 1.25\n", "value = true\n", "is not a number; got True"),
    "a value that is a list": (TOML, "value = 1.25\n", "value = [1.25]\n", "is not a number; got [1.25]"),
    "no finite value": (TOML, "value = 1.25\n", "value = inf\n", "is not a number; got inf"),
    "a label that is a number": (TOML, 'label = "Temperature of', 'label = 5 # "', "label: is not a text; got 5"),
    "values that are a list": (TOML, "[values.", "[[values]]\n# ", "[values]: is not a section; got list"),
    "a clause that is a number": (TOML, "[clauses.cold_voltage]", "[clauses]\ncold_voltage = 5\n[other]", "is not a section; got int"),
    "a factor of the table below 1": ("voltage_correction.csv", "25,1.00", "25,0.99", "column factor: is out of range; got 0.99"),
    "a factor that rises with heat": (
        "voltage_correction.csv",
        "20,1.02",
        "20,1.05",
        "column factor: the numbers must not rise",
    ),
    "temperatures in fahrenheit": ("voltage_correction.csv", "25,1.00", "77,1.00", "column t_min: is out of range; got 77"),
    "a voltage in kilovolts": ("voltage_limit.csv", "1000", "1", "column limit: is out of range; got 1; accepted: 30 to 3000 V"),
    "sizes in another order": ("conductors.csv", "12 AWG,3.31", "12 AWG,1.31", "column area: the numbers must ascend"),
    "a resistance of a thousand feet": ("conductors.csv", "Ω/km", "Ω", "has another unit than it should; got Ω; accepted: Ω/km"),
    "a thinner conductor that carries more": ("ampacity.csv", "12 AWG|75C,25", "12 AWG|75C,250", "rows of 75C: the numbers must ascend"),
    "an insulation without rows": ("ampacity.csv", "|75C", "|76C", "lacks rows of an insulation; got 75C"),
    "more in hotter air": ("ambient_factors.csv", "50|75C,0.75", "50|75C,0.95", "rows of 75C: the numbers must not rise"),
    "a grouping that is a gain": ("grouping.csv", "6,0.8", "6,1.2", "column factor: is out of range; got 1.2"),
    "ratings in another order": ("standard_ratings.csv", "\n25\n", "\n250\n", "column amps: the numbers must ascend"),
    "not a number in a table": ("standard_ratings.csv", "\n25\n", "\nnan\n", "column amps: is not a number; got nan"),
    "a name that is empty": ("insulations.csv", "60C,60", ",60", "column name: has an empty cell; got row 4"),
    "an open quote": ("conductors.csv", "14 AWG", '"14 AWG', "is not CSV"),
}


def copied(folder: Path) -> Path:
    made = folder / "ours"
    shutil.copytree(FOLDER / "nec-2023", made)
    return made


@pytest.mark.parametrize("what", SPOILT)
def test_a_slip_in_the_data_of_a_profile_is_refused_with_its_place(what: str, tmp_path: Path) -> None:
    name, former, later, said = SPOILT[what]
    folder = copied(tmp_path)
    text = (folder / name).read_text(encoding="utf-8")
    assert former in text
    (folder / name).write_text(text.replace(former, later), encoding="utf-8")
    with pytest.raises(ProfileError) as error:
        load_profile(folder)
    assert said in str(error.value)


@pytest.mark.parametrize("name", [TOML, "voltage_correction.csv"])
def test_a_file_that_is_no_text_is_refused_in_words(name: str, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / name).write_bytes("é °C".encode("latin-1") * 20)
    with pytest.raises(ProfileError, match=rf"ours/{name}: cannot be read; .*a text in UTF-8"):
        load_profile(folder)


@pytest.mark.parametrize("name", [TOML, "voltage_correction.csv"])
def test_a_file_that_is_far_too_large_is_refused_unread(name: str, tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / name).write_bytes(b"#" * 1_000_001)
    with pytest.raises(ProfileError, match="is too large; got 1000001 bytes"):
        load_profile(folder)


def test_a_table_of_too_many_rows_is_refused(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    file = folder / "standard_ratings.csv"
    file.write_text(file.read_text(encoding="utf-8") + "6000\n" * 2000, encoding="utf-8")
    with pytest.raises(ProfileError, match="too long; got 20"):
        load_profile(folder)


def test_a_table_that_is_a_folder_is_refused_in_words(tmp_path: Path) -> None:
    folder = copied(tmp_path)
    (folder / "voltage_limit.csv").unlink()
    (folder / "voltage_limit.csv").mkdir()
    with pytest.raises(ProfileError, match="its file is not there"):
        load_profile(folder)


@pytest.mark.parametrize("key", built_in())
def test_every_value_and_table_of_a_profile_has_bounds(key: str) -> None:
    profile = load_profile(key)
    assert {value.name for value in profile.values} == set(VALUES)
    assert {table.name: [column.name for column in table.columns] for table in profile.tables} == {
        name: list(columns) for name, columns in TABLES.items()
    }
