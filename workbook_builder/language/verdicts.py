"""The words of the judgements, and small pieces that the reference functions of the checks share."""

from typing import Any

import numpy as np

PASS, FAIL, NOTE, NOT_APPLICABLE, NOT_JUDGED, INCOMPLETE = "PASS", "FAIL", "NOTE", "N/A", "NOT JUDGED", "INCOMPLETE"
NOT_KNOWN = "not known"  # a choice that answers no more than a blank


def where_pass(condition: Any, otherwise: str) -> Any:
    """Return PASS where the condition holds, and another verdict where it does not."""
    return np.where(condition, PASS, otherwise)
