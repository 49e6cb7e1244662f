"""A lot has one owner.

Finds a lot in which animals of another owner come to stand by a merging, a joining, or young and purchases *into* it.
Their cells stay apart and every figure is right; but from then on acts on part of the lot must say whose animals are
meant. Not asked where animals of that owner stood in the lot already, nor when title to part of a lot is passed.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.checks.base import Batch, ident
from ledger.findings import Finding

CODES = ("two-owners",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one an entry."""
    for draft in batch.drafts:
        event = draft.standing
        lot = ident(getattr(event.payload, "into", None))
        if not lot and getattr(event.payload, "addition", None):
            lot = ident(getattr(event.payload, "lot", None))
        owner = ident(getattr(event.payload, "owner", None))
        if not lot or not owner:
            continue
        index = batch.index
        # the state at the end first: it is at hand, and where it knows one owner there is nothing to ask
        if {c.owner for c in index.tale(lot).state.cells} <= {owner}:
            continue
        owners = {c.owner for c in index.cells(lot, event.last, without=event.root)}
        if owners and owner not in owners:
            others = " and ".join(sorted(index.name(o) for o in owners))
            yield draft.at.finding(
                "two-owners",
                f"animals of {index.name(owner)} come into {index.name(lot)}, which is owned by {others}",
                "animals of one owner in one lot",
                "Keep them under a number of their own; or accept it, and say owned_by from then on.",
            )
