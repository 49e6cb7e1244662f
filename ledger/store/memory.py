"""A book in memory: for tests, trials and rehearsals. The same walls as the file, by the same words."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from ledger.event import TextRow
from ledger.posting import Posting, Weighted
from ledger.store.errors import BrokenWall, HeadMoved, NoSuch
from ledger.store.port import Batch, BatchRow, Head, Segment, StoredEvent
from ledger.store.rows import flat_open_row, flat_posting

_LOOKED_UP = ("event_id", "row_key", "supersedes")


@dataclass
class _Rows:
    """All tables, in the order of recording."""

    events: list[StoredEvent] = field(default_factory=list)
    postings: list[Posting] = field(default_factory=list)
    open_rows: list[Weighted] = field(default_factory=list)
    batches: list[BatchRow] = field(default_factory=list)
    texts: dict[str, TextRow] = field(default_factory=dict)
    by_subject: dict[str, list[int]] = field(default_factory=dict)
    lookup: dict[str, dict[str, int]] = field(default_factory=lambda: {name: {} for name in _LOOKED_UP})

    def copy(self) -> _Rows:
        """What a transaction goes back to."""
        return _Rows(
            self.events[:],
            self.postings[:],
            self.open_rows[:],
            self.batches[:],
            dict(self.texts),
            {subject: seqs[:] for subject, seqs in self.by_subject.items()},
            {name: dict(found) for name, found in self.lookup.items()},
        )

    def add(self, batch: Batch) -> None:
        """Rows of a batch that fits."""
        for event in batch.events:
            for name, found in self.lookup.items():
                value = getattr(event.columns, name)
                if value in found:
                    raise BrokenWall(f"the {name} {value} is there already")
                if value is not None:
                    found[value] = event.columns.seq
        for text in batch.texts:
            if text.commit in self.texts:
                raise BrokenWall(f"the text {text.commit} is there already")
            self.texts[text.commit] = text
        for subject, seq in sorted(set(batch.subjects)):
            self.by_subject.setdefault(subject, []).append(seq)
        if any(row.batch_id == batch.batch_id for row in self.batches):
            raise BrokenWall(f"the batch {batch.batch_id} is there already")
        self.events += batch.events
        self.postings += batch.postings
        self.open_rows += batch.open_rows
        self.batches.append(batch.row)


class MemoryStore:
    """The port over Python lists; reader, transaction and store in one."""

    place = "memory"

    def __init__(self) -> None:
        self._rows = _Rows()
        self._writing = False

    @contextmanager
    def begin(self) -> Iterator[MemoryStore]:
        """The one writing transaction."""
        if self._writing:
            raise BrokenWall("memory: a transaction is open already.")
        before: _Rows = self._rows
        self._rows, self._writing = before.copy(), True
        try:
            yield self
        except BaseException:
            self._rows = before
            raise
        finally:
            self._writing = False

    def append(self, batch: Batch, expected: Head) -> Head:
        """Append where the head is `expected`."""
        if not self._writing:
            raise BrokenWall("memory: nothing is appended outside a transaction.")
        if self.head() != expected:
            raise HeadMoved(f"memory stands at {self.head().position}, not at {expected.position}; read it again.")
        batch.fits(expected)
        self._rows.add(batch)
        return self.head()

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Nobody else writes here."""
        yield

    def head(self) -> Head:
        """Where the book stands."""
        if not self._rows.events:
            return Head()
        last = self._rows.events[-1]
        return Head(last.columns.seq, last.leaf, self._rows.batches[-1].journal, last.columns.recorded)

    def _limit(self, upto: int | None) -> int:
        return len(self._rows.events) if upto is None else upto

    def events(
        self, after: int = 0, upto: int | None = None, kinds: Collection[str] | None = None
    ) -> Iterator[StoredEvent]:
        """Events in order."""
        found = self._rows.events[after : self._limit(upto)]
        return iter([event for event in found if kinds is None or event.columns.kind in kinds])

    def event(self, seq: int) -> StoredEvent:
        """One event by position."""
        if not 1 <= seq <= len(self._rows.events):
            raise NoSuch(f"there is no event #{seq}.")
        return self._rows.events[seq - 1]

    def by_event_id(self, event_id: str) -> StoredEvent:
        """One event by its UUID."""
        if event_id not in self._rows.lookup["event_id"]:
            raise NoSuch(f"there is no event {event_id}.")
        return self.event(self._rows.lookup["event_id"][event_id])

    def seq_of(self, column: str, values: Iterable[str]) -> dict[str, int]:
        """Positions by value, of those there are."""
        if column not in _LOOKED_UP:
            raise ValueError(column)
        found = self._rows.lookup[column]
        return {value: found[value] for value in values if value in found}

    def subject_seqs(self, subject: str) -> list[int]:
        """Positions of the events that speak of a subject."""
        return self._rows.by_subject.get(subject, [])[:]

    def subjects(self) -> Iterator[tuple[str, int]]:
        """The whole index of subjects, sorted."""
        return iter(sorted((subject, seq) for subject, seqs in self._rows.by_subject.items() for seq in seqs))

    def postings(self, after: int = 0, upto: int | None = None) -> Iterator[Posting]:
        """Lines of the journal."""
        limit = self._limit(upto)
        return iter([row for row in self._rows.postings if after < row.known_from <= limit])

    def open_rows(self, after: int = 0, upto: int | None = None) -> Iterator[Weighted]:
        """Open rows with their weights."""
        limit = self._limit(upto)
        return iter([row for row in self._rows.open_rows if after < row.known_from <= limit])

    def posting_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        """Lines of the journal, flat."""
        return iter([found] if (found := [flat_posting(row) for row in self.postings(after, upto)]) else [])

    def open_row_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        """Open rows, flat."""
        return iter([found] if (found := [flat_open_row(row) for row in self.open_rows(after, upto)]) else [])

    def batches(self, after: int = 0, upto: int | None = None) -> Iterator[BatchRow]:
        """Batches in order."""
        limit = self._limit(upto)
        return iter([row for row in self._rows.batches if after < row.known_from <= limit])

    def segments(self) -> list[Segment]:
        """None: there is no folder to put them in."""
        return []

    def list_segments(self, segments: Iterable[Segment]) -> None:
        """Refused: there is no folder to put them in."""
        raise BrokenWall(f"memory: a book in memory has no segments; {len(list(segments))} were to be listed.")

    def text(self, commit: str) -> str:
        """A detached text."""
        if commit not in self._rows.texts:
            raise NoSuch(f"the text {commit[:12]}… is not in the book (erased, or never written).")
        return self._rows.texts[commit].text

    def texts(self) -> Iterator[TextRow]:
        """All detached texts."""
        return iter(list(self._rows.texts.values()))

    def damage(self) -> list[str]:
        """Memory has no file to damage."""
        return []

    def close(self) -> None:
        """Nothing to let go of."""
