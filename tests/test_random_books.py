"""Random books against the oracle: every census, every range, every earlier answer, every refusal.

Each test draws its own books, so that they spread over the cores. `-s` prints what was seen; more examples with
TIDEMARK_EXAMPLES=10, others with TIDEMARK_SEED=1.
"""

from __future__ import annotations

from collections import Counter

import pytest
from oracle.compare import TALLY, tally
from oracle.machine import EXAMPLES, run

PARTS = 8


def _told(before: Counter[str], name: str) -> None:
    """Print what this test saw, and fail where the generator has gone blind."""
    seen = tally(before, name)
    tried = seen["accepted"] + seen["refused"]
    assert seen["refused"] <= 0.6 * tried, "most batches are refused: the generator no longer tells plausible histories"
    assert seen["points"] > seen["books"], "nothing was compared"
    if EXAMPLES >= 1:
        assert seen["ranges open"] and seen["told anew"] and seen["recorded already"], "something is never tried"


def test_a_generator_gone_blind_is_noticed() -> None:
    """The limit on refusals can fail, and so can a run that compares nothing."""
    for seen in ({"refused": 7, "accepted": 3, "points": 9}, {"refused": 1, "accepted": 9, "books": 3}):
        before = Counter(TALLY)
        TALLY.update(seen)
        with pytest.raises(AssertionError):
            _told(before, "blind")
        TALLY.clear()
        TALLY.update(before)


@pytest.mark.parametrize("part", range(PARTS))
def test_books_in_memory(part: int) -> None:
    before = Counter(TALLY)
    run(300, part)
    _told(before, f"memory {part}")


@pytest.mark.parametrize("part", range(2))
def test_books_in_a_file(part: int) -> None:
    before = Counter(TALLY)
    run(80, 100 + part, in_file=True)
    _told(before, f"SQLite {part}")
    if EXAMPLES >= 1:
        assert (TALLY - before)["reopened"], "no book was closed and opened again"
