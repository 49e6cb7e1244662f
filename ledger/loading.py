"""Many batches at once: the whole file is judged, then lands batch by batch as it was judged (engine rule 19).

What was judged waits in a file without a name, not in memory, and is made into bytes when it lands. If somebody else
has recorded meanwhile, what is left is judged again, batch by batch.
"""

from __future__ import annotations

import gc
import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from tempfile import SpooledTemporaryFile
from typing import IO, TYPE_CHECKING, Any, Final, NamedTuple

from ledger.admission import Judged
from ledger.findings import Finding
from ledger.outcome import Outcome
from ledger.sealing import seal_batch

if TYPE_CHECKING:
    from ledger.book import Book, Row

FEW: Final = 5_000  # events up to which a refused file is undone; of more the log is read anew instead
IN_MEMORY: Final = 1 << 25  # bytes of judged batches that wait in memory


class Seq(NamedTuple):
    """Its place in the log: all of a standing event that sealing asks for."""

    seq: int


class Ready(NamedTuple):
    """A draft that waits to land: what sealing asks for."""

    standing: Seq
    content: dict[str, Any]
    number: int
    texts: list[Any]


class Waiting(NamedTuple):
    """A judged batch: the position it follows, and all it does."""

    start: int
    judged: Judged
    accepted: tuple[Finding, ...]


def load(
    book: Book,
    batches: list[list[Row]],
    by: str,
    accept: dict[str, str],
    *,
    dry_run: bool,
    progress: Callable[[int], None] | None,
) -> list[Outcome]:
    """Judge all, then land all; nothing where any is refused. Of a long file the outcomes bear no lines."""
    few = sum(map(len, batches)) <= FEW
    mark = book.index.mark()
    with _uncollected(), SpooledTemporaryFile(IN_MEMORY) as spool:
        try:
            out = [_judged(book, rows, by, accept, spool, few=few) for rows in batches]
        except BaseException:
            _undone(book, mark, few=few)
            raise
        if dry_run or not all(outcome.landed for outcome in out):
            _undone(book, mark, few=few)
            return out
        spool.seek(0)
        landed: list[Outcome] = []
        try:
            for outcome in _landed(book, by, accept, out, spool):
                landed.append(outcome)
                if progress:
                    progress(len(batches[len(landed) - 1]))
        except BaseException:
            book.read_anew()
            raise
    book.index.forget_undo()
    if len(landed) < len(batches):  # somebody else has recorded
        book.read_anew()
        for rows in batches[len(landed) :]:
            landed.append(book.write(rows, by, accept))
            if progress:
                progress(len(rows))
    return landed


@contextmanager
def _uncollected() -> Iterator[None]:
    """Nothing that judging and sealing make goes in circles: looking for circles again and again costs the most."""
    was = gc.isenabled()
    gc.freeze()
    gc.disable()
    try:
        yield
    finally:
        gc.unfreeze()
        if was:
            gc.enable()


def _undone(book: Book, mark: int, *, few: bool) -> None:
    if few:
        book.index.back_to(mark)
    else:
        book.read_anew()


def _judged(book: Book, rows: list[Row], by: str, accept: dict[str, str], spool: IO[bytes], *, few: bool) -> Outcome:
    """Later batches see the earlier ones, but for those that are refused."""
    here = book.index.mark()
    outcome, judged, _ = book.judged(rows, by, accept, book.store)
    if not outcome.landed:
        book.index.back_to(here)
    elif judged is None:  # nothing in it is new
        pickle.dump(None, spool)
    else:
        drafts = [Ready(Seq(d.standing.seq), d.content, d.number, d.texts) for d in judged.drafts]
        ready = judged._replace(drafts=drafts)  # type: ignore[arg-type]  # all that sealing asks of a draft
        pickle.dump(Waiting(outcome.position, ready, outcome.accepted), spool, pickle.HIGHEST_PROTOCOL)
    if not few:
        book.index.forget_undo()
        outcome = replace(outcome, postings=())
    return outcome


def _landed(book: Book, by: str, accept: dict[str, str], judged: list[Outcome], spool: IO[bytes]) -> Iterator[Outcome]:
    """Each batch made into bytes and put down; ends early where the log has grown by another hand."""
    actor = next(iter(book.index.find(("person",), by)), "")
    chance = book.chance
    for outcome in judged:
        waiting: Waiting | None = pickle.load(spool)  # noqa: S301  # written above, into a file without a name
        if waiting is None:
            yield outcome
            continue
        with book.transaction() as tx:
            head = tx.head()
            if head.position != waiting.start:
                return
            reasons = {f.code: accept[f.code] for f in waiting.accepted}
            moment = chance.moment(head.recorded)
            batch = seal_batch(waiting.judged, waiting.accepted, reasons, head, moment, actor, "stated", chance)
            tx.append(batch, head)
        events = tuple((e.columns.seq, e.columns.event_id) for e in batch.events)
        yield replace(outcome, position=batch.end, events=events)
