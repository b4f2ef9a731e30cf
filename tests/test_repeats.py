"""What is declared once may be repeated for another thing of the same kind: same formulas, other names."""

from __future__ import annotations

import numpy as np
import pytest

from workbook_builder.language.chapters import assembled
from workbook_builder.language.declare import Part
from workbook_builder.language.errors import DeclarationError
from workbook_builder.language.repeats import Repeat
from workbook_builder.language.sources import common_practice
from workbook_builder.language.verdicts import FAIL, PASS, where_pass

SOURCE = common_practice("for this test")


def tanks() -> Part:
    """A tank with its volume, and whether that is enough."""
    part = Part("tanks", "Tanks", "For this test.")
    for name in ("tank", "other"):
        part.number(f"{name}_height", "m", 0.1, 10, f"Height of the {name}")
        part.number(f"{name}_area", "m", 0.1, 10, f"Ground of the {name}")
    part.number("volume_wanted", "m", 0.1, 100, "Volume that is wanted")

    @part.quantity(unit="m", label="Volume of the tank", words="Height times ground.", formula="tank_height*tank_area", source=SOURCE)
    def tank_volume(tank_height: float, tank_area: float) -> float:
        return tank_height * tank_area

    @part.check(
        label="Tank large enough",
        words="Its volume, not below what is wanted.",
        value="tank_volume",
        at_least="volume_wanted",
        safety=True,
        formula='IF(ROUND(tank_volume,6)>=ROUND(volume_wanted,6),"PASS","FAIL")',
        source=SOURCE,
        sentences={PASS: "It is.", FAIL: "It is not: choose a larger one."},
    )
    def large(tank_volume: float, volume_wanted: float) -> object:
        return where_pass(np.round(tank_volume, 6) >= np.round(volume_wanted, 6), FAIL)

    return part


BOUND = {"tank_height": "other_height", "tank_area": "other_area"}


def test_what_is_repeated_has_the_same_formulas_with_the_names_of_the_other_thing() -> None:
    part = tanks()
    part.repeat(Repeat("second", "Second tank", ("check_large",), BOUND))
    (chapter,) = assembled([part])
    volume, check = chapter.quantities[-1], chapter.checks[-1]
    assert (volume.name, volume.formula) == ("second_tank_volume", "other_height*other_area")
    assert volume.label == "Second tank: Volume of the tank"
    assert volume.parameters == ["other_height", "other_area"]
    assert volume.function(2.0, 3.0) == 6.0
    assert (check.name, check.value, check.at_least) == ("check_second_large", "second_tank_volume", "volume_wanted")
    assert check.formula == 'IF(ROUND(second_tank_volume,6)>=ROUND(volume_wanted,6),"PASS","FAIL")'
    assert check.safety
    assert [str(check.function(volume, 5.0)) for volume in (4.0, 6.0)] == [FAIL, PASS]


def test_a_repeated_value_may_be_named_and_labelled_otherwise() -> None:
    part = tanks()
    names, labels = {"tank_volume": "cistern"}, {"tank_volume": "Volume of the cistern"}
    part.repeat(Repeat("second", "Second tank", ("tank_volume",), BOUND, names, labels))
    (chapter,) = assembled([part])
    assert (chapter.quantities[-1].name, chapter.quantities[-1].label) == ("cistern", "Volume of the cistern")


@pytest.mark.parametrize(
    ("targets", "bound", "says"),
    [
        (
            ("check_large",),
            {"tank_height": "other_height", "tank_depth": "other_area"},
            "is bound, but no target rests on it; got tank_depth",
        ),
        (("tank_size",), BOUND, "is no quantity or check; got tank_size"),
        (("tank_volume",), {"volume_wanted": "other_area"}, "rests on nothing that is bound; got tank_volume"),
    ],
)
def test_a_repeat_that_repeats_nothing_is_refused_by_name(targets: tuple[str, ...], bound: dict[str, str], says: str) -> None:
    part = tanks()
    part.repeat(Repeat("second", "Second tank", targets, bound))
    with pytest.raises(DeclarationError, match=says.replace(";", ".*")):
        assembled([part])
