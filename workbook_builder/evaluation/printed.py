"""What the printed design sheet shows of a value, and the words where there is none: reference of the sheet Installation."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from workbook_builder.evaluation.model import Model
from workbook_builder.evaluation.outcome import MARKS
from workbook_builder.evaluation.overall import PASS_WITH_NOTES
from workbook_builder.evaluation.printed_steps import (
    JUDGED_SENTENCE,
    OTHER_PIECE,
    PIECE,
    SENTENCE,
    SIZED_VALUE,
    VALUE,
    strings_drawn,
)
from workbook_builder.language.errors import DeclarationError, Problem
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.steps import Argument, Calculation, Given, Range, Step, taking
from workbook_builder.language.templates import Instance, Template
from workbook_builder.language.verdicts import FAIL, INCOMPLETE, PASS
from workbook_builder.language.wording import ABSENT, number_text
from workbook_builder.language.words import words
from workbook_builder.system.conductors.run_entries import RUNS

NOT_ENTERED, NOT_CHOSEN, NOT_KNOWN, NONE = "not entered", "□ not chosen here", "not known yet", "none"
NONE_FITS = "none fits"
# what is chosen from standard sizes → what it must be at least: where there is that, but no size, none fits; and what
# says whether it is needed: where that is missing it is not known yet, and never said to be none
SIZED = {"load_fuse": ("load_fuse_i", "load_i_dc"), "inverter_fuse": ("inverter_fuse_i", "inverter_w_least")}
VERDICTS = (PASS, PASS_WITH_NOTES, FAIL, INCOMPLETE)
CHEMISTRIES = ("flooded", "AGM", "gel", "LiFePO4")
KEYS = tuple(key for key, *_ in RUNS)
# what is shown → the words where there is nothing, and the unit beside it
SHOWN: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("site_name", "site_author", "site_date", "site_note", "module_name", "confirm_by", "confirm_date"), (NOT_ENTERED, "")),
    **dict.fromkeys(("controller_name", "controller_type", "battery_chemistry"), (NOT_ENTERED, "")),
    "controller_i_max": (NOT_ENTERED, "A"),
    "controller_v_max": (NOT_ENTERED, "V"),
    "controller_nominal": (NOT_ENTERED, ""),
    "controller_ocp": (NOT_CHOSEN, "A"),
    "module_count": (NOT_KNOWN, ""),
    "listed_array": (NOT_ENTERED, ""),
    "listed_battery": (NOT_ENTERED, ""),
    "battery_capacity": (NOT_ENTERED, "Ah"),
    "battery_nominal": (NOT_ENTERED, "V"),
    "string_fuse_fitted": (ABSENT, "A"),
    "battery_fuse_fitted": (NOT_KNOWN, "A"),
    "battery_fuse_breaking": (NOT_CHOSEN, "kA"),
    "battery_short_ka": (NOT_KNOWN, "kA"),
    "battery_break_least": (NOT_KNOWN, "kA"),
    "label_voltage": (NOT_KNOWN, "V"),
    "label_current": (NOT_KNOWN, "A"),
    "isolator_current": (NOT_KNOWN, "A"),
    "array_voc_cold": (NOT_KNOWN, "V"),
    "array_voc": (NOT_KNOWN, "V"),
    "array_voc_hot": (NOT_KNOWN, "V"),
    "string_isc": (NOT_KNOWN, "A"),
    "array_isc": (NOT_KNOWN, "A"),
    "charge_i_expected": (NOT_KNOWN, "A"),
    "battery_v_absorb": (NOT_ENTERED, "V"),
    "battery_v_float": (NOT_ENTERED, "V"),
    "battery_v_high": (NOT_ENTERED, "V"),
    "battery_v_low": (NOT_ENTERED, "V"),
    "compensation_bank": (NOT_KNOWN, "mV/K"),
    "compensation_cell": (NOT_KNOWN, "mV/K"),
    "load_fuse": (NONE, "A"),
    "inverter_fuse": (NONE, "A"),
    "load_fuse_most": (NOT_CHOSEN, "A"),
    "inverter_fuse_most": (NOT_CHOSEN, "A"),
    "absorb_v_cold": (NOT_KNOWN, "V"),
    "battery_v_high_cold": (NOT_KNOWN, "V"),
    "battery_t_min": (NOT_ENTERED, "°C"),
    **{f"{what}_rest_{how}": (NOT_KNOWN, "V") for what in ("block", "bank") for how in ("low", "full")},
    "bank_rest_gap": (NOT_KNOWN, "V"),
    "array_parallel": (NOT_ENTERED, ""),
    "battery_parallel": (NOT_ENTERED, ""),
    "inverter_fitted": (NONE, "W"),
    "load_i_dc": (NOT_ENTERED, "A"),
    "battery_links": (NOT_KNOWN, ""),
    "link_size": (NOT_CHOSEN, ""),
    "battery_string_fuse": (ABSENT, "A"),
    "battery_fuse_volts": (NOT_KNOWN, "V"),
    "battery_v_reconnect": (NOT_ENTERED, "V"),
    "battery_absorb_hours": (NOT_ENTERED, "h"),
    "compensation_hand": (NOT_KNOWN, "V"),
    "string_i_full": (NOT_KNOWN, "A"),
    "string_cable_i": (NOT_KNOWN, "A"),
    **dict.fromkeys(("string_insulation", "string_cable_size", "earth_size", "listed_load_fuse"), (NOT_KNOWN, "")),
    **dict.fromkeys(("drawn_battery", "drawn_batteries", "drawn_inverter", "drawn_loads"), (NOT_ENTERED, "")),
    **dict.fromkeys(("drawn_series", "drawn_second", "drawn_third", "drawn_junction"), (NOT_ENTERED, "")),
    **{f"run_{key}_length": (NOT_ENTERED, "m") for key in KEYS},
    **{f"run_{key}_size": (NOT_CHOSEN, "") for key in KEYS},
    **{f"fitted_{key}_insulation": (NOT_CHOSEN, "") for key in KEYS[1:]},
    **{f"runs_{key}_i_max": (NOT_KNOWN, "A") for key in KEYS[1:]},
    **{f"run_{key}_drop": (NOT_KNOWN, "V") for key in KEYS},
    **{f"run_{key}_smallest": (NOT_KNOWN, "") for key in KEYS[1:]},
}
# pieces of the drawing that are there only with a word → the value whose word it is, the word, the text
DRAWN_IF: dict[str, tuple[str, str, str]] = {
    f"{key}_{piece}": (name, word, text)
    for key, name, word in (
        ("battery", "loads_at", "battery"),
        ("output", "loads_at", "load output"),
        ("inverter", "drawn_inverter", "Inverter"),
    )
    for piece, text in (("plus", "+"), ("minus", "−"), ("fuse", "fuse"))
    if (key, piece) != ("output", "fuse")
}
# sentences that a word decides → the value whose word it is, the name of the list of words, the words
SAID: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "banner": ("verdict", "verdict_words", VERDICTS),
    "string_fuse": ("check_string_fuse", "mark_words", tuple(MARKS)),
    "string_fuse_drawn": ("check_string_fuse", "mark_words", tuple(MARKS)),
    "battery_fuse": ("check_battery_fuse", "mark_words", tuple(MARKS)),
    "breaking": ("check_battery_fuse_breaking", "mark_words", tuple(MARKS)),
    "input_device": ("check_array_protection", "mark_words", tuple(MARKS)),
    "cables": ("check_conductors", "mark_words", tuple(MARKS)),
    "chemistry": ("battery_chemistry", "list_battery_chemistry", CHEMISTRIES),
}


@lru_cache(maxsize=1)
def example_names() -> dict[str, str]:
    """Return what the invented example calls its site, module and controller, by the names of these inputs."""
    invented = tomllib.loads((TEMPLATES / "example.toml").read_text(encoding="utf-8"))
    return {f"{part}_name": invented[part]["name"] for part in ("site", "module", "controller")}


def sentences(key: str) -> dict[str, str]:
    """Return the sentences among which a word decides, by word."""
    found: dict[str, str] = words()["installation"]["said"][key]
    return found


# ---- the calculations

FUSE_DRAWN = "string_fuse_drawn"


def calculations(model: Model) -> Iterator[Calculation]:
    """Yield everything that the printed sheet shows."""
    wanted = {name for name, _, _ in SAID.values()} | set(SHOWN)
    lacking = sorted(wanted - {"verdict"} - set(model.nodes) - set(model.by_key))
    if lacking:
        raise DeclarationError(Problem("printed.py", "shows a value that is declared nowhere", name) for name in lacking)
    for instance in _instances():
        yield from instance.calculations()


def _instances() -> Iterator[Instance]:
    for name, (absent, unit) in SHOWN.items():
        bound: dict[str, Argument] = {"value": name, "absent": Given(absent), "unit": Given(unit), "unknown": Given(NOT_KNOWN)}
        if name in SIZED:
            bound |= dict(zip(("least", "needed"), SIZED[name], strict=True)) | {"unfit": Given(NONE_FITS)}
        template = SIZED_VALUE if name in SIZED else VALUE
        yield Instance(f"print_of_{name}", template, bound, names={"shown": f"shown_{name}", "unit_shown": f"unit_{name}"})
    for key, (subject, list_name, decisive) in SAID.items():
        known = sentences(key)
        bound = {
            "subject": subject,
            "words": Range(list_name, values=decisive),
            "sentences": Range(f"said_{key}", values=tuple(known[word] for word in decisive)),
            "absent": Given(NOT_ENTERED),
        }
        always = subject == "verdict" or subject.startswith("check_")
        template = JUDGED_SENTENCE if always else SENTENCE
        yield Instance(f"sentence_of_{key}", template, bound, names={"said": f"said_{key}"})
        if key == FUSE_DRAWN:
            yield from strings_drawn(bound)
    for key, (name, wanted, text) in DRAWN_IF.items():
        bound = {"value": name, "wanted": Given(wanted), "text": Given(text)}
        yield Instance(f"piece_{key}", PIECE, bound, names={"piece": f"drawn_if_{key}"})
    bound = {"value": "drawn_batteries", "unwanted": Given(ABSENT), "text": Given("fuse")}
    yield Instance("piece_several", OTHER_PIECE, bound, names={"piece": "drawn_if_several"})
    named: dict[str, Argument] = {f"invented_{name}": Given(text) for name, text in example_names().items()}
    named |= {name: name for name in example_names()} | {"example": Given(words()["installation"]["example"])}
    named |= {"site_shown": "shown_site_name"}
    yield Instance("example", EXAMPLE, named)


EXAMPLE = Template("whether it is the invented example", guarded=False, single=True)
_NAMES = tuple(example_names())


def _mark(**given: Any) -> str:
    invented = any(given[name] == given[f"invented_{name}"] for name in _NAMES)
    return str(given["example"]) if invented else ""


EXAMPLE.add(
    Step(
        name="mark",
        words="The mark, as long as a name of the invented example stands in the design.",
        formula=f'IF(OR({",".join(f"{name}=invented_{name}" for name in _NAMES)}),example,"")',
        function=taking([*(part for name in _NAMES for part in (name, f"invented_{name}")), "example"], _mark),
        kind="text",
        guarded=False,
        single=True,
    )
)


@EXAMPLE.step(
    kind="text",
    words="The mark of the example, or the name of the site.",
    formula='IF(mark="",site_shown,mark)',
)
def or_site(mark: str, site_shown: Any) -> str:
    """Return whose sheet it is."""
    return mark or number_text(site_shown)
