"""The benchmark's bulk path writes what the door in writes: the same bytes, chain, lines, open rows and index."""

import itertools

import pytest

from tests.bench.books import begin, by_the_door, in_bulk

EVENTS = 4_200  # the register of the benchmark's world is 3,259 of them


def everything(store):
    return {
        "events": list(store.events()),
        "postings": list(store.postings()),
        "open rows": list(store.open_rows()),
        "batches": list(store.batches()),
        "subjects": list(store.subjects()),
    }


@pytest.fixture(scope="module")
def books():
    made = []
    for way in (by_the_door, in_bulk):
        book, chance, world = begin(":memory:", 7)
        way(book, chance, world, EVENTS)
        made.append(everything(book.store))
    return made


@pytest.mark.parametrize("what", ["events", "postings", "open rows", "batches", "subjects"])
def test_the_bulk_path_writes_what_the_door_writes(books, what):
    door, bulk = books
    assert door[what] == bulk[what]


def test_the_world_has_what_it_says(books):
    events = books[0]["events"]
    kinds = {event.columns.kind for event in events}
    assert {"hatching", "move", "death", "count", "sexing", "measurement", "transfer", "pairing", "void"} <= kinds
    told = [e.columns for e in events if e.columns.seq > 3_262]
    late = sum(earlier.last > later.last for earlier, later in itertools.pairwise(told))
    assert late > len(told) / 100 and any(c.supersedes for c in told)
