"""The examples in docstrings do what they show."""

from __future__ import annotations

import doctest
import pkgutil
from importlib import import_module

import pytest

import workbook_builder

MODULES = [workbook_builder.__name__, *(module.name for module in pkgutil.walk_packages(workbook_builder.__path__, "workbook_builder."))]
EXAMPLES = {
    example.name: example
    for name in MODULES
    for example in doctest.DocTestFinder(exclude_empty=True).find(import_module(name))
    if example.examples
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_gives_what_it_shows(name: str) -> None:
    said: list[str] = []
    result = doctest.DocTestRunner().run(EXAMPLES[name], out=said.append)
    assert result.failed == 0, "".join(said)


def test_there_are_examples_to_run() -> None:
    assert EXAMPLES
