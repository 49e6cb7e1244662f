"""The one door in: resolve, admit, fold, post, chain and store, in one transaction.

Nothing here takes a time: `recorded` comes from the book's own clock. A refusal is a value, never an exception.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import orjson

from ledger import kinds
from ledger.admission import Judged, judge
from ledger.chance import Chance, Moment, SystemChance
from ledger.content import content_of, same_content, with_writer
from ledger.draft import Drafter
from ledger.entry import same_id
from ledger.findings import Finding
from ledger.index import Index
from ledger.outcome import Outcome
from ledger.replay import extend, refold
from ledger.sealing import seal_batch
from ledger.store.errors import ReadOnly
from ledger.store.port import Store, Transaction
from ledger.words import RULES

if TYPE_CHECKING:
    from ledger.verify import Report

__all__ = ["Book", "Outcome", "Row"]

Row = tuple[Any, str | None]  # an entry, and the row key of the line it came from


class Book:
    """One log with its journal. Made by `ledger.open_book` and `ledger.new_book`."""

    def __init__(self, store: Store, *, write: bool, chance: Chance | None = None) -> None:
        self.store, self.writable = store, write
        self.chance: Chance = chance or SystemChance()
        self._open: Transaction | None = None
        self.index = Index()
        extend(self.index, store.events())
        if self.index.position and self.clock_kind == "system" and self.chance.clock_kind != "system":
            raise ValueError("a book of the system clock takes its recording times from that clock alone")

    @property
    def genesis(self) -> Any:
        """The payload of the first event: identity, rules number, kind of clock, time zone, floor."""
        return self.index.standing[1].payload

    @property
    def clock_kind(self) -> str:
        """`system`, or `simulated`: then recording times are invented, and every output says so."""
        return str(self.genesis.clock_kind)

    # --- reading ----------------------------------------------------------------------------------

    @property
    def head(self) -> tuple[int, str]:
        """Position of the last event and its leaf (hex)."""
        head = self.store.head()
        return head.position, head.leaf.hex()

    def events(self, first: int = 1) -> Iterator[dict[str, Any]]:
        """Stored events as they stand in the bytes, 21 keys each, from a position on."""
        for stored in self.store.events(after=first - 1):
            yield orjson.loads(stored.data)

    def as_of(self, *, on: Any, known: Any) -> Any:
        """The population at the close of `on`, as known at `known`: a `ledger.read.View`. There is no default."""
        from ledger.read import view

        return view(self.store, on=on, known=known)

    def verify(self) -> Report:
        """Is the book untouched? Bytes, hashes, chain, texts, columns, and every line worked out anew."""
        from ledger.verify import Expected, verify

        return verify(self.store, refold=lambda events: (Expected(*found) for found in refold(events)))

    def close(self) -> None:
        """Let go of the file."""
        self.store.close()

    # --- writing ----------------------------------------------------------------------------------

    def append(
        self,
        entries: dict[str, Any] | list[dict[str, Any]],
        *,
        by: str,
        accept: dict[str, str] | None = None,
        dry_run: bool = False,
        basis: str = "stated",
    ) -> Outcome:
        """Record one atomic batch. `by`: code of the person who writes; `accept`: warning code → reason."""
        rows: list[Row] = [(e, None) for e in (entries if isinstance(entries, list) else [entries])]
        return self._write(rows, by, accept or {}, dry_run=dry_run, basis=basis)

    def correct(
        self,
        event: int | str,
        changes: dict[str, Any],
        *,
        reason: str,
        by: str,
        text: str | None = None,
        occurred: str | None = None,
        accept: dict[str, str] | None = None,
        dry_run: bool = False,
    ) -> Outcome:
        """Supersede an event by the same one with some fields changed (None: left out)."""
        entry = self.correction(event, changes, reason=reason, text=text, occurred=occurred)
        if isinstance(entry, Finding):
            return Outcome(landed=False, position=self.index.position, findings=(entry,))
        return self.append(entry, by=by, accept=accept, dry_run=dry_run)

    def correction(
        self,
        event: int | str,
        changes: dict[str, Any],
        *,
        reason: str,
        text: str | None = None,
        occurred: str | None = None,
    ) -> dict[str, Any] | Finding:
        """The entry that `correct` would record, or why there is none."""
        self._refresh()
        seq = self._drafter("").seq_of(event)
        if seq is None:
            return Finding(
                "unknown-event",
                "the correction",
                f"no event {event!r}",
                "#n or the id of an event",
                "Look it up in the log.",
            )
        old = orjson.loads(self.store.event(seq).data)
        payload = kinds.KINDS[old["kind"]].corrected(old["payload"], changes)
        entry: dict[str, Any] = {
            "kind": old["kind"],
            "occurred": occurred or old["occurred"]["edtf"],
            "payload": payload,
            "supersedes": old["event_id"],
            "reason": {"code": reason, **({"text": text} if text else {})},
        }
        if old["observed_by"]:
            entry["observed_by"] = old["observed_by"]
        return entry

    def strike_out(
        self,
        event: int | str,
        *,
        reason: str,
        by: str,
        text: str | None = None,
        accept: dict[str, str] | None = None,
        dry_run: bool = False,
    ) -> Outcome:
        """Strike an event out, with its whole line of corrections. Final: it is entered anew, never un-struck."""
        self._refresh()
        seq = self._drafter("").seq_of(event)
        standing = self.index.standing.get(self.index.root_of[seq]) if seq else None
        entry = {
            "kind": "void",
            "occurred": standing.edtf if standing else "1990-01-01",
            "payload": {},
            "supersedes": event,
            "reason": {"code": reason, **({"text": text} if text else {})},
        }
        return self.append(entry, by=by, accept=accept, dry_run=dry_run)

    def load(
        self,
        batches: list[list[Row]],
        *,
        by: str,
        accept: dict[str, str] | None = None,
        dry_run: bool = False,
        progress: Callable[[int], None] | None = None,
    ) -> list[Outcome]:
        """Judge a whole file, then land it batch by batch (engine rule 19).

        Any refusal keeps all of it out; a row recorded before (by its event id or row key) is skipped and
        named in `already`. A repeat after a crash goes on where it stopped.
        """
        from ledger.loading import load

        if not dry_run:
            self._may_write()
        self._refresh()
        return load(self, batches, by, accept or {}, dry_run=dry_run, progress=progress)

    def begin_with(self, entries: list[dict[str, Any]], by: str, ids: dict[str, str]) -> Outcome:
        """The first events of a log, written by a person whose id (`ids`: code → id) they bring into being."""
        rows: list[Row] = [(e, None) for e in entries]
        return self._write(rows, by, {}, dry_run=False, basis="stated", ids=ids)

    @contextmanager
    def sitting(self) -> Iterator[None]:
        """Many batches in one transaction of the store: all are kept where the block ends well, else none.

        For a fresh book that can be made again (the demo): commits are what costs time. Nobody else can write then.
        """
        try:
            with self.store.begin() as tx:
                self._open = tx
                yield
        except BaseException:
            self.read_anew()
            raise
        finally:
            self._open = None

    def write(self, rows: list[Row], by: str, accept: dict[str, str]) -> Outcome:
        """Record rows of a file as one batch."""
        return self._write(rows, by, accept, dry_run=False, basis="stated")

    def read_anew(self) -> None:
        """Forget what stands and read the log from its beginning."""
        self.index = Index()
        extend(self.index, self.store.events())

    # --- inside ---------------------------------------------------------------------------------------

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        """The writing transaction: that of the sitting where there is one, else one of its own."""
        if self._open is not None:
            yield self._open
            return
        with self.store.begin() as tx:
            yield tx

    def _may_write(self) -> None:
        if not self.writable:
            raise ReadOnly("the book is open for reading; open it with write=True to record")
        if self.index.position and self.genesis.rules != RULES:
            raise ReadOnly(f"the book is of rules {self.genesis.rules}, this program of rules {RULES}: it is only read")

    def _refresh(self) -> None:
        if self.store.head().position > self.index.position:
            extend(self.index, self.store.events(after=self.index.position))

    def _drafter(self, recorded: str, ids: dict[str, str] | None = None) -> Drafter:
        return Drafter(self.index, self.chance, recorded, ids)

    def judged(
        self, rows: list[Row], by: str, accept: dict[str, str], store: Any, ids: dict[str, str] | None = None
    ) -> tuple[Outcome, Judged | None, Moment]:
        """Judge one batch; the index is left with it applied where it may land."""
        head = store.head()
        moment = self.chance.moment(head.recorded)
        start = self.index.position
        fresh, already, findings = self._recorded_before(rows, store)
        person = self.index.find(("person",), by)
        if not person and not ids:
            findings.append(
                Finding(
                    "unknown-person",
                    "who writes",
                    f"no person {by!r}",
                    "the code of a person of the book",
                    "Say --by with the code of a person, or enter the person first.",
                )
            )
        if findings:
            return Outcome(landed=False, position=start, findings=tuple(findings)), None, moment
        if not fresh:
            return Outcome(landed=True, position=start, already=tuple(already)), None, moment
        judged = judge(self.index, self._drafter(moment.recorded, dict(ids or {})), fresh)
        refused = [f for f in judged.findings if f.weight != "warning" or f.code not in accept]
        refused = [with_writer(f, store, self.index) for f in refused]
        accepted = [f for f in judged.findings if f.weight == "warning" and f.code in accept]
        if not refused:
            self._accept(judged, accepted)
        outcome = Outcome(
            landed=not refused,
            position=start,
            already=tuple(already),
            findings=tuple(refused),
            accepted=tuple(accepted),
            postings=tuple(judged.postings),
        )
        return outcome, judged, moment

    def _accept(self, judged: Judged, accepted: list[Finding]) -> None:
        codes: dict[int, list[str]] = {}
        for finding in accepted:
            codes.setdefault(finding.entry, []).append(finding.code)
        for draft in judged.drafts if codes else ():
            self.index.accept(draft.standing.root, tuple(codes.get(draft.number, ())))

    def _recorded_before(self, rows: list[Row], store: Any) -> tuple[list[Row], list[int], list[Finding]]:
        fresh: list[Row] = []
        already: list[int] = []
        findings: list[Finding] = []
        for number, (entry, row_key) in enumerate(rows):
            event_id = entry.get("event_id") if isinstance(entry, dict) else None
            seq = self.index.row_keys.get(row_key or "") or self.index.by_id.get(same_id(event_id) or "")
            if seq is None:
                fresh.append((entry, row_key))
            elif (
                seq > store.head().position
                or row_key in self.index.row_keys
                or same_content(entry, content_of(store, seq), self.index)
            ):
                already.append(seq)
            else:
                findings.append(
                    Finding(
                        "id-with-other-content",
                        f"entry {number + 1}",
                        f"the id {event_id} is #{seq}, with other content",
                        "a new id, or the same content",
                        f"Correct #{seq} if it is to change.",
                        "event_id",
                        number,
                        seq,
                    )
                )
        return fresh, already, findings

    def _write(
        self,
        rows: list[Row],
        by: str,
        accept: dict[str, str],
        *,
        dry_run: bool,
        basis: str,
        ids: dict[str, str] | None = None,
    ) -> Outcome:
        self._may_write()
        with self.transaction() as tx:
            if tx.head().position > self.index.position:
                extend(self.index, tx.events(after=self.index.position))
            mark = self.index.mark()
            try:
                outcome, judged, moment = self.judged(rows, by, accept, tx, ids)
                if not outcome.landed or judged is None or dry_run:
                    self.index.back_to(mark)
                    return outcome
                actor = (self.index.find(("person",), by) or [(ids or {}).get(by, "")])[0]
                reasons = {f.code: accept[f.code] for f in outcome.accepted}
                batch = seal_batch(judged, outcome.accepted, reasons, tx.head(), moment, actor, basis, self.chance)
                tx.append(batch, tx.head())
            except BaseException:
                self.index.back_to(mark)
                raise
        self.index.forget_undo()
        events = tuple((e.columns.seq, e.columns.event_id) for e in batch.events)
        return Outcome(
            landed=True,
            position=batch.end,
            events=events,
            already=outcome.already,
            accepted=outcome.accepted,
            postings=tuple(judged.postings),
        )
