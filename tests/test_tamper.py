"""One byte changed anywhere is found, by name; and an untouched book is found untouched."""

import sqlite3
from contextlib import closing

import orjson
import pytest
from books import batch, fill, refold

from ledger.chain import digest
from ledger.event import canonical, commit_text, leaf
from ledger.store.memory import MemoryStore
from ledger.store.port import Head
from ledger.store.sqlite import SqliteStore
from ledger.verify import verify


@pytest.fixture
def path(tmp_path):
    """Six batches of two events; events 1, 3, 5 … have a text."""
    with closing(SqliteStore.create(tmp_path / "book.sqlite")) as made:
        fill(made, 6)
    return tmp_path / "book.sqlite"


def _change(path, sql, given=()):
    """What a clever hand does: take the walls down, change a row, put the walls up again word for word."""
    with closing(sqlite3.connect(path, isolation_level=None)) as strange:
        walls = strange.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in walls:
            strange.execute(f"DROP TRIGGER {name}")
        changed = strange.execute(sql, given).rowcount
        for _, wall in walls:
            strange.execute(wall)
    assert changed == 1, sql


def _verify(path):
    with closing(SqliteStore(path)) as store:
        return verify(store, refold)


def _parts(report, seq):
    """Which parts differ; the first bad event must be this one."""
    assert not report.whole
    assert min(fault.seq or 99 for fault in report.faults) == seq, report.faults
    assert (f"event #{seq}" in report.sentence()) == (seq < 99)
    return {fault.part for fault in report.faults}


def test_canary_an_untouched_book_is_whole(path):
    report = _verify(path)
    assert report.faults == ()
    assert (report.head.position, report.batches, report.lines, report.texts) == (12, 6, 22, 6)
    assert (report.missing_texts, report.refolded) == ((), True)
    assert report.sentence() == f"{path}: 12 events, 6 batches, 22 lines: all as written."


def test_canary_walls_taken_down_and_put_up_again_are_no_change(path):
    _change(path, "UPDATE event SET kind = kind WHERE seq = 3")
    assert _verify(path).whole


def test_memory_is_verified_alike():
    store = MemoryStore()
    fill(store)
    assert verify(store, refold).whole
    assert not verify(store).refolded
    store._rows.events[3] = store._rows.events[3]._replace(data=store._rows.events[2].data)
    assert _parts(verify(store), 4) >= {"leaf", "chain"}


def _event(path, seq):
    with closing(SqliteStore(path)) as store:
        return store.event(seq).data


@pytest.mark.parametrize("place", range(0, 560, 37))
def test_one_byte_of_an_event(path, place):
    data = bytearray(_event(path, 5))
    data[place] ^= 1
    _change(path, "UPDATE event SET bytes = ? WHERE seq = 5", (bytes(data),))
    assert "leaf" in _parts(_verify(path), 5)


def test_an_event_written_anew_with_its_leaf(path):
    content = orjson.loads(_event(path, 5)) | {"actor": "p-0000000000"}
    data = canonical(content)
    _change(path, "UPDATE event SET bytes = ?, leaf = ? WHERE seq = 5", (data, leaf(data)))
    assert _parts(_verify(path), 6) == {"chain"}  # event 6 does not follow it


def test_the_last_event_cut_off_shows_in_the_batch(path):
    _change(path, "DELETE FROM event WHERE seq = 12")
    assert "batch" in _parts(_verify(path), 12)


def test_an_event_taken_out(path):
    _change(path, "DELETE FROM event WHERE seq = 5")
    assert "chain" in _parts(_verify(path), 5)


@pytest.mark.parametrize(
    ("column", "value"),
    [
        *(("kind", "birth"), ("first", None), ("last", "2026-03-06"), ("recorded", "2026-03-05T09:00:00.000000Z")),
        *(("supersedes", "x"), ("row_key", "x"), ("batch_end", 7), ("event_id", "x"), ("prev", bytes(32))),
        ("leaf", bytes(32)),
    ],
)
def test_a_column_beside_the_bytes(path, column, value):
    _change(path, f'UPDATE event SET "{column}" = ? WHERE seq = 5', (value,))
    assert _parts(_verify(path), 5) == {"leaf" if column == "leaf" else "columns"}


