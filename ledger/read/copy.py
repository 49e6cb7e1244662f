"""The reading copy: journal, open rows and event log of one book, in memory, where every figure is one SUM.

DuckDB is known here and nowhere else. Rows come from the store as plain rows and go in as Arrow columns; SQL
stands in `sql/*.sql`; polars frames come out. A question always brings its own two dates: the days it asks
about and the log position up to which things are known. Nothing here has a default date.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

import duckdb
import orjson
import polars as pl

from ledger.chain import digest, merkle_root
from ledger.event import ZERO
from ledger.posting import Posting
from ledger.read.rows import Store
from ledger.read.tables import Tables, sql
from ledger.store.errors import NoSuch
from ledger.store.port import Head
from ledger.store.rows import typed_posting


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


class Written(NamedTuple):
    """An event as it was written, whether it stands or not: of a line of corrections each has its own.

    `first` is None where its days have an open start; `reason` and `words` (a commitment) of a superseding event.
    """

    seq: int
    root: int
    known_from: int
    kind: str
    edtf: str
    first: date | None
    last: date
    recorded: str
    actor: str
    payload: dict[str, Any]
    event_id: str
    reason: str
    words: str


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


def _written(frame: pl.DataFrame) -> list[Written]:
    return [Written._make((*row[:9], orjson.loads(row[9]), *row[10:])) for row in frame.iter_rows()]


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
        self._tables = Tables(self._db, store)
        self.head = Head(self._tables.begin)
        self.refresh()

    def refresh(self) -> int:
        """Bring what the store holds beyond this copy; the number of new events. Its cost is that of the new rows.

        The head is read first and nothing beyond it, so what is in the copy is always one state of the log,
        whoever writes meanwhile.
        """
        after, head = self.head.position, self._store.head()
        if head.position > after:
            self._tables.bring(after, head.position)
        self.head = head
        return head.position - after

    def into_memory(self) -> None:
        """Take into memory what stands in segments: each later question is quicker, and this takes its time."""
        self._tables.into_memory()

    @property
    def set_aside(self) -> list[str]:
        """Segments that were not used, found so far, a sentence each; what they hold was read from the store."""
        return [bad.why for bad in self._tables.set_aside]

    def ask(self, name: str, **parameters: Any) -> pl.DataFrame:
        """The answer of `sql/{name}.sql` as a polars frame."""
        self._tables.need(name)
        answer = self._db.sql(sql(name), params=parameters).to_arrow_table()
        frame = pl.from_arrow(answer)
        assert isinstance(frame, pl.DataFrame)
        return frame.with_columns(pl.col(pl.String).cast(pl.String))

    def figures(self, days: Sequence[date], known: int, uncounted: Collection[str] = ()) -> pl.DataFrame:
        """Every cell on each of `days`: day, taxon, sex, place, holder, owner, standing, kept, n.

        `kept` is `not_counted` for the subjects in `uncounted` (`Names.uncounted`), else empty.
        """
        return self.ask("figures", days=sorted(set(days)), known=known, uncounted=sorted(uncounted))

    def population(self, days: Sequence[date], known: int, *, owned: bool = False) -> pl.DataFrame:
        """Animals by taxon and sex on each of `days`: day, taxon, sex, n (`population.sql`). All member houses.

        Those held, or those `owned`; lots that are not counted stand as the one they are present as.
        """
        if len(set(days)) == 1:
            return self.ask("population_on", on=days[0], known=known, owned=owned)
        return self.ask("population", days=sorted(set(days)), known=known, owned=owned)

    def movements(self, first: date, last: date, known: int) -> pl.DataFrame:
        """Of every taxon, by reason, what was held before `first` and what changed up to `last`, both inside."""
        return self.ask("movements", first=first, last=last, known=known)

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

    def spells(self, known: int, subjects: Sequence[str] | None = None) -> pl.DataFrame:
        """Where each subject's animals stood, a row a stretch: subject, the cell, n, since …, until … (`spells.sql`).

        All stretches known at the position; one stands at the close of a day iff since <= day < until (null: it
        stands). `since_possible` and `until_possible` are the first days those steps could have counted; reasons and
        events (lists of roots) say what made and what ended it. Without `subjects`, of all.
        """
        return self.ask("spells", known=known, subjects=None if subjects is None else sorted(set(subjects)))

    def told(self, kinds: Sequence[str], parts: Mapping[str, str], known: int) -> pl.DataFrame:
        """Standing events of these kinds by root, with parts of their payloads as columns of text.

        seq, root, kind, edtf, first_day (null: open start), last_day, recorded, actor, event_id, then a column a part
        (`{"a": "$.a.id"}`), null where a payload has none.
        """
        frame = self.ask("told", kinds=list(kinds), paths=list(parts.values()), known=known)
        columns = [pl.col("told").list.get(i, null_on_oob=True).alias(name) for i, name in enumerate(parts)]
        return frame.select(pl.exclude("told"), *columns)

    def story(self, ids: Sequence[str], known: int) -> list[Written]:
        """All events that name one of these animals, lots, broods or units, by position, and all of their lines.

        A line of corrections is here whole, up to `known`, if any event of it names one of them. Answered without
        reading the other events: its cost hangs on the length of the lives asked about, and hardly on the log's.
        """
        # in two steps: with the positions at hand whole blocks of the log are skipped, in one join they are not
        seqs = self.ask("named", ids=sorted(set(ids)))["seq"].to_list()
        return _written(self.ask("events_at", seqs=seqs, known=known))

    def lines_of(self, roots: Sequence[int], known: int) -> list[Written]:
        """All events of the lines of corrections that begin with `roots`, up to `known`, by position."""
        later = self.ask("named", ids=[f"#{root}" for root in roots])["seq"]
        return _written(self.ask("events_at", seqs=sorted({*roots, *later}), known=known))

    def versions(self, kinds: Sequence[str], known: int) -> list[Written]:
        """Every event of these kinds up to `known`, superseded or not, and what struck one out, by position."""
        return _written(self.ask("versions", kinds=list(kinds), known=known))

    def story_lines(self, subjects: Sequence[str], ends: Sequence[int], known: int) -> pl.DataFrame:
        """Journal lines of subjects known from one of `ends`, the batches that name them, in no order.

        Columns as in `lines`; a line and what took it back are both there: whoever reads them sums.
        """
        return self.ask("story_lines", subjects=sorted(set(subjects)), ends=sorted(set(ends)), known=known)

    def envelope(self, seq: int) -> dict[str, Any]:
        """One event as its bytes have it, all keys, from the store: who saw it, its source, its batch."""
        stored = next(self._store.events(seq - 1, seq))
        event: dict[str, Any] = orjson.loads(stored.data)
        return event

    def shared(self, subject: str, known: int, places: Sequence[str] | None = None) -> pl.DataFrame:
        """Who stood in one enclosure with a subject, a row an unbroken time: subject, place, since … (`shared.sql`).

        Together at the close of d iff since <= d < until (null: they stand there still); possibly from
        `since_possible` on, and for certain no longer than `until_possible`. Only rows that could have a day are there.
        """
        where = None if places is None else sorted(set(places))
        return self.ask("shared", subject=subject, known=known, places=where)

    def position(self, event_id: str) -> int:
        """Position of the event of that id, from the store; 0 where there is none."""
        try:
            return self._store.by_event_id(event_id).columns.seq
        except NoSuch:
            return 0

    def ids(self) -> dict[str, int]:
        """Event id -> the first event of its line of corrections."""
        return dict(self.ask("ids").iter_rows())

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
