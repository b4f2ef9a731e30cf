"""The charts of a built workbook, read from its parts: what they say, where their points stand, and which points."""

from __future__ import annotations

import re
import zipfile
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree

import numpy as np
import openpyxl
import pytest

from tests.compared import expected_cells
from tests.engines import engine
from tests.support import entries, evaluation, whole_example, write_stale
from workbook_builder.file.building import build

NS = {
    "c": "http://schemas.openxmlformats.org/drawingml/2006/chart",
    "a": "http://schemas.openxmlformats.org/drawingml/2006/main",
    "xdr": "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing",
}
CURRENT, POWER, USABLE = range(3)
AXES = [
    ("Array voltage (V)", "Current (A)"),
    ("Array voltage (V)", "Power (W)"),
    ("Battery voltage (V)", "Power into the battery (W)"),
]


def chart_parts(path: Path) -> tuple[list[ElementTree.Element], list[ElementTree.Element]]:
    """The charts of a file and the drawings that place them, in the order of the file."""
    with zipfile.ZipFile(path) as archive:
        names = sorted(archive.namelist())
        charts = [archive.read(name) for name in names if re.fullmatch(r"xl/charts/chart\d+\.xml", name)]
        drawings = [archive.read(name) for name in names if re.fullmatch(r"xl/drawings/drawing\d+\.xml", name)]
    return [ElementTree.fromstring(part) for part in charts], [ElementTree.fromstring(part) for part in drawings]


@cache
def parts() -> tuple[list[ElementTree.Element], list[ElementTree.Element]]:
    """Charts and drawings of the example as it is built."""
    with TemporaryDirectory() as folder:
        return chart_parts(build(whole_example(), Path(folder) / "example.xlsx").path)


@cache
def recalculated() -> dict[str, Any]:
    """What LibreOffice shows in every formula cell, from a workbook whose stored values are all stale."""
    with TemporaryDirectory() as folder, engine("libreoffice").open(write_stale(Path(folder) / "stale.xlsx")) as book:
        return dict(book.formula_values(entries(whole_example())))


def series_of(chart: int) -> list[ElementTree.Element]:
    return parts()[0][chart].findall(".//c:scatterChart/c:ser", NS)


def words(element: ElementTree.Element | None) -> str:
    return "" if element is None else "".join(piece.text or "" for piece in element.iterfind(".//a:t", NS))


def title(series: ElementTree.Element) -> str:
    return (series.findtext("c:tx/c:v", "", NS) or series.findtext("c:tx//c:f", "", NS)).strip('"')


def places(series: ElementTree.Element, axis: str) -> list[tuple[str, str]]:
    """Sheet and address of each point of a series along one axis."""
    reference = series.findtext(f"c:{axis}/c:numRef/c:f", "", NS)
    found = re.fullmatch(r"'?([^'!]+)'?!\$([A-Z]+)\$(\d+)(?::\$([A-Z]+)\$(\d+))?", reference)
    assert found, f"reference {reference!r}"
    sheet, column, first, last_column, last = found.groups()
    assert last_column in (None, column)
    return [(sheet, f"{column}{row}") for row in range(int(first), int(last or first) + 1)]


def points(series: ElementTree.Element) -> np.ndarray:
    shown = recalculated()
    both = [[shown[f"{sheet}!{cell}"] for sheet, cell in places(series, axis)] for axis in ("xVal", "yVal")]
    return np.array(both, dtype=float)


def test_three_charts_stand_on_the_sheet_of_power(tmp_path: Path) -> None:
    charts, drawings = parts()
    assert sum(len(drawing.findall(".//xdr:graphicFrame", NS)) for drawing in drawings) == len(charts) >= len(AXES)
    book = openpyxl.load_workbook(build(whole_example(), tmp_path / "example.xlsx").path)
    assert len(book["Power"]._charts) == len(AXES)
    titles = [words(chart.find("c:chart/c:title", NS)) for chart in charts]
    assert all(titles)
    assert len(set(titles)) == len(titles)


@pytest.mark.parametrize("chart", range(3))
def test_axes_are_titled_with_their_units(chart: int) -> None:
    titles = [words(axis.find("c:title", NS)) for axis in parts()[0][chart].findall(".//c:valAx", NS)]
    assert sorted(titles) == sorted(AXES[chart])
    assert all(re.search(r"\((V|A|W)\)$", text) for text in titles)


def test_every_axis_of_every_chart_of_the_workbook_has_a_title() -> None:
    for chart in parts()[0]:
        axes = [axis for kind in ("valAx", "catAx", "dateAx") for axis in chart.iterfind(f".//c:{kind}", NS)]
        assert len(axes) == 2
        assert all(words(axis.find("c:title", NS)) for axis in axes), words(chart.find("c:chart/c:title", NS))


def test_each_chart_is_told_in_words_to_those_who_cannot_see_it() -> None:
    told = [
        shape.get("descr", "")
        for drawing in parts()[1]
        for shape in drawing.iterfind(".//xdr:graphicFrame/xdr:nvGraphicFramePr/xdr:cNvPr", NS)
    ]
    assert len(told) == len(parts()[0])
    assert all(len(text) > 80 for text in told)
    assert len(set(told)) == len(told)


def look(series: ElementTree.Element) -> tuple[str, str]:
    dash = series.find("c:spPr/a:ln/a:prstDash", NS)
    hidden = series.find("c:spPr/a:ln/a:noFill", NS) is not None
    mark = series.find("c:marker/c:symbol", NS)
    return "none" if hidden else "solid" if dash is None else dash.get("val", ""), "" if mark is None else mark.get("val", "")


