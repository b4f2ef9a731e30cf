"""What the printed design sheet shows of a value, and the words where there is none: reference of the sheet Installation."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np

from workbook_builder.evaluation.outcome import MARKS, PASS_WITH_NOTES
from workbook_builder.evaluation.tasks import is_missing
from workbook_builder.language.declare import FAIL, INCOMPLETE, PASS
from workbook_builder.language.locations import TEMPLATES
from workbook_builder.language.tables import round_half_away
from workbook_builder.language.wording import number_text
from workbook_builder.language.words import words

ABSENT = "—"  # stands for what the design does not have
NOT_ENTERED, NOT_CHOSEN, NOT_KNOWN, NONE = "not entered", "□ not chosen here", "not known yet", "none"
NONE_FITS = "none fits"
# what is chosen from standard sizes → what it must be at least: where there is that, but no size, none fits; and what
# says whether it is needed: where that is missing it is not known yet, and never said to be none
SIZED = {"load_fuse": ("load_fuse_i", "load_i_dc"), "inverter_fuse": ("inverter_fuse_i", "inverter_w_least")}
VERDICTS = (PASS, PASS_WITH_NOTES, FAIL, INCOMPLETE)
CHEMISTRIES = ("flooded", "AGM", "gel", "LiFePO4")
# what is shown → the words where there is nothing, and the unit beside it
SHOWN: dict[str, tuple[str, str]] = {
    **dict.fromkeys(("site_name", "site_author", "site_date", "site_note", "module_name"), (NOT_ENTERED, "")),
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
    **{f"run_{key}_length": (NOT_ENTERED, "m") for key in ("array", "battery", "load")},
    **{f"run_{key}_size": (NOT_CHOSEN, "") for key in ("array", "battery", "load")},
    **{f"fitted_{key}_insulation": (NOT_CHOSEN, "") for key in ("array", "battery", "load")},
    **{f"runs_{key}_i_max": (NOT_KNOWN, "A") for key in ("array", "battery", "load")},
    **{f"run_{key}_drop": (NOT_KNOWN, "V") for key in ("array", "battery", "load")},
    **{f"run_{key}_smallest": (NOT_KNOWN, "") for key in ("array", "battery", "load")},
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


def shown(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the printed sheet shows, for single designs; arrays of designs are not printed."""
    if np.ndim(values["verdict"]):
        return {}
    found: dict[str, Any] = {}
    for name, (instead, unit) in SHOWN.items():
        missing = bool(is_missing(values[name]))
        found[f"shown_{name}"] = instead if missing else values[name]
        found[f"unit_{name}"] = "" if missing else unit
    for name, (least, needed) in SIZED.items():
        if is_missing(values[name]) and not is_missing(values[least]):
            found[f"shown_{name}"] = NONE_FITS
        elif is_missing(values[needed]):
            found[f"shown_{name}"] = NOT_KNOWN
    for key, (subject, _, _) in SAID.items():
        found[f"said_{key}"] = sentences(key).get(values[subject], NOT_ENTERED)
    fuse, rating = found["said_string_fuse_drawn"], values["string_fuse_fitted"]
    found["string_1_fuse"] = fuse if is_missing(rating) else f"{fuse} {number_text(float(round_half_away(rating, 2)))} A"
    alike = fuse if is_missing(rating) else f"{fuse} as in 1"
    for number, name in ((2, "drawn_second"), (3, "drawn_third")):
        pieces = {"series": found["shown_drawn_series"], "fuse": alike, "plus": "+", "minus": "−"}
        for piece, text in pieces.items():
            found[f"string_{number}_{piece}"] = "" if values[name] == ABSENT else text
    for key, (name, wanted, text) in DRAWN_IF.items():
        found[f"drawn_if_{key}"] = text if values[name] == wanted else ""
    invented = any(values[name] == example for name, example in example_names().items())
    found["example_mark"] = words()["installation"]["example"] if invented else ""
    found["example_or_site"] = found["example_mark"] or found["shown_site_name"]
    found["drawn_if_several"] = "" if values["drawn_batteries"] == ABSENT else "fuse"
    return found
