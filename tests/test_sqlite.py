"""What only the file of a book has: walls of its own against strange hands, recognition, settings, crashes."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest
from books import batch, fill

from ledger.event import ZERO
from ledger.store import sqlite_file
from ledger.store.errors import (
    BookExists,
    Locked,
    NewerBook,
    NoBook,
    NotABook,
    ReadOnly,
    SchemaChanged,
    StoreTrouble,
    UnsafeJournal,
)
from ledger.store.rows import OPEN_ROW, POSTING
from ledger.store.sqlite import SqliteStore
from ledger.store.sqlite_reader import columns


@pytest.fixture
def path(tmp_path):
    with closing(SqliteStore.create(tmp_path / "book.sqlite")) as made:
        fill(made)
    return tmp_path / "book.sqlite"


def test_a_reader_cannot_write_and_a_writer_does_not_wait_for_one(path):
    with closing(SqliteStore(path)) as reader, closing(SqliteStore(path, write=True)) as writer:
        with pytest.raises(ReadOnly, match="open for reading"), reader.begin():
            pass
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            reader._connection.execute("INSERT INTO text VALUES (x'00', x'00', '')")
        begun = reader.events()
        next(begun)  # a reading half done holds nothing
        fill(writer, 1)
        assert len(list(begun)) == 5
        assert reader.head().position == 8


def test_a_second_writer_waits_and_then_says_so(path, monkeypatch):
    monkeypatch.setattr(sqlite_file, "WAIT_SECONDS", 0.05)
    with closing(SqliteStore(path, write=True)) as one, closing(SqliteStore(path, write=True)) as two:
        with one.begin(), pytest.raises(Locked, match="another program is writing"), two.begin():
            pass
        fill(two, 1)


def test_the_settings_of_a_connection(path):
    wanted = {"trusted_schema": 0, "cell_size_check": 1, "recursive_triggers": 1, "secure_delete": 1}
    for write, more in (
        (True, {"journal_mode": "delete", "synchronous": 3, "query_only": 0}),
        (False, {"query_only": 1}),
    ):
        with closing(SqliteStore(path, write=write)) as store:
            assert store._connection.isolation_level is None
            for name, value in (wanted | more).items():
                assert store._connection.execute(f"PRAGMA {name}").fetchone() == (value,), name


def _raw(path):
    return closing(sqlite3.connect(path, isolation_level=None))


@pytest.mark.parametrize("table", ["event", "batch", "posting", "open_row", "text", "subject_event"])
@pytest.mark.parametrize("verb", ["UPDATE {} SET {} = {}", "DELETE FROM {} --{}{}", "INSERT OR REPLACE INTO {} {} {}"])
def test_no_table_loses_or_changes_a_row_whoever_asks(path, table, verb):
    with _raw(path) as strange:  # a connection without our settings
        rows = strange.execute(f"SELECT * FROM {table}").fetchall()
        column = strange.execute(f"SELECT name FROM pragma_table_info('{table}')").fetchone()[0]
        what = (f"SELECT * FROM {table}", "") if verb.startswith("INSERT") else (f'"{column}"', f'"{column}"')
        with pytest.raises(sqlite3.IntegrityError, match=r"only grows|there already|does not follow"):
            strange.execute(verb.format(table, *what))
        assert strange.execute(f"SELECT * FROM {table}").fetchall() == rows


def test_insert_or_replace_cannot_take_an_older_event_away(path):
    for column, value in (("event_id", None), ("supersedes", "s"), ("row_key", "k")):
        with closing(SqliteStore(path, write=True)) as store:
            head = store.head()
            if value:
                with store.begin() as writing:
                    head = writing.append(batch(head, 1, **{column: value}), head)
            taken = value or store.event(2).columns.event_id
            new = batch(head, 1, **{column: taken}).events[0]
        with _raw(path) as strange, pytest.raises(sqlite3.IntegrityError, match="there already"):
            strange.execute(
                f"INSERT OR REPLACE INTO event VALUES ({','.join('?' * 12)})", (*new.columns, new.leaf, new.data)
            )


def test_nothing_is_added_to_a_batch_that_stands(path):
    with _raw(path) as strange:
        again = "INSERT INTO {0} SELECT id + 1, {1} FROM {0} ORDER BY id DESC LIMIT 1"
        for sql in (
            again.format("posting", columns(POSTING)),
            again.format("open_row", columns(OPEN_ROW)),
            "INSERT INTO subject_event VALUES (0, 'a-planted000', 6)",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="does not follow"):
                strange.execute(sql)


def test_an_event_with_another_leaf_before_it_is_refused_by_the_file_itself(path):
    with closing(SqliteStore(path)) as store:
        new = batch(store.head(), 1).events[0]
    for changed in (new.columns._replace(prev=ZERO), new.columns._replace(seq=8), new.columns._replace(seq=5)):
        with _raw(path) as strange, pytest.raises(sqlite3.IntegrityError, match=r"does not follow|there already"):
            strange.execute(f"INSERT INTO event VALUES ({','.join('?' * 12)})", (*changed, new.leaf, new.data))


def test_what_is_not_a_book_is_told(tmp_path, path):
    with pytest.raises(NoBook, match="there is no book"):
        SqliteStore(tmp_path / "none.sqlite")
    with pytest.raises(NoBook, match="folder"):
        SqliteStore.create(tmp_path / "no folder" / "book.sqlite")
    with pytest.raises(BookExists, match="exists already"):
        SqliteStore.create(path)
    assert not (tmp_path / "none.sqlite").exists()
    for name, content in (("empty", b""), ("text", b"These are notes, and they are long enough." * 40)):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(NotABook, match="not a book"):
            SqliteStore(tmp_path / name)
    with _raw(tmp_path / "other") as other:
        other.execute("CREATE TABLE t (x)")
    with pytest.raises(NotABook, match="not a book"):
        SqliteStore(tmp_path / "other", write=True)
    with pytest.raises(NotABook, match="not a file"):
        SqliteStore(tmp_path)


@pytest.mark.parametrize(("version", "told"), [(2, NewerBook), (0, NotABook)])
def test_a_schema_of_another_number_is_not_opened(path, version, told):
    with _raw(path) as strange:
        strange.execute(f"PRAGMA user_version={version}")
    with pytest.raises(told):
        SqliteStore(path)


def test_write_ahead_mode_is_refused_where_it_is_not_safe(path, monkeypatch):
    with _raw(path) as strange:
        strange.execute("PRAGMA journal_mode=WAL")
    monkeypatch.setattr(sqlite_file, "SAFE_WAL", (99, 0, 0))
    for write in (True, False):
        with pytest.raises(UnsafeJournal, match="write-ahead"):
            SqliteStore(path, write=write)
    monkeypatch.setattr(sqlite_file, "SAFE_WAL", (3, 0, 0))
    with closing(SqliteStore(path, write=True)) as store:
        assert store._connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


PLANTED = {
    "does not belong here": "CREATE TRIGGER planted AFTER INSERT ON posting BEGIN SELECT 1; END",
    "the table more does not belong": "CREATE TABLE more (x)",
    "the view more does not belong": "CREATE VIEW more AS SELECT 1",
    "the trigger text_stays is missing": "DROP TRIGGER text_stays",
    "the index event_row_key is missing": "DROP INDEX event_row_key",
    "the table posting is not as shipped": "ALTER TABLE posting ADD COLUMN note TEXT",
}


@pytest.mark.parametrize("said", PLANTED)
def test_a_changed_schema_is_told_at_opening_and_before_the_next_write(path, said):
    with closing(SqliteStore(path, write=True)) as open_already:
        with _raw(path) as strange:
            strange.execute(PLANTED[said])
        with pytest.raises(SchemaChanged, match=said):
            SqliteStore(path)
        with pytest.raises(SchemaChanged, match=said), open_already.begin():
            pass
        assert any(said in sentence for sentence in open_already.damage())


def test_what_a_database_does_to_itself_is_no_change(path):
    with _raw(path) as strange:
        strange.execute("ANALYZE")
        strange.execute("VACUUM")
    with closing(SqliteStore(path, write=True)) as store:
        fill(store, 1)
        assert store.damage() == []


def test_a_protected_file_is_read_and_not_written(path, monkeypatch):
    monkeypatch.setattr(os, "access", lambda *_: False)  # whoever runs the tests, root too
    with closing(SqliteStore(path)) as store:
        assert store.head().position == 6
    with pytest.raises(ReadOnly, match="may not be written by you"):
        SqliteStore(path, write=True)


def test_what_sqlite_refuses_is_told_in_words(path):
    with closing(SqliteStore(path, write=True)) as store:
        head = store.head()
        store._connection.execute("PRAGMA query_only=ON")  # as a disk that has become read-only
        with pytest.raises(ReadOnly, match="may not be written"), store.begin() as writing:
            writing.append(batch(head), head)
        store._connection.execute("PRAGMA query_only=OFF")
        store._connection.execute(
            f"PRAGMA max_page_count={store._connection.execute('PRAGMA page_count').fetchone()[0]}"
        )
        with pytest.raises(StoreTrouble, match="disk is full"), store.begin() as writing:
            writing.append(batch(head, 50), head)
        assert (store.head(), store.damage()) == (head, [])


def test_a_writer_killed_in_the_middle_leaves_nothing_and_no_lock(path):
    program = (
        "import os, sys; sys.path[:0] = sys.argv[2:]\n"
        "from books import batch; from ledger.store.sqlite import SqliteStore\n"
        "store = SqliteStore(sys.argv[1], write=True)\n"
        "store._connection.execute('PRAGMA cache_size=1')  # so that pages reach the file before the commit\n"
        "with store.begin() as writing:\n"
        "    head = writing.head()\n"
        "    for _ in range(20): head = writing.append(batch(head, 20), head)\n"
        "    os._exit(9)\n"
    )
    ended = subprocess.run([sys.executable, "-c", program, path, *sys.path], check=False)
    assert ended.returncode == 9
    assert path.with_name(path.name + "-journal").exists()
    with closing(SqliteStore(path)) as store:  # a reader comes first, and rolls back
        assert (store.head().position, store.damage()) == (6, [])
    with closing(SqliteStore(path, write=True)) as store:
        assert fill(store, 1).position == 8


def test_reading_a_book_does_not_import_sqlmodel():
    program = "import sys, ledger.verify, ledger.store.sqlite; sys.exit('sqlmodel' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def _shape(connection):
    """Tables and indexes as SQLite understands them, whatever the words they were made with."""
    ask = lambda sql: sorted(connection.execute(sql).fetchall())  # noqa: E731
    tables = ask("SELECT name, wr, strict FROM pragma_table_list WHERE schema = 'main' AND name NOT LIKE 'sqlite_%'")
    indexes = "SELECT l.\"unique\", l.origin, l.partial FROM pragma_index_list('{}') l"
    partial = "SELECT name, replace(sql, '\"', '') FROM sqlite_schema WHERE type = 'index' AND sql IS NOT NULL"
    return (
        tables,
        ask(partial),
        [
            (
                ask(f"SELECT cid, name, type, \"notnull\", pk FROM pragma_table_info('{t[0]}')"),
                ask(indexes.format(t[0])),
            )
            for t in tables
        ],
    )


def test_the_shipped_schema_is_that_of_the_sqlmodel_tables():
    from sqlalchemy import create_engine

    from ledger.store.tables import Table

    engine = create_engine("sqlite://")
    with engine.begin() as link, closing(sqlite3.connect(":memory:")) as shipped:
        Table.metadata.create_all(link)
        shipped.executescript(sqlite_file.schema_text())
        tables = _shape(link.connection)
        expected = _shape(shipped)
    engine.dispose()
    assert [name.replace(" (", "(") for _, name in expected[1]] == [name.replace(" (", "(") for _, name in tables[1]]
    assert (tables[0], tables[2]) == (expected[0], expected[2])