@pytest.mark.parametrize("chart", range(3))
def test_lines_differ_without_colour(chart: int) -> None:
    """Two upright lines bound one band and share a look; every other series can be told from each other in grey."""
    looks = [look(series) for series in series_of(chart) if not title(series).startswith("battery ")]
    assert len(looks) >= 4
    assert len(set(looks)) == len(looks)
    assert all(dash != "none" or mark not in ("", "none") for dash, mark in looks), "a series that cannot be seen"


@pytest.mark.parametrize("chart", range(3))
def test_series_are_named_each_differently(chart: int) -> None:
    names = [title(series) for series in series_of(chart)]
    assert all(names)
    assert len(set(names)) == len(names)
    assert parts()[0][chart].find(".//c:legend", NS) is not None


@pytest.mark.parametrize("chart", range(3))
def test_every_point_stands_in_a_formula_cell_that_shows_the_references_number(chart: int) -> None:
    shown, reference = recalculated(), expected_cells(whole_example())
    for series in series_of(chart):
        x, y = places(series, "xVal"), places(series, "yVal")
        assert len(x) == len(y) > 0
        for sheet, cell in x + y:
            value = shown[f"{sheet}!{cell}"]
            assert isinstance(value, float), f"{sheet}!{cell}: {value!r}"
            assert value == pytest.approx(reference[f"{sheet}!{cell}"], rel=1e-9)


@pytest.mark.parametrize("chart", range(3))
def test_programs_that_do_not_calculate_draw_the_same_points(chart: int) -> None:
    """The points stored in the chart itself are those of the cells."""
    for series in series_of(chart):
        for axis, wanted in zip(("xVal", "yVal"), points(series), strict=True):
            stored = [float(v.text or "nan") for v in series.iterfind(f"c:{axis}/c:numRef/c:numCache/c:pt/c:v", NS)]
            assert stored == pytest.approx(wanted, rel=1e-9)


def named(chart: int) -> dict[str, np.ndarray]:
    return {title(series): points(series) for series in series_of(chart)}


@pytest.mark.parametrize(
    ("series", "condition"),
    [("standard test conditions", "stc"), ("hottest afternoon", "hot"), ("full sun, battery coldest", "cold")],
)
def test_drawn_curves_run_from_short_circuit_to_open_circuit_through_the_peak(series: str, condition: str) -> None:
    values = evaluation().all_values(whole_example())
    v, i = named(CURRENT)[series]
    assert v[0] == 0
    assert i[0] == pytest.approx(3 * values[f"conditions_{condition}_isc"], rel=1e-3)
    assert i[-1] == pytest.approx(0, abs=0.05 * i[0])
    assert v[-1] == pytest.approx(2 * values[f"conditions_{condition}_voc_top"], rel=0.01)
    assert (np.diff(v) >= 0).all()
    assert (np.diff(i) <= 0).all()
    assert np.array_equal(named(POWER)[series], [v, v * i])
    peak = 6 * values[f"peak_{condition}_pmp"]
    assert (v * i).max() <= peak * (1 + 1e-9)
    assert (v * i).max() == pytest.approx(peak, rel=0.01)


@pytest.mark.parametrize("condition", ["stc", "hot", "cold"])
def test_marks_lie_on_their_curves_where_the_battery_holds_the_array(condition: str) -> None:
    values = evaluation().all_values(whole_example())
    words_of = {"stc": "standard test conditions", "hot": "hottest afternoon", "cold": "full sun, battery coldest"}[condition]
    mark = named(CURRENT)[f"PWM at absorption, {words_of}"][:, 0]
    assert mark[0] == pytest.approx(28.8 + 0.2 + mark[1] * values["cable_r"])
    assert mark[1] == pytest.approx(values[f"operating_{condition}_absorb_i"])
    curve = named(CURRENT)[words_of]
    assert np.interp(mark[0], *curve) == pytest.approx(mark[1], rel=0.01)
    assert named(POWER)[f"PWM at absorption, {words_of}"][:, 0] == pytest.approx([mark[0], mark[0] * mark[1]])


def test_the_band_of_the_battery_is_bounded_by_its_lowest_and_highest_voltage() -> None:
    values = evaluation().all_values(whole_example())
    drops = values["controller_v_drop"] + values["cable_v_assumed"]  # the drop of entered cables follows the current
    for chart, height in ((CURRENT, values["array_isc_max"]), (POWER, values["array_pmp"])):
        low, high = named(chart)["battery low"], named(chart)["battery highest"]
        assert low[0] == pytest.approx([values["battery_v_low"] + drops] * 2)
        assert high[0] == pytest.approx([values["battery_v_high"] + drops] * 2)
        for edge in (low, high):
            assert sorted(edge[1])[0] == 0
            assert max(edge[1]) >= height


def test_usable_power_is_drawn_for_every_condition_over_the_batterys_voltages() -> None:
    values = evaluation().all_values(whole_example())
    drawn = named(USABLE)
    assert len(drawn) == 4
    levels = ("low", "nominal", "float", "absorb", "high")
    for (v, p), condition in zip(drawn.values(), ("stc", "noct", "hot", "cold"), strict=True):
        assert p == pytest.approx([values[f"operating_{condition}_{level}_p"] for level in levels])
        assert v == pytest.approx([values[f"operating_{condition}_{level}_battery"] for level in levels])


def test_a_blank_workbook_draws_nothing_and_shows_no_error(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(build({}, tmp_path / "blank.xlsx").path, data_only=True)
    for chart in (CURRENT, POWER):
        for series in series_of(chart):
            for axis in ("xVal", "yVal"):
                assert {book[sheet][cell].value for sheet, cell in places(series, axis)} == {0}
