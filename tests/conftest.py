"""Which tests a worker takes together: those that open the same workbook in the same engine open it once."""

from __future__ import annotations

import re

import pytest

from tests.strategies import PROFILES

OPENED = re.compile("|".join((*PROFILES, "libreoffice", "ironcalc", "formulas")))
# the files that take longest, begun first so that no worker is left alone with one of them
LONG = ("test_curve_catalogue", "test_published_cases", "test_mutation", "test_properties", "test_fail_safe")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        group = "-".join((item.path.stem, *sorted(set(OPENED.findall(item.name)))))
        item.add_marker(pytest.mark.xdist_group(group))
    items.sort(key=lambda item: LONG.index(item.path.stem) if item.path.stem in LONG else len(LONG))