@pytest.mark.parametrize("seq", [1, 5, 11])
def test_one_byte_of_a_text(path, seq):
    _change(path, "UPDATE text SET text = 'Found on the pump intakE.' WHERE rowid = ?", ((seq + 1) // 2,))
    assert _parts(_verify(path), seq) == {"text"}


def test_a_salt(path):
    _change(path, "UPDATE text SET salt = ? WHERE rowid = 2", (bytes(32),))
    assert _parts(_verify(path), 3) == {"text"}


def test_a_text_nobody_wrote(path):
    salt = bytes(32)
    _change(path, "INSERT INTO text VALUES (?, ?, 'x')", (bytes.fromhex(commit_text(salt, "x")), salt))
    assert _parts(_verify(path), 99) == {"text"}


def test_a_missing_text_is_told_and_no_fault(path):
    _change(path, "DELETE FROM text WHERE rowid = 2")
    report = _verify(path)
    assert report.whole
    assert report.missing_texts == (orjson.loads(_event(path, 3))["payload"]["note"]["commit"],)


POSTING = [
    *(("delta", 2), ("subject", "a-0000000004"), ("counts_on", "2026-03-06"), ("could_from", "not a day")),
    *(("taxon", "t-0000000000"), ("sex", "male"), ("place", "missing"), ("holder", "h-0000000000"), ("owner", "h")),
    *(("standing", "study"), ("reason", "re_housed"), ("effect", 1), ("because", 6), ("subject", "a\tb\n")),
]


@pytest.mark.parametrize(("column", "value"), POSTING)
def test_one_value_of_a_line(path, column, value):
    _change(path, f'UPDATE posting SET "{column}" = ? WHERE because = 5 AND delta = 1', (value,))
    assert _parts(_verify(path), 6) >= {"journal", "rules"}


def test_a_line_taken_out_or_moved_to_another_batch(path):
    _change(path, "DELETE FROM posting WHERE because = 5 AND delta = 1")
    assert _parts(_verify(path), 6) >= {"journal", "sum", "rules"}


@pytest.mark.parametrize("known_from", [4, 5, 7, 99])
def test_a_line_known_from_elsewhere(path, known_from):
    _change(path, "UPDATE posting SET known_from = ? WHERE because = 5 AND delta = 1", (known_from,))
    assert _parts(_verify(path), min(known_from, 6)) >= {"journal", "rules"}


@pytest.mark.parametrize("table", ["posting", "open_row"])
def test_a_line_behind_the_last_batch(path, table):
    with closing(sqlite3.connect(path)) as strange:
        names = [row[0] for row in strange.execute(f"SELECT name FROM pragma_table_info('{table}')")][1:]
    _change(path, f"INSERT INTO {table} SELECT 999, {', '.join(names)} FROM {table} WHERE id = 1")
    assert _parts(_verify(path), 99) == {"file"}


def test_the_last_line_of_all_is_held_by_the_rules_alone(path):
    """The digest after the last batch is in no event yet: whoever mends the batch's row too is seen by the refold."""
    with closing(SqliteStore(path)) as store:
        *_, before, last = store.batches()
        lines = list(store.postings(10))
    lines = [row._replace(line=row.line._replace(reason="missing")) if row.because == 11 else row for row in lines]
    for sign in (1, -1):
        _change(path, "UPDATE posting SET reason = 'missing' WHERE because = 11 AND delta = ?", (sign,))
    _change(path, "UPDATE batch SET journal = ? WHERE known_from = 12", (digest(before.journal, lines),))
    assert _parts(_verify(path), 12) == {"rules"}
    assert last.known_from == 12


def test_the_journal_of_an_earlier_batch_is_bound_by_the_events_after_it(path):
    _change(path, "UPDATE batch SET journal = ? WHERE known_from = 6", (bytes(32),))
    assert {(fault.part, fault.seq) for fault in _verify(path).faults} == {("journal", n) for n in (6, 7, 8)}


@pytest.mark.parametrize(("column", "value"), [("batch_id", "x"), ("first_seq", 4), ("known_from", 5)])
def test_the_row_of_a_batch(path, column, value):
    _change(path, f"UPDATE batch SET {column} = ? WHERE known_from = 6", (value,))
    with closing(SqliteStore(path)) as store:
        assert "batch" in {fault.part for fault in verify(store, refold).faults}


@pytest.mark.parametrize(
    ("column", "value"),
    [("n", 3), ("weight", -1), ("state", 2), ("to_day", "2026-03-07"), ("choice", 6), ("place", "dead"), ("part", 1)],
)
def test_one_value_of_an_open_row(path, column, value):
    _change(path, f"UPDATE open_row SET {column} = ? WHERE choice = 5 AND state = 0", (value,))
    assert _parts(_verify(path), 6) == {"open rows"}


def test_an_open_row_taken_out_or_known_from_elsewhere(path):
    _change(path, "UPDATE open_row SET known_from = 7 WHERE choice = 5 AND state = 0")
    assert _parts(_verify(path), 6) >= {"open rows"}
    _change(path, "DELETE FROM open_row WHERE choice = 5 AND state = 1")
    assert _parts(_verify(path), 6) >= {"open rows"}


def test_the_index_of_subjects(path):
    _change(path, "DELETE FROM subject_event WHERE seq = 5")
    assert _parts(_verify(path), 5) == {"subjects"}
    _change(path, "INSERT INTO subject_event VALUES (0, 'a-planted000', 4)")
    assert _parts(_verify(path), 4) == {"subjects"}


def test_a_trigger_planted_while_the_book_is_open(path):
    with closing(SqliteStore(path)) as store:
        with closing(sqlite3.connect(path)) as strange:
            strange.execute("CREATE TRIGGER planted AFTER INSERT ON posting BEGIN SELECT 1; END")
        assert _parts(verify(store, refold), 99) == {"file"}


def test_a_damaged_file(path):
    with closing(SqliteStore(path)) as store:
        page = store._connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'event_row_key'").fetchone()[
            0
        ]
    data = bytearray(path.read_bytes())
    data[(page - 1) * 4096] ^= 0xFF
    path.write_bytes(data)
    with closing(SqliteStore(path)) as store:
        assert any("damaged" in sentence for sentence in store.damage())


def test_every_sort_of_wrong_envelope_is_told():
    """Events that the chain holds together and that are no envelope: the fault of a program, found all the same."""
    wrong = {
        "actor": "kim",
        "basis": "guessed",
        "clock": "2026-03-05T09:14:03Z",
        "envelope": 2,
        "kind": "Death",
        "observed_by": ["kim"],
        "payload": {"note": ""},
        "reason": {"text": "why"},
        "row_key": "x",
        "source": {"kind": "sheet", "page": 2},
        "version": 0,
        "accepted": [{"code": "late", "because": "x"}],
        "client": "",
        "occurred": {"edtf": "2026", "first": "2026-03-06", "last": "2026-03-05"},
        "supersedes": 3,
    }
    for key, value in wrong.items():
        store, head = MemoryStore(), Head()
        for size in (2, 1):
            with store.begin() as writing:
                head = writing.append(batch(head, size, **({key: value} if size == 1 else {})), head)
        assert _parts(verify(store), 3) == {"form"}, key
