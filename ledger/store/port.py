"""The port: what any store of a book must do, and the rows that pass through it.

A book needs little: append a batch where the head is the one it read, read from a position on, read one
subject, read the head. All tables only ever grow, so a reader that fixes `upto` sees one state of the book
over many short readings, and never holds a writer up.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

from ledger.event import ZERO, Event, TextRow, encode, leaf
from ledger.posting import Posting, Weighted, unbalanced
from ledger.store.errors import BrokenWall


class Derived(NamedTuple):
    """Columns beside the bytes, each taken from them; `batch_end` is the position of the batch's last event."""

    seq: int
    event_id: str
    kind: str
    first: str | None
    last: str
    recorded: str
    supersedes: str | None
    row_key: str | None
    batch_end: int
    prev: bytes


class StoredEvent(NamedTuple):
    """One event as it stands in a store."""

    columns: Derived
    leaf: bytes
    data: bytes


class BatchRow(NamedTuple):
    """A batch: position of its last event, of its first, its id, and the journal digest after it (32 bytes)."""

    known_from: int
    first_seq: int
    batch_id: str
    journal: bytes


class Segment(NamedTuple):
    """A file of the reading copy: rows of one of its tables that became known after a position, up to another.

    `file`: its name in the folder of segments; `sha256` of the whole file, 32 bytes.
    """

    holds: str
    after: int
    upto: int
    rows: int
    file: str
    sha256: bytes


class Head(NamedTuple):
    """Where a book stands: events in it, leaf of the last, journal digest, when the last was recorded ("" if none)."""

    position: int = 0
    leaf: bytes = ZERO
    journal: bytes = ZERO
    recorded: str = ""


def derive(event: Event | dict[str, Any]) -> Derived:
    """The columns that the content of an event gives."""
    mark, days = event["batch"], event["occurred"]
    return Derived(
        event["seq"],
        event["event_id"],
        event["kind"],
        days["first"],
        days["last"],
        event["recorded"],
        event["supersedes"],
        event["row_key"],
        event["seq"] - mark["no"] + mark["of"],
        bytes.fromhex(event["prev"]),
    )


def seal(event: Event) -> StoredEvent:
    """An event made of normalised parts, as it will stand: bytes, leaf, columns. Raises BadValue over 64 KiB."""
    data = encode(event)
    return StoredEvent(derive(event), leaf(data), data)


@dataclass(frozen=True, slots=True)
class Batch:
    """What lands at once or not at all.

    `subjects`: (subject id, seq) of every subject an event speaks of; `journal`: the digest after this batch.
    """

    batch_id: str
    events: tuple[StoredEvent, ...]
    journal: bytes
    postings: tuple[Posting, ...] = ()
    open_rows: tuple[Weighted, ...] = ()
    texts: tuple[TextRow, ...] = ()
    subjects: tuple[tuple[str, int], ...] = ()

    @property
    def row(self) -> BatchRow:
        """The batch's own row."""
        return BatchRow(self.end, self.events[0].columns.seq, self.batch_id, self.journal)

    @property
    def end(self) -> int:
        """Position of its last event: from there all of it is known."""
        return self.events[-1].columns.seq

    def fits(self, head: Head) -> None:
        """Raise BrokenWall unless it follows `head` without gap or fork, is known as a whole, and sums to zero."""
        if not self.events:
            raise BrokenWall("a batch has at least one event")
        position, prev, end = head.position, head.leaf, self.end
        for event in self.events:
            position += 1
            if event.columns.seq != position or event.columns.prev != prev:
                raise BrokenWall(f"event {event.columns.seq} does not follow event {position - 1}")
            if event.columns.batch_end != end:
                raise BrokenWall(f"event {position} says its batch ends at {event.columns.batch_end}, not {end}")
            prev = event.leaf
        first = self.events[0].columns.seq
        known = {posting.known_from for posting in self.postings} | {row.known_from for row in self.open_rows}
        if known - {end} or any(not first <= posting.because <= end for posting in self.postings):
            raise BrokenWall(f"a line of the batch that ends at {end} is not known from there because of it")
        if left := unbalanced(posting.line for posting in self.postings):
            raise BrokenWall(f"the lines of the batch that ends at {end} do not sum to zero: {left}")


class Reader(Protocol):
    """What every store answers. `after` and `upto` are positions: rows known after the one, by the other.

    `upto` None: up to the head when the reading begins. Order is always that of recording.
    """

    def head(self) -> Head:
        """Where the book stands."""

    def events(
        self, after: int = 0, upto: int | None = None, kinds: Collection[str] | None = None
    ) -> Iterator[StoredEvent]:
        """Events in order; of these kinds only, where given."""

    def event(self, seq: int) -> StoredEvent:
        """One event by position; raises NoSuch."""

    def by_event_id(self, event_id: str) -> StoredEvent:
        """One event by its UUID; raises NoSuch."""

    def seq_of(self, column: str, values: Iterable[str]) -> dict[str, int]:
        """Positions by value, of those there are; `column` is `event_id`, `row_key` or `supersedes`."""

    def subject_seqs(self, subject: str) -> list[int]:
        """Positions of the events that speak of a subject, rising; empty where none does."""

    def postings(self, after: int = 0, upto: int | None = None) -> Iterator[Posting]:
        """Lines of the journal, batch by batch."""

    def open_rows(self, after: int = 0, upto: int | None = None) -> Iterator[Weighted]:
        """Open rows with their weights, batch by batch."""

    def posting_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        """The same lines by the thousand, each a flat tuple of `rows.POSTING`."""

    def open_row_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        """The same open rows by the thousand, each a flat tuple of `rows.OPEN_ROW`."""

    def batches(self, after: int = 0, upto: int | None = None) -> Iterator[BatchRow]:
        """Batches in order."""

    def subjects(self) -> Iterator[tuple[str, int]]:
        """The whole index of subjects, sorted."""

    def segments(self) -> list[Segment]:
        """Segments of the reading copy, in the order of their listing."""

    def text(self, commit: str) -> str:
        """A detached text by its commitment (hex); raises NoSuch."""

    def texts(self) -> Iterator[TextRow]:
        """All detached texts, in no order."""


class Transaction(Reader, Protocol):
    """A reader that alone may write until it ends."""

    def append(self, batch: Batch, expected: Head) -> Head:
        """Append where the head is `expected`, and give the new head. Raises HeadMoved, BrokenWall."""

    def list_segments(self, segments: Iterable[Segment]) -> None:
        """List files of the reading copy; of two for the same rows the later listing holds."""


class Store(Reader, Protocol):
    """A book's store. `place` says where it is, in words for people."""

    place: str

    def begin(self) -> AbstractContextManager[Transaction]:
        """The one writing transaction: commits where the block ends well, else leaves nothing.

        Raises Locked, ReadOnly, SchemaChanged.
        """

    def reading(self) -> AbstractContextManager[None]:
        """Several questions on one state of the store. Keep it short: a writer cannot commit meanwhile."""

    def damage(self) -> list[str]:
        """What is wrong with the store as such (file, schema), a sentence each; empty where nothing is."""

    def close(self) -> None:
        """Let go of the file; anything asked afterwards is an error."""
