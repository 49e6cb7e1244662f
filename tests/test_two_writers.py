"""Two programs append to one book at once: no fork, no gap, nothing lost. And weaker ways are seen to fail."""

import subprocess
import sys
from contextlib import closing

import pytest

from ledger.chain import check_chain
from ledger.store.sqlite import SqliteStore
from ledger.verify import verify

EACH = 40
PROGRAM = """
import sys, time
from pathlib import Path
way, book, who, each = sys.argv[1:5]
sys.path[:0] = sys.argv[5:]
import books
from ledger.chance import SeededChance
from ledger.store.errors import StoreError
from ledger.store.sqlite import SqliteStore

books.CHANCE = SeededChance(who, "2026-03-05T09:00:00Z")
if way == "deferred":
    SqliteStore._begin_word = "BEGIN"
store = SqliteStore(book, write=True)
Path(f"{book}.{who}").touch()
while len(list(Path(book).parent.glob("*.writer?"))) < 2:
    time.sleep(0.001)
for _ in range(int(each)):
    try:
        head = store.head()  # read in no transaction: what a store without walls would do
        time.sleep(0.002)
        with store.begin() as writing:
            if way != "outside":
                head = writing.head()
                time.sleep(0.002)
            writing.append(books.batch(head, 2), writing.head())
    except StoreError as error:
        print(type(error).__name__, flush=True)
"""


def _both(tmp_path, way):
    """Runs two writers to their end; gives what went wrong in each, and the book."""
    path = tmp_path / "book.sqlite"
    SqliteStore.create(path).close()
    running = [
        subprocess.Popen(
            [sys.executable, "-c", PROGRAM, way, path, who, str(EACH), *sys.path], stdout=subprocess.PIPE, text=True
        )
        for who in ("writer1", "writer2")
    ]
    said = [process.communicate(timeout=120)[0].split() for process in running]
    assert [process.returncode for process in running] == [0, 0]
    return said, path


def test_two_writers_at_once_make_one_chain(tmp_path):
    said, path = _both(tmp_path, "immediate")
    assert said == [[], []]
    with closing(SqliteStore(path)) as store:
        events = list(store.events())
        assert [event.columns.seq for event in events] == list(range(1, 4 * EACH + 1))
        assert check_chain(event.data for event in events).faults == ()
        assert verify(store).faults == ()
        writers = [row.batch_id for row in store.batches()]
    assert len(set(writers)) == 2 * EACH


@pytest.mark.parametrize(("way", "failed"), [("deferred", "Locked"), ("outside", "BrokenWall")])
def test_canary_weaker_ways_fail_and_the_walls_hold(tmp_path, way, failed):
    said, path = _both(tmp_path, way)
    assert {*said[0], *said[1]} == {failed}
    with closing(SqliteStore(path)) as store:  # entries were refused; what stands is still one chain
        assert verify(store).faults == ()
        assert store.head().position < 4 * EACH
