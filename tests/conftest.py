"""Which tests a worker takes together: those that open the same workbook in the same engine open it once."""

from __future__ import annotations

import gc
import re
from pathlib import PurePosixPath
from typing import Any

import pytest
from xdist.scheduler import LoadScopeScheduling

from tests.strategies import PROFILES

OPENED = re.compile("|".join((*PROFILES, "libreoffice", "ironcalc", "formulas")))
# the files that take longest, begun first so that no worker is left alone with one of them
LONG = ("test_curve_catalogue", "test_published_cases", "test_mutation", "test_properties", "test_fail_safe")


def pytest_sessionstart() -> None:
    """Look for garbage seldom: models and plans are millions of objects that stay, and each look goes through all of them."""
    gc.set_threshold(200_000, 20, 1000)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=lambda item: LONG.index(item.path.stem) if item.path.stem in LONG else len(LONG))


def group_of(test: str) -> str:
    """The tests of a file that open the same workbook in the same engine; those of a long file that name none go one by one."""
    path, _, name = test.partition("::")
    stem, opened = PurePosixPath(path).stem, sorted(set(OPENED.findall(name)))
    return name if stem in LONG and not opened else "-".join((stem, *opened))


class ByWorkbook(LoadScopeScheduling):
    """Hands whole groups of tests to the workers, in their order."""

    def _split_scope(self, nodeid: str) -> str:
        return group_of(nodeid)


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> ByWorkbook:
    config.option.loadscopereorder = False
    return ByWorkbook(config, log)
