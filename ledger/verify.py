"""Is the book untouched? Everything that is stored is worked out again from the bytes, the slow way, and compared.

What no file can say about itself: that its end was not cut off, or all of it written anew. Compare the position
and root of the report with those printed or handed over earlier. The lines of the last batch are bound by no hash
until the next batch; working them out anew (`refold`) holds them meanwhile.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Final, NamedTuple

from ledger.chain import Chain, Fault, digest_lines, one_line
from ledger.event import ZERO, BadValue
from ledger.form import commits, form_faults
from ledger.posting import Posting, Weighted
from ledger.store.port import BatchRow, Derived, Head, Store, StoredEvent, derive
from ledger.store.rows import flat_open_row, flat_posting

MOST_OF_A_PART: Final = 20  # one changed byte may show in every later event; the first is what matters
ENDLESS: Final = 2**62

Row = tuple[Any, ...]


class Expected(NamedTuple):
    """What the rules make of one batch: its lines, its open rows, and (where the caller knows) its subjects."""

    known_from: int
    postings: tuple[Posting, ...]
    open_rows: tuple[Weighted, ...]
    subjects: tuple[tuple[str, int], ...] | None = None


Refold = Callable[[Iterator[dict[str, Any]]], Iterable[Expected]]


@dataclass(frozen=True, slots=True)
class Report:
    """What was looked at and what was found. `missing_texts` were erased or lost: told, and no fault."""

    place: str
    head: Head
    root: bytes
    batches: int
    lines: int
    texts: int
    missing_texts: tuple[str, ...]
    refolded: bool
    faults: tuple[Fault, ...]

    @property
    def whole(self) -> bool:
        """True where nothing differs."""
        return not self.faults

    def sentence(self) -> str:
        """One sentence: whole, or the first bad event by position."""
        if self.whole:
            counted = f"{self.head.position} events, {self.batches} batches, {self.lines} lines"
            return f"{self.place}: {counted}: all as written."
        first = min(self.faults, key=lambda fault: fault.seq or self.head.position + 1)
        where = f"first at event #{first.seq}" if first.seq else "not in any one event"
        return f"{self.place} is not as it was written ({where}): {first.sentence}."


class _Faults:
    """Collects, at most some of each part."""

    def __init__(self) -> None:
        self.found: list[Fault] = []
        self._count: Counter[str] = Counter()

    def add(self, part: str, seq: int, sentence: str) -> None:
        self._count[part] += 1
        if self._count[part] <= MOST_OF_A_PART:
            self.found.append(Fault(part, seq, sentence))


class _ByBatch:
    """Rows that come by rising position, given out batch by batch; what belongs to none is a fault."""

    def __init__(self, pages: Iterator[list[Row]], what: str, faults: _Faults) -> None:
        self._rows = (row for page in pages for row in page)
        self._next: Row | None = next(self._rows, None)
        self._what, self._faults = what, faults
        self.count = 0

    def take(self, known_from: int) -> list[Row]:
        out: list[Row] = []
        while self._next is not None and self._next[0] <= known_from:
            if self._next[0] == known_from:
                out.append(self._next)
            else:
                self._faults.add("batch", self._next[0], f"{self._what} is known from {self._next[0]}, out of turn")
            self._next = next(self._rows, None)
            self.count += 1
        return out

    def rest(self) -> None:
        while self._next is not None:
            self._faults.add("batch", self._next[0], f"{self._what} is known from {self._next[0]}, where no batch ends")
            self._next = next(self._rows, None)


def verify(store: Store, refold: Refold | None = None) -> Report:
    """Check a whole store. `refold` gives, from the events in order, what each batch had to post."""
    faults = _Faults()
    for sentence in store.damage():
        faults.add("file", 0, sentence)
    with store.reading():  # one state of the two: whatever a writer adds meanwhile lies beyond this head
        head, batches = store.head(), list(store.batches(upto=ENDLESS))
    lines = _check_journal(store, head, batches, faults)
    root, committed = _check_events(store, head, batches, faults)
    texts, missing = _check_texts(store, committed, faults)
    if refold is not None:
        _check_refold(store, head, batches, refold, faults)
    return Report(
        store.place, head, root, len(batches), lines, texts, tuple(missing), refold is not None, tuple(faults.found)
    )


def _check_journal(store: Store, head: Head, batches: list[BatchRow], faults: _Faults) -> int:
    """Digest and zero sum of every batch's lines; each digest starts from the stored one, so a change shows once."""
    rows = _ByBatch(store.posting_rows(upto=head.position), "a line", faults)
    last, journal = 0, ZERO
    for batch in batches:
        end = batch.known_from
        if batch.first_seq != last + 1 or end < batch.first_seq:
            faults.add("batch", batch.first_seq, f"the batch to {end} does not begin where the last one ended")
        found = rows.take(end)
        try:
            lines = [one_line("\t".join(map(str, row)) + "\n") for row in found]
        except BadValue:
            faults.add("journal", end, f"a line of the batch to {end} holds what no line can")
        else:
            if digest_lines(journal, lines) != batch.journal:
                faults.add("journal", end, f"the lines of the batch to {end} are not those it was recorded with")
        _check_sum(end, found, faults)
        last, journal = end, batch.journal
    if last != head.position:
        sentence = f"the last batch ends at {last}, and the last event is number {head.position}"
        faults.add("batch", min(last, head.position) + 1, sentence)
    rows.rest()
    return rows.count


