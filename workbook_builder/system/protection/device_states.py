"""Whether there is an overcurrent protective device, of an answer in words and a rating; each of them may stay blank."""

from __future__ import annotations

from typing import Any

import numpy as np

FUSE, BREAKER, NONE, NOT_KNOWN = DEVICES = ("fuse", "circuit breaker", "none", "not known")
FITTED, CONTRADICTION = "fitted", "contradiction"


def device_state_formula(device: str, rating: str) -> str:
    """Return the formula of the state of a device, by the names of its answer and of its rating."""
    fitted = f'IF(OR({device}="{FUSE}",{device}="{BREAKER}",{rating}<>""),"{FITTED}","{NOT_KNOWN}")'
    return f'IF({device}="{NONE}",IF({rating}="","{NONE}","{CONTRADICTION}"),{fitted})'


def device_state(device: Any, rating: Any) -> Any:
    """Return the state of a device: a rating says that there is one, and contradicts the answer that there is none."""
    unrated = np.isnan(rating)
    fitted = (device == FUSE) | (device == BREAKER) | ~unrated
    answered = np.where(fitted, FITTED, NOT_KNOWN)
    return np.where(device == NONE, np.where(unrated, NONE, CONTRADICTION), answered)
