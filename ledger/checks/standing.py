"""Is what stands plausible? The warnings, asked of every standing event as if it came last.

What was accepted when it was recorded is not asked again. Warnings that hang on what a batch posts (a count's loss
turned into a gain) belong to the moment of recording and are not asked here.
"""

from __future__ import annotations

from ledger.checks import Batch, run
from ledger.checks.base import say
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index
from ledger.spot import Spot


def plausible(index: Index) -> list[Finding]:
    """Warnings on standing events that nobody has accepted, in the order of the log; `entry` is the position."""
    events = sorted(index.standing.values(), key=lambda e: e.seq)
    drafts = [Draft(Spot(say(index, event), event.seq), event, {}, None) for event in events]
    accepted = {event.seq: event.accepted for event in events}
    found = run(Batch(index, drafts, [], index.position))
    asked = [f for f in found if f.weight == "warning" and f.code not in accepted.get(f.entry, ())]
    return sorted(asked, key=lambda f: f.entry)