def _check_sum(end: int, rows: list[Row], faults: _Faults) -> None:
    total: Counter[tuple[str, str]] = Counter()
    for row in rows:
        total[row[6], row[4]] += row[13]
    for (taxon, day), left in total.items():
        if left:
            faults.add("sum", end, f"the batch to {end} leaves {left} of {taxon} on {day} from nowhere")


def _check_events(store: Store, head: Head, batches: list[BatchRow], faults: _Faults) -> tuple[bytes, dict[bytes, int]]:
    """Bytes, leaves, chain, form, columns, places in batches, journal as quoted. Gives root, and commitment → event."""
    chain, recorded = Chain(), ""
    committed: dict[bytes, int] = {}
    spans = _spans(batches)
    for stored in store.events(upto=head.position):
        for fault in chain.add(stored.data):
            faults.add(*fault)
        seq, event = chain.tree.size, chain.event
        if stored.leaf != chain.head:
            faults.add("leaf", seq, f"the bytes of event {seq} are not those its leaf was taken from")
        bad = list(form_faults(event)) if event else [""]
        for sentence in filter(None, bad):
            faults.add("form", seq, f"event {seq} {sentence}")
        batch, before = next(spans, (None, ZERO))
        if bad:
            continue
        if not _as_derived(stored, event):
            faults.add("columns", seq, f"the columns beside event {seq} do not say what its bytes say")
        if event["recorded"] <= recorded:
            faults.add("chain", seq, f"event {seq} is recorded no later than the one before it")
        recorded = event["recorded"]
        if batch is None or not _in_batch(event, batch, seq):
            faults.add("batch", seq, f"event {seq} does not stand in its batch as it says")
        if event["journal"] != before.hex():
            faults.add("journal", seq, f"event {seq} quotes another journal than the lines before it give")
        for commit in commits(event):
            committed.setdefault(bytes.fromhex(commit), seq)
    if chain.tree.size != head.position:
        faults.add("chain", 0, f"{chain.tree.size} events stand, and the last one says it is number {head.position}")
    return chain.tree.root(), committed


def _spans(batches: list[BatchRow]) -> Iterator[tuple[BatchRow | None, bytes]]:
    """For every event in turn: its batch, and the journal digest before that batch."""
    before = ZERO
    for batch in batches:
        for _ in range(batch.first_seq, batch.known_from + 1):
            yield batch, before
        before = batch.journal


def _as_derived(stored: StoredEvent, event: dict[str, Any]) -> bool:
    expected: Derived = derive(event)
    return stored.columns == expected


def _in_batch(event: dict[str, Any], batch: BatchRow, seq: int) -> bool:
    size = batch.known_from - batch.first_seq + 1
    mark: dict[str, Any] = {"id": batch.batch_id, "no": seq - batch.first_seq + 1, "of": size}
    return bool(event["batch"] == mark)


def _check_texts(store: Store, committed: dict[bytes, int], faults: _Faults) -> tuple[int, list[str]]:
    """Every stored text against its commitment. Gives how many there are and which are not there."""
    missing, count = dict(committed), 0
    for commit, salt, text in store.texts():
        count += 1
        key = bytes.fromhex(commit)
        seq = committed.get(key, 0)
        missing.pop(key, None)
        # as stored, not normalised anew: a later Unicode may see it otherwise
        if hashlib.sha256(b"\x02" + salt + text.encode()).digest() != key:
            faults.add("text", seq, f"a text of event {seq} is not the one it was recorded with")
        if not seq:
            faults.add("text", 0, f"no event speaks of the text {commit[:12]}…")
    return count, [key.hex() for key in missing]


def _check_refold(store: Store, head: Head, batches: list[BatchRow], refold: Refold, faults: _Faults) -> None:
    """What is stored against what the rules make of the events. Only asked where the events themselves are sound."""
    if any(fault.part in ("bytes", "form", "chain") for fault in faults.found):
        return
    lines = _ByBatch(store.posting_rows(upto=head.position), "a line", _Faults())
    rows = _ByBatch(store.open_row_rows(upto=head.position), "an open row", faults)
    subjects: set[tuple[str, int]] | None = set()
    for batch, expected in zip_longest(batches, refold(_contents(store, head))):
        if batch is None or expected is None or batch.known_from != expected.known_from:
            faults.add("rules", 0, "the batches are not those the rules come upon")
            return
        end = batch.known_from
        if Counter(lines.take(end)) != Counter(map(flat_posting, expected.postings)):
            faults.add("rules", end, f"the lines of the batch to {end} are not those its events make")
        if Counter(rows.take(end)) != Counter(map(flat_open_row, expected.open_rows)):
            faults.add("open rows", end, f"the open rows of the batch to {end} are not those its events make")
        if expected.subjects is None or subjects is None:
            subjects = None
        else:
            subjects.update(expected.subjects)
    rows.rest()
    if subjects is not None and (differing := subjects.symmetric_difference(store.subjects())):
        subject, seq = min(differing, key=lambda pair: pair[1])
        faults.add("subjects", seq, f"the index does not say rightly whether event {seq} speaks of {subject}")


def _contents(store: Store, head: Head) -> Iterator[dict[str, Any]]:
    chain = Chain()
    for stored in store.events(upto=head.position):
        chain.add(stored.data)
        yield chain.event
