"""What findings of sex and sex changes did to figures of days before their own, and what replaced them.

Definition. Three effects are told apart (definitions D23 and D31 of the design). A *sexing* that holds since birth or
since a day restates the figures from there; one without counts on its day. A *sex change*, completed, re-classes on
its day and moves nothing before; its other stages move no figure. A *correction* replaces what was said, and the
figures of all days on which the two differ; so does striking out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from typing import Any, Final, NamedTuple

from ledger.read import Copy

KINDS: Final = ("sexing", "sex_change")
RESTATES, RECLASSES, REPLACES, STRUCK, NOTHING = (
    "restates",
    "re-classes on its day",
    "replaces",
    "struck out",
    "moves no figure",
)


class Effect(NamedTuple):
    """What one entry did.

    `figures_from`: the first day whose figures it changed, of days before its own for what is no correction;
    `figures_to`: its own last day there; None where it changed none. `was`: the payload it replaced.
    """

    seq: int
    root: int
    kind: str
    edtf: str
    recorded: str
    payload: dict[str, Any]
    effect: str
    figures_from: date | None
    figures_to: date | None
    was: dict[str, Any] | None
    was_edtf: str
    reason: str


def effects(copy: Copy, known: int) -> list[Effect]:
    """Entries of the two kinds that stand as first recorded, and all that superseded one, by position."""
    corrected = [
        c for c in copy.corrections("", "9999", known) if c.kind in KINDS or (c.kind == "void" and c.was_kind in KINDS)
    ]
    first = {e.root: e for e in copy.standing(KINDS, known)}
    firsts = [(e.seq, e.root, e.kind, e.edtf, e.recorded, e.payload, e.last) for e in first.values() if e.seq == e.root]
    moved = _moved(copy, [*(e[0] for e in firsts), *(c.seq for c in corrected)], known)
    out = []
    for seq, root, kind, edtf, recorded, payload, last in firsts:
        days = moved.get(seq, [])
        early = min(days) if days and payload.get("holds_since") and min(days) < last else None
        effect = NOTHING if not days else RESTATES if early else RECLASSES
        until = last if early else None
        out.append(Effect(seq, root, kind, edtf, recorded, payload, effect, early, until, None, "", ""))
    for c in corrected:
        days = moved.get(c.seq, [])
        effect = STRUCK if c.kind == "void" else REPLACES
        kind = c.was_kind if c.kind == "void" else c.kind
        payload = c.was_payload if c.kind == "void" else c.payload
        early, until = (min(days), None) if days else (None, None)
        out.append(
            Effect(
                c.seq,
                c.root,
                kind,
                c.edtf,
                c.recorded,
                payload,
                effect,
                early,
                until,
                c.was_payload,
                c.was_edtf,
                c.reason,
            )
        )
    return sorted(out, key=lambda e: e.seq)


def _moved(copy: Copy, events: Sequence[int], known: int) -> dict[int, list[date]]:
    """Days on which lines posted because of each event count, of cells that are not accounts."""
    out: dict[int, list[date]] = defaultdict(list)
    if events:
        for row in copy.because(events, known).iter_rows(named=True):
            out[row["because"]].append(row["counts_on"])
    return out
