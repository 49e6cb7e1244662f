"""The same thing is not entered twice.

Finds an entry that an earlier one, standing or of the same batch, says already: the same kind, the same animal or
lot, the same last possible day, and nothing in which the two contradict each other (a field that one of them leaves
out, or gives as not determined, is no contradiction; free text is not compared). So two deaths of one from a lot on
one day are asked, two moves to two tanks are not. A lot that arrives is also compared with other lots of its taxon
that came into the same enclosure on that day in the same number. Not asked of openings, notes, counts, the
register and corrections.
Source: purchases entered twice are on a published list of what goes wrong in stock reconciliation; the rest common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from ledger.checks.base import REGISTER, Batch, ident, say, subject_of
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.kinds.base import HowMany, Ref, Text
from ledger.lookup import keys_of

CODES = ("very-like",)

NOT_ASKED: Final = (*REGISTER, "opening", "note", "void", "count")
OF_THE_SUBJECT: Final = ("animal", "lot", "new", "name", "new_number")  # not compared between two lots that arrive


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one an entry, on the first it resembles."""
    for draft in batch.drafts:
        event = draft.standing
        if draft.supersedes is not None or event.seq != event.root or event.kind in NOT_ASKED:
            continue
        other = _alike(batch.index, event)
        if other is not None:
            yield draft.at.finding(
                "very-like",
                f"{say(batch.index, other)} says the same",
                "something that is not entered already",
                "Leave it out if it is the same; else accept it with the reason.",
                "",
                other.seq,
            )


def _alike(index: Index, event: Standing) -> Standing | None:
    for key in keys_of(event):
        if key[0] != "like" or len(index.named.get(key, ())) < 2:  # none but itself
            continue
        others = len(key) > 4
        for other in index.naming(*key):
            if other.root >= event.root or (others and not _as_many(event, other)):
                continue
            same = others or subject_of(other.payload) == subject_of(event.payload)
            if same and _says_the_same(event, other, OF_THE_SUBJECT if others else ()):
                return other
    return None


def _as_many(event: Standing, other: Standing) -> bool:
    mine, theirs = getattr(event.payload, "how_many", None), getattr(other.payload, "how_many", None)
    return isinstance(mine, HowMany) and mine == theirs and mine.total() > 1


def _says_the_same(event: Standing, other: Standing, left_out: tuple[str, ...]) -> bool:
    for field in type(event.payload).model_fields:
        if field in left_out:
            continue
        mine, theirs = _plain(getattr(event.payload, field)), _plain(getattr(other.payload, field, None))
        if mine is not None and theirs is not None and mine != theirs:
            return False
    return True


def _plain(value: Any) -> Any:
    """A value to compare: ids for references, nothing for free text and for what is not determined."""
    if isinstance(value, Ref):
        return ident(value)
    if isinstance(value, Text) or value in (None, "not_determined", "unknown", [], {}):
        return None
    return value
