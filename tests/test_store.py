"""One contract for every store: what the port says, in memory and in a file alike."""

import dataclasses

import pytest
from books import batch, event, fill

from ledger.event import ZERO
from ledger.store.errors import (
    BrokenWall,
    HeadMoved,
    NoSuch,
)
from ledger.store.memory import MemoryStore
from ledger.store.port import Head, derive, seal
from ledger.store.rows import OPEN_ROW, POSTING, flat_open_row, flat_posting
from ledger.store.sqlite import SqliteStore


@pytest.fixture(params=["memory", "sqlite"])
def store(request, tmp_path):
    made = MemoryStore() if request.param == "memory" else SqliteStore.create(tmp_path / "a book #1?.sqlite")
    yield made
    made.close()


def test_an_empty_book_stands_at_nothing(store):
    assert store.head() == Head(0, ZERO, ZERO, "")
    assert [*store.events(), *store.postings(), *store.open_rows(), *store.batches(), *store.texts()] == []
    assert [*store.posting_rows(), *store.open_row_rows(), *store.subjects()] == []
    assert store.damage() == []


def test_what_goes_in_comes_out(store):
    first = batch(text="é\n\t\u0000 'quoted'")
    with store.begin() as writing:
        head = writing.append(first, Head())
        assert writing.head() == head
        second = batch(head, 3)
        head = writing.append(second, head)
    assert store.head() == head == Head(5, second.events[-1].leaf, second.journal, second.events[-1].columns.recorded)
    assert tuple(store.events()) == first.events + second.events
    assert tuple(store.postings()) == first.postings + second.postings
    assert tuple(store.open_rows()) == first.open_rows + second.open_rows
    assert list(store.batches()) == [first.row, second.row]
    assert tuple(store.texts()) == first.texts
    assert store.text(first.texts[0].commit) == "é\n\t\u0000 'quoted'"
    assert sorted(store.subjects()) == sorted(first.subjects + second.subjects)
    assert store.subject_seqs("a-0000000004") == [4]
    assert store.subject_seqs("a-nobody0000") == []


def test_rows_after_one_position_up_to_another(store):
    fill(store, 4)
    assert [event.columns.seq for event in store.events(2, 6)] == [3, 4, 5, 6]
    assert [event.columns.seq for event in store.events(kinds={"death"}, upto=4)] == [2, 3, 4]
    assert [event.columns.seq for event in store.events(kinds=())] == []
    assert [row.known_from for row in store.batches(2, 6)] == [4, 6]
    assert (
        {row.known_from for row in store.postings(2, 6)} == {4, 6} == {row.known_from for row in store.open_rows(2, 6)}
    )
    assert [*store.postings(8), *store.open_rows(8), *store.events(8)] == []
    flat = [row for page in store.posting_rows(4) for row in page]
    assert flat == [flat_posting(row) for row in store.postings(4)]
    assert len(flat[0]) == len(POSTING)
    flat = [row for page in store.open_row_rows(4) for row in page]
    assert flat == [flat_open_row(row) for row in store.open_rows(4)]
    assert len(flat[0]) == len(OPEN_ROW)


def test_a_reading_begun_does_not_see_what_comes_later(store):
    fill(store, 2)
    begun = [store.events(), store.postings(), store.open_rows(), store.batches()]
    fill(store, 1)
    assert [len(list(rows)) for rows in begun] == [4, 6, 6, 2]


def test_one_event_by_position_and_by_id(store):
    fill(store)
    found = store.event(3)
    assert store.by_event_id(found.columns.event_id) == found
    assert store.seq_of("event_id", [found.columns.event_id, "none"]) == {found.columns.event_id: 3}
    for ask in (lambda: store.event(7), lambda: store.event(0), lambda: store.by_event_id("none")):
        with pytest.raises(NoSuch, match="there is no event"):
            ask()
    with pytest.raises(NoSuch, match="not in the book"):
        store.text("ab" * 32)
    with pytest.raises(ValueError, match="bytes"):
        store.seq_of("bytes", [])


