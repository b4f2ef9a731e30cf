"""Some of the files that are spoilt by chance; python -m tests.fuzzing tries as many as one likes."""

from __future__ import annotations

import random

import pytest

from tests.fuzzing import KINDS, READ, REFUSED, spoilt_bytes, spoilt_text, tried
from tests.strategies import TIMES


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_spoilt_by_chance_is_read_or_refused_in_words(kind: str) -> None:
    cases = 30 * TIMES
    ends, faults, _ = tried(kind, cases, 1)
    assert not faults, "\n".join(faults)
    assert ends[READ] + ends[REFUSED] == cases
    assert ends[REFUSED]


def test_what_is_spoilt_by_chance_is_spoilt_alike_each_time() -> None:
    for _ in range(2):
        assert spoilt_bytes(b"abcdefgh" * 9, random.Random(3)) == spoilt_bytes(b"abcdefgh" * 9, random.Random(3))
        assert spoilt_text("abcdefgh" * 9, random.Random(3)) == spoilt_text("abcdefgh" * 9, random.Random(3))
    assert len({spoilt_text("abcdefgh" * 9, random.Random(seed)) for seed in range(9)}) > 5
