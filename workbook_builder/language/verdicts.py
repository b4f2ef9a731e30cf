"""The words of the judgements, and small pieces that the reference functions of the checks share."""

from typing import Any

import numpy as np

PASS, FAIL, NOTE, NOT_APPLICABLE, INCOMPLETE = "PASS", "FAIL", "NOTE", "N/A", "INCOMPLETE"


def where_pass(condition: Any, otherwise: str) -> Any:
    """Return PASS where the condition holds, and another verdict where it does not."""
    return np.where(condition, PASS, otherwise)
