"""The one type of what reference functions take and give."""

from __future__ import annotations

from typing import Any, TypeAlias

Value: TypeAlias = Any
"""A number, a text or a truth value; for many designs at once a numpy array of these; in the tests of units a pint quantity.

No narrower type can be said: numpy's functions take all three and give back what they were given, which their declared
types do not express. What a value is, its declaration says: kind and unit.
"""
Values: TypeAlias = dict[str, Value]
"""Values by their keys."""