def test_nothing_of_a_transaction_that_fails_stays(store):
    head = fill(store)
    before = [list(store.events()), list(store.postings()), list(store.texts()), list(store.subjects())]
    with pytest.raises(KeyboardInterrupt), store.begin() as writing:  # noqa: PT012  # both, in one transaction
        writing.append(batch(head, text="lost"), head)
        raise KeyboardInterrupt
    assert store.head() == head
    assert before == [list(store.events()), list(store.postings()), list(store.texts()), list(store.subjects())]
    fill(store)
    assert store.head().position == 12


def test_an_append_on_another_head_is_refused(store):
    fill(store)
    stale = store.head()
    fill(store, 1)
    with store.begin() as writing, pytest.raises(HeadMoved, match="stands at 8, not at 6"):
        writing.append(batch(stale), stale)
    assert store.head().position == 8


def test_one_transaction_at_a_time(store):
    with store.begin(), pytest.raises(BrokenWall, match="open already"), store.begin():
        pass
    with store.reading(), store.reading():
        assert store.head() == Head()


def _changed(wrong, field):
    lines = list(wrong.postings)
    last = wrong.events[-1]
    return {
        "gap": lambda: dataclasses.replace(wrong, events=wrong.events[1:]),
        "fork": lambda: dataclasses.replace(
            wrong, events=(wrong.events[0]._replace(columns=wrong.events[0].columns._replace(prev=ZERO)), last)
        ),
        "batch end": lambda: dataclasses.replace(
            wrong, events=(wrong.events[0], last._replace(columns=last.columns._replace(batch_end=99)))
        ),
        "no events": lambda: dataclasses.replace(wrong, events=()),
        "known earlier": lambda: dataclasses.replace(wrong, postings=(lines[0]._replace(known_from=2), *lines[1:])),
        "because of another": lambda: dataclasses.replace(wrong, postings=(lines[0]._replace(because=1), *lines[1:])),
        "sum": lambda: dataclasses.replace(wrong, postings=tuple(lines[1:])),
        "sum on a day": lambda: dataclasses.replace(
            wrong, postings=(lines[0]._replace(line=lines[0].line._replace(counts_on=9)), *lines[1:])
        ),
        "row known earlier": lambda: dataclasses.replace(
            wrong, open_rows=(wrong.open_rows[0]._replace(known_from=2), *wrong.open_rows[1:])
        ),
    }[field]()


@pytest.mark.parametrize(
    "field",
    [
        *("gap", "fork", "batch end", "no events", "known earlier", "because of another", "sum", "sum on a day"),
        "row known earlier",
    ],
)
def test_a_batch_that_does_not_fit_is_refused_whole(store, field):
    head = fill(store)
    with pytest.raises(BrokenWall), store.begin() as writing:
        writing.append(_changed(batch(head), field), head)
    assert store.head() == head


@pytest.mark.parametrize("name", ["event_id", "supersedes", "row_key"])
def test_an_id_a_supersession_and_a_row_of_a_file_stand_once(store, name):
    head = fill(store)
    taken = store.event(2).columns.event_id if name == "event_id" else "ab" * 32
    one = batch(head, 1, **{name: taken})
    if name != "event_id":
        with store.begin() as writing:
            head = writing.append(one, head)
        assert store.seq_of(name, [taken]) == {taken: 7}
        one = batch(head, 1, **{name: taken})
    with pytest.raises(BrokenWall), store.begin() as writing:
        writing.append(one, head)
    assert store.head() == head


def test_a_text_and_a_batch_stand_once(store):
    first = batch(text="twice")
    with store.begin() as writing:
        head = writing.append(first, Head())
    for again in (
        dataclasses.replace(batch(head), texts=first.texts),
        dataclasses.replace(batch(head), batch_id=first.batch_id),
    ):
        with pytest.raises(BrokenWall), store.begin() as writing:
            writing.append(again, head)
    assert store.head() == head


def test_columns_come_from_the_content():
    at = "2026-03-05T09:14:03.120442Z"
    content = event(7, ZERO, ZERO, {"id": "x", "no": 2, "of": 4}, at, supersedes="s", row_key="k")
    assert derive(content) == (7, content["event_id"], "death", *["2026-03-05"] * 2, at, "s", "k", 9, ZERO)
    assert seal(content).columns == derive(content)
