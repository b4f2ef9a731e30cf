"""Which sources a workbook cites: those of its own profile, and no other code's."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.strategies import PROFILES
from tests.support import evaluation
from workbook_builder.file.building import plan_for
from workbook_builder.language.errors import ProfileError
from workbook_builder.language.profile_rules import CLAUSES, DUTY_KEYS
from workbook_builder.language.profiles import FOLDER, load_profile
from workbook_builder.language.sources import CHECKED, FROM_MEMORY, Citation, bibliography, cited
from workbook_builder.sheets.sources import citations
from workbook_builder.system import CHAPTERS

CODES = {"nec": ("nec-2020", "nec-2023"), "iec": ("iec-62548", "iec-60364-7-712")}
# what may be cited whatever the code: no profile decides it
GENERAL = {
    "stc": "the conditions at which modules are rated, the same in all the world",
    "iec-60891": "physics: from one temperature and irradiance to another",
    "iec-60529": "the meaning of the digits of IP, printed on enclosures everywhere",
    "iec-62485-2": "gas of batteries: the one published method that is worked here",
    "iec-62446-1": "tests at handing over: no article of a code gives their figures",
}
# a family of codes → what names one of its clauses, and the standards that only its profiles decide by
FAMILIES = {
    "nec": re.compile(r"\bNEC\b|NFPA|\b(?:110|240|250|310|480|690|706|710)\.\d"),
    "iec": re.compile(r"\b(?:IEC|EN) ?\d"),
}
SEEN = {
    "nec-2020": {
        "voltage_method",
        "voltage_by_coefficient",
        "cold_voltage",
        "array_current",
        "conductor_ampacity",
        "overcurrent",
        "reverse_current",
        "array_cable_protection",
        "roof_heat",
    }
}
SEEN["nec-2020"] |= {f"duty_{key}" for key in DUTY_KEYS}
# the table of the first was seen, and article 480
SEEN["nec-2023"] = {"cold_voltage", "duty_battery_emergency"}


def family_of(profile: str) -> str:
    return profile.partition("-")[0]


@pytest.mark.parametrize("profile", PROFILES)
def test_a_workbook_cites_its_own_code_and_no_other(profile: str) -> None:
    others = {key for family, keys in CODES.items() for key in keys} - {profile}
    found = [(label, str(one)) for label, one in citations(evaluation(profile)) if one.source in others and not label.startswith("Example")]
    assert not found
    assert {one.source for _, one in citations(evaluation(profile))} >= {profile}


@pytest.mark.parametrize("profile", PROFILES)
def test_a_workbook_cites_standards_of_the_other_family_only_where_no_code_decides(profile: str) -> None:
    other = next(family for family in FAMILIES if family != family_of(profile))
    found = {one.source for label, one in citations(evaluation(profile)) if not label.startswith("Example")}
    foreign = {key for key in found if key and FAMILIES[other].search(f"{bibliography()[key].title} {bibliography()[key].publisher}")}
    assert foreign <= set(GENERAL)
    assert all(GENERAL.values())


@pytest.mark.parametrize("profile", PROFILES)
def test_no_text_of_a_workbook_names_a_clause_of_the_other_family(profile: str) -> None:
    """Published examples keep their sources: on the sheet Proof, and where the sheet Sources lists those."""
    other = next(family for family in FAMILIES if family != family_of(profile))
    general = {bibliography()[key].title for key in GENERAL} | {"IEC 62446-1", "IEC 62485-2"}
    examples = {
        bibliography()[chain.example.citation.source].title for chain in evaluation(profile).proof.chains if chain.example.citation.source
    }
    found = []
    for sheet in plan_for(load_profile(profile)).sheets:
        for cell in sheet.cells.values():
            text = cell.content
            if sheet.name == "Proof" or not isinstance(text, str) or text.startswith("Example") or text in examples:
                continue
            for title in sorted(general, key=len, reverse=True):
                text = text.replace(title, "")
            if FAMILIES[other].search(text.replace("The same steps as the table of the NEC.", "")):
                found.append(f"{sheet.name}: {text}")
    assert not found


def declared_sources() -> Iterator[tuple[str, Citation | str]]:
    """Each declaration's name with its source, as it is declared."""
    for part in CHAPTERS:
        yield from ((one.name, one.source) for one in part.constants)
        yield from ((one.name, one.source) for one in part.quantities)
        yield from ((one.name, one.source) for one in part.checks)
        yield from ((one.name, one.source) for one in part.grids)


@pytest.mark.parametrize("profile", PROFILES)
def test_every_clause_is_cited_and_by_its_key_alone(profile: str) -> None:
    keys = {clause.key for clause in load_profile(profile).clauses}
    assert keys == CLAUSES
    named = {source for _, source in declared_sources() if isinstance(source, str)}
    named |= {entry.blank_source for part in CHAPTERS for entry in part.inputs if isinstance(entry.blank_source, str)}
    assert keys <= named


def test_no_declaration_cites_a_code_by_itself() -> None:
    by_profiles = {key for keys in CODES.values() for key in keys}
    declared = [(name, source) for name, source in declared_sources() if not isinstance(source, str)]
    assert not [name for name, source in declared if source.source in by_profiles]


@pytest.mark.parametrize("profile", PROFILES)
def test_a_clause_is_called_checked_only_where_its_text_was_seen(profile: str) -> None:
    for clause in load_profile(profile).clauses:
        source = cited(clause.source)
        assert (source.mark == CHECKED) == (clause.key in SEEN.get(profile, set())), clause.key
        assert source.mark in (CHECKED, FROM_MEMORY) or clause.key == "roof_heat", clause.key


def test_editions_of_one_code_cite_their_own_numbers() -> None:
    places = {key: {clause.key: clause.source.place for clause in load_profile(key).clauses} for key in CODES["nec"]}
    assert places["nec-2020"]["array_current"] == "690.8(A)(1)(a)"
    assert places["nec-2023"]["array_current"] == "690.8(A)(1)"


def with_profile(folder: Path, old: str, new: str) -> Path:
    """A copy of a good profile in which a piece of the text is another."""
    made = folder / "trial"
    shutil.copytree(FOLDER / "nec-2023", made)
    file = made / "profile.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    return made


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[clauses.overcurrent]", "[clauses.over_the_current]", r"lacks a clause; got overcurrent; .*every profile gives it"),
        (
            '[clauses.roof_heat]\nsource = "nec-2023"',
            '[clauses.roof_heat]\nsource = "hearsay"',
            r"\[clauses.roof_heat\].*no such source; got hearsay",
        ),
        ('clause = "690.9(B)"\nmark = "from memory"', 'clause = "690.9(B)"', r"\[clauses.overcurrent\]: has no mark"),
        ('clause = "310.15(B)(2)"\n', "", r"\[clauses.roof_heat\]: has no clause"),
        ("[clauses.array_current]", "[clauses.code_terminal_t]", "a clause has the name of a value or table; got code_terminal_t"),
    ],
    ids=("missing", "unknown source", "without a mark", "without a place", "name of a value"),
)
def test_a_profile_without_a_good_clause_is_refused_with_its_name(tmp_path: Path, old: str, new: str, said: str) -> None:
    with pytest.raises(ProfileError, match=said):
        load_profile(with_profile(tmp_path, old, new))
