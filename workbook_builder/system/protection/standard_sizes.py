"""Standard sizes of fuses and breakers, as formulas and as the reference find them in the profile's list."""

from __future__ import annotations

from typing import Any

import numpy as np


def next_size(amps: str) -> str:
    """Return the formula of the smallest standard size that is not below a named current, which must not be above the largest."""
    return f'INDEX(standard_ratings_amps,COUNTIF(standard_ratings_amps,"<"&ROUND({amps},9))+1)'


def largest_size(amps: str) -> str:
    """Return the formula of the largest standard size that is not above a named current; 0 where the smallest is above it."""
    below = f"INDEX(standard_ratings_amps,MATCH(ROUND({amps},9),standard_ratings_amps,1))"
    return f"IF(ROUND({amps},9)<MIN(standard_ratings_amps),0,{below})"


def largest_below(standard_ratings: Any, amps: Any) -> Any:
    """Return the largest standard size that is not above a current, in amperes; 0 where the smallest is above it."""
    size = standard_ratings.band(amps, "amps", "amps")
    return np.where(np.isnan(size) & ~np.isnan(amps), 0 * amps, size)
