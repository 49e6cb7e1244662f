"""The reading copy: journal, open rows and event log of one book, in memory, where every figure is one SUM.

DuckDB is known here and nowhere else. Rows come from the store as plain rows and go in as Arrow columns; SQL
stands in `sql/*.sql`; polars frames come out. A question always brings its own two dates: the days it asks
about and the log position up to which things are known. Nothing here has a default date.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

import duckdb
import orjson
import polars as pl

from ledger.chain import digest, merkle_root
from ledger.event import ZERO
from ledger.posting import Posting
from ledger.store.errors import NoSuch
from ledger.store.port import BatchRow, Head, StoredEvent
from ledger.store.rows import OPEN_ROW, POSTING, typed_posting

_SQL: Final = Path(__file__).with_name("sql")
_EVENT: Final = (
    *("seq", "root", "known_from", "kind", "edtf", "first_day", "last_day", "recorded", "actor", "payload", "leaf"),
    *("event_id", "reason", "words"),
)
_BATCH: Final = ("last_seq", "first_seq", "recorded", "journal")
_WHOLE: Final = frozenset(
    (
        *("known_from", "because", "effect", "delta", "choice", "part", "state", "n", "weight"),
        *("seq", "root", "last_seq", "first_seq"),
    )
)


class Store(Protocol):
    """What the copy asks of a store (`ledger.store.port.Reader` has all of it)."""

    def head(self) -> Head:
        """Where the book stands."""

    def events(self, after: int = 0, upto: int | None = None) -> Iterator[StoredEvent]:
        """Events in order."""

    def posting_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        """Lines of the journal by the thousand, flat."""

    def open_row_rows(self, after: int = 0, upto: int | None = None) -> Iterator[list[tuple[Any, ...]]]:
        """Open rows by the thousand, flat."""

    def batches(self, after: int = 0, upto: int | None = None) -> Iterator[BatchRow]:
        """Batches in order."""

    def text(self, commit: str) -> str:
        """A detached text by its commitment; raises NoSuch."""


class AsOf(NamedTuple):
    """The two dates of a question: the close of day `on`, as known at log position `known` (a batch's end)."""

    on: date
    known: int


class Proof(NamedTuple):
    """Log position, leaf of its event, root of the tree over all events up to it, digest of the journal (all hex).

    `agrees`: the digest, taken anew over the lines in this copy, is the one the log commits to.
    """

    position: int
    head: str
    root: str
    journal: str
    agrees: bool


class Standing(NamedTuple):
    """An event that stands at a position: `seq` the newest of its line of corrections, `root` the first."""

    seq: int
    root: int
    kind: str
    edtf: str
    first: date | None
    last: date
    recorded: str
    actor: str
    payload: dict[str, Any]


class Correction(NamedTuple):
    """An event that superseded another: position, its line of corrections, what it says and what was said before.

    `kind` is void where it struck the line out; `reason` a word of `words.CORRECTION_REASONS`; `words` the commitment
    of what was said for it; `was` the position it superseded. `known_from` is the end of its batch.
    """

    seq: int
    root: int
    known_from: int
    kind: str
    edtf: str
    recorded: str
    actor: str
    payload: dict[str, Any]
    reason: str
    words: str
    was: int
    was_kind: str
    was_edtf: str
    was_payload: dict[str, Any]


@cache
def _sql(name: str) -> str:
    return (_SQL / f"{name}.sql").read_text(encoding="utf-8")


class Copy:
    """A reading copy of one store. `refresh` brings what is new; questions never go back to the store.

    Figures are signed integers of animals (or colonies, by the taxon's unit). Frames are polars frames whose
    columns are those of the SQL file of the same name. Not safe to share between threads.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._db = duckdb.connect(":memory:")
        self._db.execute("set threads = 2")
        self._db.execute("set preserve_insertion_order = false")
        self._db.execute(_sql("tables"))
        self._roots: dict[str, int] = {}
        self.head = Head()
        self.refresh()

    def refresh(self) -> int:
        """Bring what the store holds beyond this copy; the number of new events.

        The head is read first and nothing beyond it, so what is in the copy is always one state of the log,
        whoever writes meanwhile.
        """
        after, head = self.head.position, self._store.head()
        upto = head.position
        if upto == after:
            return 0
        for rows in self._store.posting_rows(after, upto):
            self._bring("posting", POSTING, rows)
        for rows in self._store.open_row_rows(after, upto):
            self._bring("open_row", OPEN_ROW, rows)
        events = [self._event(e) for e in self._store.events(after, upto)]
        recorded = {event[0]: event[7] for event in events}
        self._bring("event", _EVENT, events)
        batches = self._store.batches(after, upto)
        self._bring(
            "batch", _BATCH, [(b.known_from, b.first_seq, recorded[b.known_from], b.journal.hex()) for b in batches]
        )
        self.head = head
        return upto - after

    def _event(self, stored: StoredEvent) -> tuple[Any, ...]:
        event, columns = orjson.loads(stored.data), stored.columns
        superseded = columns.supersedes
        root = columns.seq if superseded is None else self._roots[superseded]
        self._roots[columns.event_id] = root
        reason = event.get("reason") or {}
        return (
            *(
                columns.seq,
                root,
                columns.batch_end,
                columns.kind,
                event["occurred"]["edtf"],
                columns.first,
                columns.last,
            ),
            *(columns.recorded, event["actor"], orjson.dumps(event["payload"]).decode(), stored.leaf.hex()),
            *(columns.event_id, str(reason.get("code", "")), str(reason.get("text", {}).get("commit", ""))),
        )

    def _bring(self, table: str, columns: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
        if not rows:
            return
        schema = {c: pl.Int64 if c in _WHOLE else pl.String for c in columns}
        frame = pl.DataFrame(rows, schema=schema, orient="row")
        self._db.register("incoming", frame.to_arrow())
        self._db.execute(_sql(f"into_{table}"))
        self._db.unregister("incoming")

    def ask(self, name: str, **parameters: Any) -> pl.DataFrame:
        """The answer of `sql/{name}.sql` as a polars frame."""
        answer = self._db.sql(_sql(name), params=parameters).to_arrow_table()
        frame = pl.from_arrow(answer)
        assert isinstance(frame, pl.DataFrame)
        return frame.with_columns(pl.col(pl.String).cast(pl.String))

    def figures(self, days: Sequence[date], known: int, uncounted: Collection[str] = ()) -> pl.DataFrame:
        """Every cell on each of `days`: day, taxon, sex, place, holder, owner, standing, kept, n.

        `kept` is `not_counted` for the subjects in `uncounted` (`Names.uncounted`), else empty.
        """
        return self.ask("figures", days=sorted(set(days)), known=known, uncounted=sorted(uncounted))

    def cells(self, asof: AsOf) -> pl.DataFrame:
        """Every cell of every subject: subject, taxon, sex, place, holder, owner, standing, n."""
        return self.ask("cells", on=asof.on, known=asof.known)

    def possible(self, days: Sequence[date], known: int) -> pl.DataFrame:
        """What could have been on each of `days`: day, subject, choice, part, state, the cell, n."""
        return self.ask("possible", days=sorted(set(days)), known=known)

    def lines(self, first: date, last: date, known: int) -> pl.DataFrame:
        """Journal lines that count from `first` to `last`, both inside, net of what cancels."""
        return self.ask("lines", first=first, last=last, known=known)

    def histories(self, subjects: Sequence[str], last: date, known: int) -> pl.DataFrame:
        """Journal lines up to `last` of subjects and of all they were parted from, drawn from or merged of."""
        return self.ask("histories", subjects=sorted(set(subjects)), last=last, known=known)

    def known_cells(self, subjects: Sequence[str], known: int) -> pl.DataFrame:
        """Every cell each subject was ever in: subject and the cell."""
        return self.ask("known_cells", subjects=sorted(set(subjects)), known=known)

    def standing(self, kinds: Sequence[str], known: int) -> list[Standing]:
        """Events of these kinds that stand at a position, by root."""
        rows = self.ask("standing_events", kinds=list(kinds), known=known).iter_rows()
        return [Standing._make((*row[:8], orjson.loads(row[8]))) for row in rows]

    def standing_all(self, known: int) -> list[Standing]:
        """Events of every kind that stand at a position, by root."""
        rows = self.ask("standing_all", known=known).iter_rows()
        return [Standing._make((*row[:8], orjson.loads(row[8]))) for row in rows]

    def ids(self) -> dict[str, int]:
        """Event id -> the first event of its line of corrections."""
        return dict(self._roots)

    def corrections(self, first: str, last: str, known: int) -> list[Correction]:
        """Superseding events recorded between two instants (UTC, as the log writes them), both inside, by position."""
        rows = self.ask("corrections", first=first, last=last, known=known).iter_rows()
        return [Correction._make((*r[:7], orjson.loads(r[7]), *r[8:13], orjson.loads(r[13]))) for r in rows]

    def because(self, events: Sequence[int], known: int) -> pl.DataFrame:
        """Journal lines posted because of events: because, subject, counts_on, the cell, delta."""
        return self.ask("because", events=list(events), known=known)

    def entered(self, ends: Sequence[int]) -> pl.DataFrame:
        """New entries of the batches that end there: known_from, seq, kind, payload (JSON)."""
        return self.ask("entered", ends=sorted(set(ends)))

    def text(self, value: Any) -> str:
        """Free text of a payload field (`{"commit": hex}`), from the store; "" where there is none or it was erased."""
        commit = value.get("commit") if isinstance(value, dict) else None
        if not commit:
            return ""
        try:
            return self._store.text(str(commit))
        except NoSuch:
            return ""

    def book(self) -> dict[str, Any]:
        """The log's own first event: log_id, clock_kind, time_zone, hemisphere, floor, rules; empty in an empty log."""
        rows = self.ask("standing_events", kinds=["book"], known=self.head.position).iter_rows()
        return next((orjson.loads(row[8]) for row in rows), {})

    def late(self, last: date, before: int, known: int) -> pl.DataFrame:
        """Events of days up to `last` that became known only after position `before`, up to `known`."""
        return self.ask("late", last=last, before=before, known=known)

    def ends(self) -> list[tuple[int, int, str]]:
        """Batches in order: first and last position, and when the last event of each was recorded."""
        return [row[:3] for row in self.ask("batches").iter_rows()]

    def proof(self, known: int) -> Proof:
        """What a figure as known at `known` (a batch's end) rests on, the journal digest taken anew over its lines."""
        frame = self.ask("proof", known=known)
        stated = {row[1]: row[3] for row in self.ask("batches").iter_rows()}
        lines: dict[int, list[Posting]] = {}
        for row in self.ask("journal", known=known).iter_rows():
            lines.setdefault(row[0], []).append(typed_posting(row))
        journal = ZERO
        for end in (e for e in stated if e <= known):
            journal = digest(journal, lines.get(end, ()))
        leaves = [bytes.fromhex(leaf) for leaf in frame["leaf"]]
        return Proof(
            known,
            leaves[-1].hex() if leaves else ZERO.hex(),
            merkle_root(leaves).hex(),
            journal.hex(),
            journal.hex() == stated.get(known, ZERO.hex()),
        )

    def close(self) -> None:
        """Let the memory go. The copy answers nothing afterwards."""
        self._db.close()
