"""Advice that several checks share: numbers that fail no other check either, and what is said where there is none."""

SERIES_ADVISED = (
    "At most ",
    "series_advised",
    " of these modules in series meet every voltage limit that is entered.",
    "No number of these modules in series is known to meet every voltage limit.",
)
STRINGS_ADVISED = (
    "At most ",
    "parallel_advised",
    " of these strings in parallel fail none of the checks on the sheet Arrangements.",
    "No number of these strings in parallel is known to pass them all.",
)
