"""What was not judged is not passed: NOT JUDGED, the entries that it asks for, and the two verdicts that rest on it.

The sentences here hold for every check that is declared, whoever declares it. A check that is added is held to them
without a line of its own.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, reduce
from itertools import combinations, product
from pathlib import Path
from typing import Any
from zlib import crc32

import numpy as np
import openpyxl
import pytest

from tests.answers import Answers
from tests.compared import places
from tests.engines import engine, libreoffice_engine
from tests.strategies import PROFILES, as_reference, designs, plausible, some
from tests.support import cables, design_text, entries, evaluation, example, model, write_stale
from workbook_builder.__main__ import main
from workbook_builder.evaluation.tasks import ENTERED
from workbook_builder.evaluation.wanted import asked_for
from workbook_builder.file.building import build
from workbook_builder.file.design import read_design
from workbook_builder.language.declare import Check, Part
from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.inputs import OPTIONAL, REQUIRED, Input
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.sources import common_practice
from workbook_builder.language.verdicts import NOT_KNOWN
from workbook_builder.language.words import words

DRAWN = 25
MANY = 600
FEW = 120
KEPT = 0.99  # of the entries of a design that is nearly the example
PASSES = ("PASS", "PASS WITH NOTES")
WORSE = ("FAIL", "INCOMPLETE", "PASS WITH NOTES", "PASS")  # a later one is a better verdict
# Rules of the house by which a blank does not leave a check unjudged.
BY_RULE = {
    "check_short_circuit": "only an MPPT controller whose array exceeds its rated output current needs the limit",
    "check_spark_distance": "a battery in a room or in the open air shares no box, unless somebody says so",
    "check_equalization": "only a sealed battery must not be equalized without its maker's word",
}
# Where checks apply that do not apply to the example; a check that the first test never sees unjudged needs one here.
OTHERWISE: tuple[dict[str, Any], ...] = (
    {},
    {"controller_type": "MPPT"},
    {"battery_chemistry": "LiFePO4", "controller_tempcomp": "no"},
    {"battery_chemistry": "LiFePO4", "battery_nominal": 48, "battery_block": 48},
    {"battery_chemistry": "AGM", "battery_nominal": 48, "array_series": 4, "controller_v_max": 150},
    {"array_parallel": 12},
    {"controller_type": "MPPT", "controller_i_max": 15},
    {"controller_nominal": "automatic"},
    {"battery_chemistry": "AGM", "battery_v_high": 30},
)


def whole(profile: str, **changes: Any) -> dict[str, Any]:
    """The invented example with its cables under a profile, with some inputs changed; it passes."""
    return example(**(cables(profile) | changes))


def without(profile: str, *names: str) -> dict[str, Any]:
    return {name: value for name, value in whole(profile).items() if name not in names}


def required(profile: str) -> dict[str, Any]:
    """Of the invented example only what no design can do without."""
    asked = {entry.name for entry in model(profile).inputs if entry.blank == REQUIRED}
    return {name: value for name, value in whole(profile).items() if name in asked}


@cache
def tried(profile: str) -> list[dict[str, Any]]:
    """Drawn designs, the blank one, the example, and the example without each entry for which some check asks."""
    asked = [entry.name for entry in asked_for(model(profile).checks, model(profile).design_inputs)]
    return [
        *(as_reference(case) for case in designs(profile, 21, DRAWN)),
        {},
        required(profile),
        whole(profile),
        *(without(profile, *asked) | other for other in OTHERWISE),
        *(without(profile, name) for name in asked),
    ]


@cache
def judgements(profile: str) -> tuple[str, ...]:
    """The names of what is said of a design as a whole, and of each check."""
    names = [name for check in model(profile).checks for name in (check.name, f"meaning_{check.name}")]
    return (*names, "verdict_match", "verdict", "checks_not_judged", "entries_missing", "entries_waited_for", "what_is_open")


def judge(profile: str, inputs: Mapping[str, Any]) -> Answers:
    return Answers(evaluation(profile), inputs)


@cache
def judged(profile: str) -> list[tuple[dict[str, Any], Answers]]:
    return [(inputs, judge(profile, inputs)) for inputs in tried(profile)]


def drawn(profile: str, seed: int, count: int) -> dict[str, Any]:
    """Plausible designs of which a half are the example in nearly all entries, since what is drawn anew seldom passes whole."""
    found = plausible(profile, seed, count)
    nearly, base = np.arange(count) % 2 == 0, whole(profile)
    for entry in model(profile).inputs:
        # of each by its name, so that an added input changes nothing for the others
        kept = nearly & (np.random.default_rng([seed, crc32(entry.name.encode())]).random(count) < KEPT)
        usual = base.get(entry.name, np.nan if entry.kind == "number" else "")
        typed = np.broadcast_to(np.asarray(found[entry.name]), count)
        found[entry.name] = np.where(kept, np.array(usual, dtype=typed.dtype), typed)
    return found


@cache
def many(profile: str) -> Answers:
    """Many drawn designs, judged at once."""
    return judge(profile, drawn(profile, 22, MANY))


def unanswered(entry: Input, inputs: dict[str, Any], values: Mapping[str, Any]) -> bool:
    """Whether nothing was typed into the cell of an entry, or that it is not known."""
    return inputs.get(entry.name) is None or values[entry.name] == NOT_KNOWN


def checks_of(profile: str, verdict: str, values: Mapping[str, Any], *, safety: bool | None = None) -> list[Check]:
    return [one for one in model(profile).checks if values[one.name] == verdict and safety in (None, one.safety)]


def counted(profile: str, verdict: str, *, match: bool = False, safety: bool = False) -> Any:
    """In how many checks of each of the many designs a verdict stands."""
    chosen = [one.name for one in model(profile).checks if one.match >= match and one.safety >= safety]
    return sum((np.broadcast_to(np.asarray(many(profile)[name]), MANY) == verdict) * 1 for name in chosen)


# ---- what is asked for


@pytest.mark.parametrize("profile", some(PROFILES, 2))
def test_what_is_not_judged_asks_for_blank_entries_and_for_no_other(profile: str) -> None:
    seen = set()
    for inputs, values in judged(profile):
        for check in checks_of(profile, "NOT JUDGED", values):
            asks = [entry for entry in model(profile).inputs if entry.name in check.asks]
            wanted = [f"{entry.label}." for entry in asks if unanswered(entry, inputs, values)]
            assert wanted, f"{check.name} says NOT JUDGED, and every entry for which it asks is filled"
            assert sorted(wanted) == sorted(
                part for part in values[f"wanted_{check.name}"].split(". ") for part in [f"{part.rstrip('.')}."]
            )
            assert values[f"meaning_{check.name}"].endswith(f" Enter: {values[f'wanted_{check.name}']}")
            seen.add(check.name)
    duties = next(table for table in model(profile).tables if table.name == "duties")
    keys, places = (duties.column(name).values for name in ("key", "place"))
    nowhere = {f"check_duty_{key}" for key, place in zip(keys, places, strict=True) if place == "nowhere"}  # in this code
    missed = {check.name for check in model(profile).checks if check.asks} - seen - nowhere
    assert not missed, "no design that is tried leaves these unjudged: add one to OTHERWISE"


@pytest.mark.parametrize("profile", PROFILES)
def test_a_check_asks_only_for_entries_that_may_stay_blank_and_then_have_no_value(profile: str) -> None:
    known = {entry.name: entry for entry in model(profile).design_inputs}
    for check in model(profile).checks:
        for name in check.asks:
            entry = known[name]
            assert entry.blank == OPTIONAL or NOT_KNOWN in entry.options, f"{check.name} asks for {name}"
            assert name in model(profile).rests_on(check.name), f"{check.name} asks for {name}, and does not rest on it"


@pytest.mark.parametrize("profile", PROFILES)
def test_what_is_asked_for_has_a_label_that_no_other_entry_has(profile: str) -> None:
    labels = [entry.label for entry in asked_for(model(profile).checks, model(profile).inputs)]
    assert len(labels) == len(set(labels))


@pytest.mark.parametrize("profile", some(PROFILES, 2))
def test_an_answer_that_it_is_not_known_counts_as_blank(profile: str) -> None:
    names = [entry.name for entry in model(profile).design_inputs if NOT_KNOWN in entry.options]
    for base in (whole(profile), required(profile)):
        for name in names:
            blank = judge(profile, {key: value for key, value in base.items() if key != name})
            unknown = judge(profile, base | {name: NOT_KNOWN})
            assert {one: unknown[one] for one in judgements(profile)} == {one: blank[one] for one in judgements(profile)}, name


@pytest.mark.parametrize("profile", PROFILES)
def test_the_number_of_entries_waited_for_is_that_of_the_blanks_for_which_safety_checks_ask(profile: str) -> None:
    known = {entry.name: entry for entry in model(profile).inputs}
    numbers = set()
    for inputs, values in judged(profile):
        waiting = {name for check in checks_of(profile, "NOT JUDGED", values, safety=True) for name in check.asks}
        number = sum(unanswered(known[name], inputs, values) for name in waiting)
        assert values["entries_waited_for"] == number
        if number:
            safety = len(checks_of(profile, "NOT JUDGED", values, safety=True))
            assert f"NOT JUDGED: {safety} safety checks wait for {number} entries." in values["what_is_open"]
        numbers.add(number)
    assert len(numbers) > 3


def contradicted(profile: str, values: Mapping[str, Any]) -> Any:
    """In which designs two entries contradict each other."""
    states = [one.name for one in model(profile).quantities if "contradiction" in one.formula]
    assert states
    return reduce(np.logical_or, [np.asarray(values[name]) == "contradiction" for name in states])


# ---- the verdict of the whole design


@pytest.mark.parametrize("profile", PROFILES)
def test_no_design_passes_while_a_safety_check_is_not_judged(profile: str) -> None:
    verdicts = np.asarray(many(profile)["verdict"])
    waits = counted(profile, "NOT JUDGED", safety=True) > 0
    assert waits.any()
    assert set(verdicts[waits]) == {"FAIL", "INCOMPLETE"}
    for _, values in judged(profile):
        if checks_of(profile, "NOT JUDGED", values, safety=True):
            assert values["verdict"] in ("FAIL", "INCOMPLETE")


@pytest.mark.parametrize("profile", PROFILES)
def test_no_design_passes_while_an_entry_or_a_check_is_open(profile: str) -> None:
    opened = 0
    for _, values in judged(profile):
        if values["entries_open"] or values["checks_open"] or checks_of(profile, "INCOMPLETE", values):
            opened += 1
            assert values["verdict"] in ("FAIL", "INCOMPLETE")
        assert (values["verdict"] == "FAIL") == bool(checks_of(profile, "FAIL", values))
    assert opened


@pytest.mark.parametrize("profile", PROFILES)
def test_a_performance_check_that_is_not_judged_leaves_at_best_a_pass_with_notes(profile: str) -> None:
    asked = {name for check in model(profile).checks if check.asks and not check.safety for name in check.asks}
    asked -= {name for check in model(profile).checks if check.safety for name in check.asks}
    reached = set()
    for name in asked:
        values = judge(profile, without(profile, name))
        if checks_of(profile, "NOT JUDGED", values):
            assert values["verdict"] != "PASS", name
            reached.add(values["verdict"])
    assert "PASS WITH NOTES" in reached
    passed = np.asarray(many(profile)["verdict"]) == "PASS"
    assert passed.any()
    assert not (passed & (counted(profile, "NOT JUDGED") + counted(profile, "NOTE") > 0)).any()


@pytest.mark.parametrize("profile", PROFILES)
def test_the_example_passes_and_nothing_of_it_is_left_unjudged(profile: str) -> None:
    values = judge(profile, whole(profile))
    assert (values["verdict_match"], values["verdict"]) == ("PASS", "PASS")
    assert values["checks_not_judged"] == values["entries_waited_for"] == 0


# ---- leaving out


def answers(entry: Input) -> list[Any]:
    """What may be typed for an entry: every option of a choice; the ends and what lies between for a number."""
    if entry.kind != "number":
        return list(entry.options)
    usual = [entry.low + (entry.high - entry.low) * share for share in (0.0, 0.001, 0.01, 0.1, 0.3, 1.0)]
    return [float(round(one)) if entry.whole else one for one in usual]


def silence_passes(profile: str, check: Check, names: Sequence[str]) -> list[dict[str, Any]]:
    """Answers that would not pass, where the check passes without any answer, or says that it does not apply."""
    silent = judge(profile, without(profile, *names))
    if check.name in BY_RULE or silent[check.name] not in ("PASS", "N/A"):
        return []
    asked = [entry for entry in model(profile).inputs if entry.name in names]
    found = []
    for typed in product(*(answers(entry) for entry in asked)):
        answer = {entry.name: one for entry, one in zip(asked, typed, strict=True)}
        values = silent.with_other(answer)
        accepted = all(values[f"status_{name}"] == ENTERED for name in answer)
        if accepted and values[check.name] in ("FAIL", "NOTE", "NOT JUDGED"):
            found.append(answer)
    return found


@pytest.mark.parametrize("profile", PROFILES)
def test_a_safety_check_passes_without_an_entry_only_where_every_answer_would_pass(profile: str) -> None:
    """It may pass where it does not need the entry, as the slope of a curve below the temperature at which it begins."""
    for check in model(profile).checks:
        for name in check.asks if check.safety else ():
            assert not silence_passes(profile, check, [name]), f"{check.name} passes without {name}"


@pytest.mark.parametrize("profile", PROFILES)
def test_a_safety_check_passes_without_two_entries_only_where_every_answer_would_pass(profile: str) -> None:
    """A row that is begun waits for its end; one that is left out whole must not be forgotten."""
    for check in model(profile).checks:
        for pair in combinations(check.asks if check.safety else (), 2):
            assert not silence_passes(profile, check, pair), f"{check.name} passes without {pair}"


@pytest.mark.parametrize("profile", some(PROFILES, 2))
def test_leaving_out_any_entry_never_makes_the_verdict_better(profile: str) -> None:
    """Of the example, which passes, and of one that passes with notes."""
    for base in (whole(profile), whole(profile, site_altitude=3000)):
        before = judge(profile, base)
        for name in [entry.name for entry in model(profile).design_inputs if entry.name in base]:
            after = before.with_other({name: None})
            for verdict in ("verdict", "verdict_match"):
                assert WORSE.index(str(after[verdict])) <= WORSE.index(str(before[verdict])), name


@pytest.mark.parametrize("profile", some(PROFILES, 2))
def test_leaving_out_what_is_asked_for_never_lets_a_drawn_design_pass(profile: str) -> None:
    batch = drawn(profile, 23, FEW)
    judged_before = judge(profile, batch)
    before = np.asarray(judged_before["verdict"])
    assert len(set(before)) > 2
    safety = [check for check in model(profile).checks if check.safety and check.name not in BY_RULE]
    for entry in asked_for(safety, model(profile).design_inputs):
        blank: Any = np.full(FEW, np.nan) if entry.kind == "number" else np.full(FEW, "", dtype=object)
        after = np.asarray(judged_before.with_other({entry.name: blank})["verdict"])
        # what was refused is not missed; nor is a rating beside the answer that nothing is fitted: without it the answer stands
        missed = (np.asarray(judged_before[f"status_{entry.name}"]) == ENTERED) & ~contradicted(profile, judged_before)
        better = np.isin(after, PASSES) & ~np.isin(before, PASSES) & missed
        assert not better.any(), entry.name


@pytest.mark.parametrize("profile", ["nec-2023", "iec-62548"])
def test_filling_a_blank_mends_only_what_reads_it(profile: str) -> None:
    """A check that fails goes on failing, whatever is added to the design elsewhere; of tables one row is tried."""
    batch = drawn(profile, 24, FEW)
    names = [check.name for check in model(profile).checks]
    before = judge(profile, batch)
    assert all(name in before for name in names)
    filled = 0
    for entry in model(profile).design_inputs:
        typed = np.asarray(batch[entry.name])
        blank = np.isnan(typed) if typed.dtype.kind == "f" else typed == ""
        row = entry.name.split("_")[0]
        other_row = entry.table and row not in ("load1", "jan")
        if entry.blank == REQUIRED or other_row or not blank.any() or not answers(entry):
            continue
        filled += 1
        answer = answers(entry)[len(answers(entry)) // 2]
        added = np.where(blank, np.array(answer, dtype=typed.dtype), typed)
        after = before.with_other({entry.name: added})
        for name in names:
            mended = (np.asarray(before[name]) == "FAIL") & np.isin(after[name], ("PASS", "NOTE", "N/A", "NOT JUDGED"))
            assert not mended.any() or entry.name in model(profile).rests_on(name), f"{entry.name} mends {name}"
    assert filled > 30


# ---- the verdict of the match


@pytest.mark.parametrize("profile", PROFILES)
def test_the_match_passes_on_the_required_entries_alone_while_the_design_is_not_settled(profile: str) -> None:
    values = judge(profile, required(profile))
    assert values["verdict_match"] in PASSES
    assert values["verdict"] == "INCOMPLETE"
    assert values["entries_open"] == values["entries_missing"] == 0
    assert values["entries_waited_for"] > 5


@pytest.mark.parametrize("profile", PROFILES)
def test_without_any_one_required_entry_the_match_does_not_pass(profile: str) -> None:
    for name in required(profile):
        values = judge(profile, {key: value for key, value in required(profile).items() if key != name})
        assert values["verdict_match"] in ("INCOMPLETE", "FAIL"), name
        assert values["verdict"] in ("INCOMPLETE", "FAIL"), name


@pytest.mark.parametrize("profile", PROFILES)
def test_the_match_is_judged_by_its_own_checks_and_a_failure_of_it_fails_both(profile: str) -> None:
    match, design = (np.asarray(many(profile)[name]) for name in ("verdict_match", "verdict"))
    fails = counted(profile, "FAIL", match=True) > 0
    assert fails.any() and not fails.all()
    assert set(match[fails]) == set(design[fails]) == {"FAIL"}
    assert "FAIL" not in set(match[~fails])
    passed = np.isin(match, PASSES)
    assert passed.any()
    assert not (counted(profile, "INCOMPLETE", match=True)[passed]).any()
    assert ((match == "PASS WITH NOTES") == (passed & (counted(profile, "NOTE", match=True) > 0))).all()


@pytest.mark.parametrize("profile", PROFILES)
def test_a_design_that_passes_has_a_match_that_passes(profile: str) -> None:
    for _, values in judged(profile):
        assert values["verdict"] not in PASSES or values["verdict_match"] in PASSES
    design, match = (np.asarray(many(profile)[name]) for name in ("verdict", "verdict_match"))
    assert set(design) == {"PASS", "PASS WITH NOTES", "FAIL", "INCOMPLETE"}
    assert np.isin(match, PASSES)[np.isin(design, PASSES)].all()


@pytest.mark.parametrize("profile", PROFILES)
def test_a_failure_of_the_installation_alone_leaves_the_match_as_it_is(profile: str) -> None:
    values = judge(profile, whole(profile, confirm_earthing="no"))
    assert values["check_confirmed_safety"] == "FAIL"
    assert (values["verdict_match"], values["verdict"]) == ("PASS", "FAIL")


# what the example answers otherwise: a device in each string protects it, whatever the controller blocks
SETTLED = {("check_string_fuse", "controller_backfeed"), ("check_string_cable", "controller_backfeed")}


def test_an_entry_that_was_refused_is_neither_judged_nor_asked_for() -> None:
    """It is not blank: its status says what is wrong with it."""
    for entry in asked_for(model().checks, model().design_inputs):
        values = evaluation().all_values(whole("nec-2023", **{entry.name: "no such thing" if entry.kind != "text" else -1}))
        if values[f"status_{entry.name}"] == ENTERED:
            continue
        assert values["verdict"] in ("INCOMPLETE", "FAIL"), entry.name
        assert entry.label not in values["what_is_open"]
        for check in model().checks:
            if entry.name in check.asks and (check.name, entry.name) not in SETTLED:
                assert values[check.name] != "PASS", f"{check.name} passes while {entry.name} is refused"


# ---- declarations

FORMULA = 'IF(length="","NOT JUDGED",IF(length>0,"PASS","FAIL"))'
SENTENCES = {"PASS": "Good.", "FAIL": "Bad.", "NOT JUDGED": "Not known."}


def declared(formula: str, sentences: dict[str, str], asks: tuple[str, ...]) -> Check:
    part = Part("trial", "Trial", "A chapter of the tests.")

    @part.check(
        label="Fits",
        words="Compared.",
        formula=formula,
        source=common_practice("a rule of the tests"),
        safety=True,
        optional=("length",),
        asks=asks,
        sentences=sentences,
    )
    def fits(length: float) -> str:
        return "PASS"

    return part.checks[0]


def test_a_check_that_may_not_judge_says_for_which_entries_it_waits() -> None:
    assert declared(FORMULA, SENTENCES, ("length",)).asks == ("length",)
    with pytest.raises(DeclarationError, match="says NOT JUDGED, and asks for no entry"):
        declared(FORMULA, SENTENCES, ())


def test_a_check_that_asks_for_entries_says_that_it_is_not_judged() -> None:
    formula = 'IF(length="","N/A",IF(length>0,"PASS","FAIL"))'
    sentences = {"PASS": "Good.", "FAIL": "Bad.", "N/A": "Not so."}
    assert declared(formula, sentences, ()).asks == ()
    with pytest.raises(DeclarationError, match="asks for entries, and never says NOT JUDGED"):
        declared(formula, sentences, ("length",))


def test_a_limit_that_is_blank_is_not_judged_and_needs_somebody_to_ask() -> None:
    part = Part("trial", "Trial", "A chapter of the tests.")
    said: dict[str, Any] = {
        "name": "fits",
        "label": "Fits",
        "words": "Compared.",
        "value": "length",
        "at_most": "room",
        "source": common_practice("a rule of the tests"),
        "unless": (("room", ""),),
        "sentences": {"PASS": "Good.", "NOTE": "Bad.", "NOT JUDGED": "Not known."},
    }
    with pytest.raises(DeclarationError, match="asks for no entry"):
        part.limit(**said)
    part.limit(**said, asks=("room",))
    assert part.checks[0].function(np.nan, 1.0) == "NOT JUDGED"


# ---- in the workbook


@pytest.fixture(scope="module", params=["nec-2023", "iec-62548"])
def workbook(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    profile = request.param
    yield profile, write_stale(tmp_path_factory.mktemp("judged") / f"{profile}.xlsx", profile)


def place_of(book: Any, name: str) -> tuple[str, str]:
    sheet, place = book.defined_names[name].attr_text.split("!")
    return sheet.strip("'"), place.replace("$", "")


def links(book: Any, sheet: str) -> dict[str, tuple[str, str]]:
    """The cells of a sheet that lead elsewhere, and where they lead."""
    found = {}
    for row in book[sheet].iter_rows():
        for cell in row:
            if cell.hyperlink:
                target, place = cell.hyperlink.location.lstrip("#").replace(".", "!", "!" not in cell.hyperlink.location).split("!")
                found[cell.coordinate] = (target.strip("'$"), place.replace("$", ""))
    return found


def test_a_check_leads_to_the_first_entry_for_which_it_asks(workbook: tuple[str, Path], tmp_path: Path) -> None:
    """Both in the file as it is written and after another program saved it."""
    profile, path = workbook
    libreoffice_engine().resave(path, tmp_path / "again.xlsx", entries(required(profile)))
    for file in (path, tmp_path / "again.xlsx"):
        book = openpyxl.load_workbook(file)
        leads = links(book, "Verdicts")
        for check in model(profile).checks:
            _, place = place_of(book, check.name)
            assert leads.get(place) == (place_of(book, f"entry_{check.asks[0]}") if check.asks else None), check.name
        unlocked = [entry.name for entry in asked_for(model(profile).checks, model(profile).design_inputs)]
        for name in unlocked:
            sheet, place = place_of(book, f"entry_{name}")
            assert not book[sheet][place].protection.locked
            assert (sheet, place) in leads.values(), f"nothing leads to entry_{name}"
        assert {place_of(book, name) for name in ("verdict", "verdict_match")} <= set(links(book, "Start").values())


@pytest.mark.parametrize("name", ["libreoffice", "ironcalc"])
def test_start_verdicts_and_installation_show_both_verdicts(workbook: tuple[str, Path], name: str) -> None:
    profile, path = workbook
    cases = {
        "the example": (whole(profile), ("PASS", "PASS")),
        "the required entries": (required(profile), ("PASS", "INCOMPLETE")),
        "not earthed": (whole(profile, confirm_earthing="no"), ("PASS", "FAIL")),
        "too cold": (whole(profile, controller_v_max=40), ("FAIL", "FAIL")),
        "high": (whole(profile, site_altitude=3000), ("PASS", "PASS WITH NOTES")),
        "blank": ({}, ("INCOMPLETE", "INCOMPLETE")),
    }
    shown = ("verdict_match", "verdict", "meaning_match", "meaning_verdict")
    cells = {
        (sheet, key): [at for at, one in places(profile) if one == key and at.startswith(f"{sheet}!")] for sheet in SHOWS for key in shown
    }
    assert all(cells[sheet, key] for sheet in SHOWS for key in shown)
    with engine(name).open(path) as book:
        found = book.formula_values_many([entries(inputs) for inputs, _ in cases.values()])
    for (title, (inputs, verdicts)), values in zip(cases.items(), found, strict=True):
        expected = evaluation(profile).all_values(inputs)
        assert str(expected["verdict_match"]).startswith(verdicts[0]), title
        assert expected["verdict"] == verdicts[1], title
        for (_, key), at in cells.items():
            assert {values[one] for one in at} == {expected[key]}, f"{title}: {key}"


SHOWS = ("Start", "Verdicts", "Installation")


# ---- on the command line


@pytest.mark.parametrize(
    ("changes", "status", "of_match"),
    [({}, 0, 0), ({"confirm_earthing": "no"}, 1, 0), ({"site_altitude": None}, 0, 0), ({"controller_v_max": 40}, 1, 1)],
    ids=["the example", "not earthed", "no altitude", "too cold"],
)
def test_the_exit_status_is_that_of_the_verdict_that_is_asked_for(
    changes: dict[str, Any], status: int, of_match: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    design = tmp_path / "design.toml"
    design.write_text(design_text(whole("nec-2023", **changes), "nec-2023"), encoding="utf-8")
    expected = evaluation().all_values(whole("nec-2023", **changes))
    for arguments, wanted in (([], status), (["--match"], of_match)):
        assert main(["check", str(design), *arguments]) == wanted
        lines = capsys.readouterr().out.splitlines()
        for name, word in (("match", "verdict_match"), ("verdict", "verdict")):
            assert f"{name}: {expected[word]}" in lines
        assert main(["check", "--json", str(design), *arguments]) == wanted
        answer = json.loads(capsys.readouterr().out)
        assert (answer["verdict_match"], answer["verdict"]) == (expected["verdict_match"], expected["verdict"])


def test_a_match_alone_is_good_for_match_and_not_for_the_whole(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    design, made = tmp_path / "design.toml", tmp_path / "made.xlsx"
    design.write_text(design_text(required("nec-2023"), "nec-2023"), encoding="utf-8")
    build(required("nec-2023"), made)
    for file in (design, made):
        assert main(["check", str(file)]) == 1
        said = capsys.readouterr().out
        assert "verdict: INCOMPLETE" in said
        assert "Enter: " in said
        assert main(["check", "--match", str(file)]) == 0


# ---- the second example, in which things are wrong

FAULTS = {
    "FAIL": {"check_cold_voltage"},
    "NOTE": {"check_array_current", "check_altitude"},
    "NOT JUDGED": {"check_battery_fuse_breaking", "check_ventilation", "check_confirmed_safety", "check_energy", "check_confirmed"},
}


def test_the_example_with_faults_fails_notes_and_leaves_unjudged_what_it_is_said_to() -> None:
    """At least these: a rule that is added may leave more of it unjudged, but nothing else of it fails."""
    inputs, profile = read_design(TEMPLATES / "example_with_faults.toml")
    values = evaluation(profile).all_values(inputs)
    assert (values["verdict_match"], values["verdict"]) == ("FAIL", "FAIL")
    for verdict, names in FAULTS.items():
        assert names <= {one.name for one in checks_of(profile, verdict, values)}
    assert {one.name for one in checks_of(profile, "FAIL", values)} == FAULTS["FAIL"]
    assert values["entries_open"] == values["checks_open"] == 0
    assert values["entries_waited_for"] > 5
    assert values["said_banner"] == "DO NOT BUILD FROM THIS SHEET"
    assert values["example_mark"] == words()["installation"]["example"]


def test_the_example_with_faults_is_mended_by_what_its_sentences_say() -> None:
    """A controller for a higher voltage and current fails nothing; what is blank is still waited for."""
    inputs, profile = read_design(TEMPLATES / "example_with_faults.toml")
    values = judge(profile, inputs | {"controller_v_max": 100, "controller_i_max": 30})
    assert values["check_cold_voltage"] == values["check_array_current"] == "PASS"
    assert values["verdict_match"] in PASSES
    assert values["verdict"] == "INCOMPLETE"


def test_the_example_with_faults_is_built_by_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = tmp_path / "made.xlsx"
    assert main(["build", str(TEMPLATES / "example_with_faults.toml"), "-o", str(made)]) == 1
    assert capsys.readouterr().out == f"{made}: FAIL\n"
    assert main(["check", str(made)]) == 1
    said = capsys.readouterr().out
    assert all(f"\n{word:<11} " in said for word in FAULTS)
