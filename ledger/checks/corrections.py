"""A correction changes something, and *learnt* only adds.

Finds a correction that says what already stands (same days, same fields, same observers), and one with the reason
`learnt` that does more than fill fields that were left out or *not determined*, or that moves a figure: its reason is
`mistake` or `slip`, since something stated before was wrong. Free text is kept apart from the record and cannot be
compared here: for `learnt` it may be added or written anew, and where it is given anew something has changed.
Source: derived from what the reasons mean; common practice for the rest, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ledger.checks.base import Batch
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Standing
from ledger.kinds.base import Carried, Ref, Text
from ledger.refs import ref_fields, text_fields
from ledger.things import STANDS

CODES = ("not-only-learnt", "nothing-changed")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a correction."""
    moved = {posting.because for posting in batch.postings}
    for draft in batch.drafts:
        old, event = draft.old, draft.standing
        if old is None or event.kind == "void":
            continue
        if _same(draft, old):
            yield draft.at.finding(
                "nothing-changed",
                f"#{old.seq} says so already",
                "something that is different",
                "Leave it out, or say what is to change.",
                "",
                old.seq,
            )
        elif draft.reason == "learnt":
            fields = _overwritten(old.payload, event.payload)
            if (old.first, old.last, old.edtf) != (event.first, event.last, event.edtf):
                fields.append("occurred")
            if fields or event.seq in moved:
                what = f"it changes {', '.join(fields)}" if fields else "it moves a figure"
                yield draft.at.finding(
                    "not-only-learnt",
                    f"{what}, with the reason learnt",
                    "only fields filled that were left out or not determined",
                    "Give the reason mistake or slip, or leave out what is not new.",
                    fields[0] if fields else "",
                    old.seq,
                )


def _same(draft: Draft, old: Standing) -> bool:
    event = draft.standing
    if (old.first, old.last, old.edtf, old.observed_by) != (event.first, event.last, event.edtf, event.observed_by):
        return False
    if draft.content.get("source"):  # what the old one was taken from is not at hand here
        return False
    return all(_alike(a, b) for _, a, b in _pairs(old.payload, event.payload))


def _pairs(old: Carried, new: Carried) -> list[tuple[str, Any, Any]]:
    """Field, former value, new value. Where a field gives a number or a code, the number itself is the value."""
    given = {f.attr for f in ref_fields(type(new)) if f.new not in STANDS}
    out = []
    for attr, info in type(new).model_fields.items():
        a, b = getattr(old, attr), getattr(new, attr)
        if attr in given and isinstance(a, Ref) and isinstance(b, Ref):
            a, b = (a.id, a.as_), (b.id, b.as_)
        out.append((info.alias or attr, a, b))
    return out


def _alike(a: Any, b: Any) -> bool:
    """References are the same by their id, whatever they were called; by name where one is not of the register."""
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_alike(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, Carried) and isinstance(b, Carried):
        return all(_alike(x, y) for _, x, y in _pairs(a, b))
    if isinstance(a, Ref) and isinstance(b, Ref) and a.id and b.id:
        return a.id == b.id
    if isinstance(a, Ref | str) and isinstance(b, Ref | str):
        return (a.as_ if isinstance(a, Ref) else a) == (b.as_ if isinstance(b, Ref) else b)
    return bool(a == b)


def _overwritten(old: Carried, new: Carried) -> list[str]:
    left_open = {name for name, _ in text_fields(type(new))} | {"owner_settled"}
    return [name for name, a, b in _pairs(old, new) if name not in left_open and not _fills(a, b)]


def _fills(a: Any, b: Any) -> bool:
    """There was nothing, or it says the same and perhaps more."""
    if a is None or a == "not_determined" or (isinstance(a, Text) and isinstance(b, Text)):
        return True
    if isinstance(a, Carried) and isinstance(b, Carried):
        return all(_fills(x, y) for _, x, y in _pairs(a, b))
    if isinstance(a, list) and isinstance(b, list) and any(isinstance(part, Carried) for part in a):
        return len(a) <= len(b) and all(_fills(x, y) for x, y in zip(a, b, strict=False))
    if isinstance(a, dict) and isinstance(b, dict):
        return all(k in b and _fills(v, b[k]) for k, v in a.items())
    return _alike(a, b)
