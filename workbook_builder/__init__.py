"""Workbooks whose live formulas judge whether a PV array, a charge controller and a battery fit together.

The public functions are imported on first use, so that asking the command line for help stays quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from workbook_builder.evaluation.evaluation import evaluate
    from workbook_builder.file.building import Built, build

__version__ = "0.1.0"
__all__ = ["Built", "__version__", "build", "evaluate"]

_HOMES = {
    "Built": "workbook_builder.file.building",
    "build": "workbook_builder.file.building",
    "evaluate": "workbook_builder.evaluation.evaluation",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module  # noqa: PLC0415

    return getattr(import_module(_HOMES[name]), name)
