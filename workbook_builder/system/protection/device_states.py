"""Whether there is an overcurrent protective device, of an answer in words and a rating; each of them may stay blank."""

from __future__ import annotations

from typing import Any

import numpy as np

FUSE, BREAKER, NONE, NOT_KNOWN = DEVICES = ("fuse", "circuit breaker", "none", "not known")
FITTED, CONTRADICTION = "fitted", "contradiction"


def answer_formula(device: str) -> str:
    """Return the formula of what an answer says, by its name: a device is fitted, there is none, or that is not known."""
    return f'IF(OR({device}="{FUSE}",{device}="{BREAKER}"),"{FITTED}",IF({device}="{NONE}","{NONE}","{NOT_KNOWN}"))'


def answer_of(device: Any) -> Any:
    """Return what an answer says of a device."""
    fitted = (device == FUSE) | (device == BREAKER)
    return np.where(fitted, FITTED, np.where(device == NONE, NONE, NOT_KNOWN))


def state_formula(answer: str, rating: str) -> str:
    """Return the formula of the state of a device, by the names of what the answer says and of the rating."""
    return f'IF({rating}="",{answer},IF({answer}="{NONE}","{CONTRADICTION}","{FITTED}"))'


def state_of(answer: Any, rating: Any) -> Any:
    """Return the state of a device: a rating says that there is one, and contradicts the answer that there is none."""
    return np.where(np.isnan(rating), answer, np.where(answer == NONE, CONTRADICTION, FITTED))
