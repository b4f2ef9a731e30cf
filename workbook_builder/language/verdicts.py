"""Small pieces that the reference functions of the checks share."""

from typing import Any

import numpy as np

from workbook_builder.language.declare import PASS


def where_pass(condition: Any, otherwise: str) -> Any:
    """Return PASS where the condition holds, and another verdict where it does not."""
    return np.where(condition, PASS, otherwise)
