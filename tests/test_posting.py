"""The difference of two histories: applied to the old one it gives the new one, whatever the two are."""

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.acts import Cell
from ledger.posting import (
    Line,
    OpenRow,
    Weighted,
    day_number,
    day_text,
    difference,
    row_difference,
    standing_rows,
    unbalanced,
)

CELLS = [Cell("t-1", sex, place, "", "", "collection") for sex in ("male", "female") for place in ("dead", "born")]
LINES = st.lists(
    st.builds(
        Line, st.integers(1, 2), st.just("a-1"), st.sampled_from(CELLS), st.sampled_from([-2, -1, 1, 2]),
        st.just("died"), st.integers(1, 2), st.just(1),
    ),
    max_size=8,
)  # fmt: skip
ROWS = st.lists(
    st.builds(
        OpenRow, st.just("a-1"), st.integers(1, 2), st.just(0), st.just(1), st.just(2), st.integers(0, 1),
        st.sampled_from([*CELLS[:2], None]), st.integers(0, 1),
    ),
    max_size=8,
)  # fmt: skip


def _summed(lines):
    total = Counter()
    for line in lines:
        total[line._replace(delta=0)] += line.delta
    return {line: delta for line, delta in total.items() if delta}


@settings(max_examples=300, deadline=None)
@given(LINES, LINES)
def test_old_and_difference_are_new(new, old):
    posted = difference(new, old)
    assert _summed([*old, *posted]) == _summed(new)
    assert len(posted) == len(_summed(posted))  # nothing twice, nothing of zero
    assert posted == sorted(posted)
    assert difference(new, new) == []


@settings(max_examples=300, deadline=None)
@given(ROWS, ROWS)
def test_open_rows_put_in_and_taken_back_leave_the_new_ones(new, old):
    posted = row_difference(new, old)
    weighted = [Weighted(1, row, 1) for row in old] + [Weighted(2, row, weight) for row, weight in posted]
    assert set(standing_rows(weighted, 2)) == set(new)
    assert set(standing_rows(weighted, 1)) == set(old)
    assert all(weight for _, weight in posted)
    assert row_difference(new, new) == []


def test_lines_that_do_not_sum_to_zero_are_named_by_taxon_and_day():
    line = Line(1, "a-1", CELLS[0], 2, "died", 5, 5)
    assert unbalanced([line, line._replace(cell=CELLS[1], delta=-2)]) == {}
    assert unbalanced([line, line._replace(delta=-2, counts_on=6)]) == {("t-1", 5): 2, ("t-1", 6): -2}


def test_days():
    assert day_text(day_number("2024-02-29")) == "2024-02-29"
