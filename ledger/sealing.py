"""A judged batch made into bytes: envelope, chain, digest."""

from __future__ import annotations

from typing import Any

from ledger import VERSION
from ledger.admission import Judged
from ledger.chain import digest
from ledger.chance import Chance, Moment
from ledger.draft import Draft, detach
from ledger.event import TextRow
from ledger.findings import Finding
from ledger.store.port import Batch, Head, StoredEvent, seal
from ledger.words import ENVELOPE

CLIENT = f"tidemark {VERSION}"


def seal_batch(
    judged: Judged,
    accepted: tuple[Finding, ...],
    reasons: dict[str, str],
    head: Head,
    moment: Moment,
    actor: str,
    basis: str,
    chance: Chance,
) -> Batch:
    """The batch that lands after `head`. `accepted`: warnings, with the `reasons` for accepting them by code."""
    batch_id = chance.uuid7(moment.recorded)
    prev, recorded = head.leaf, head.recorded
    texts: list[TextRow] = []
    sealed: list[StoredEvent] = []
    codes: dict[int, dict[str, None]] = {}
    for finding in accepted:
        codes.setdefault(finding.entry, {})[finding.code] = None
    for draft in judged.drafts:
        now = chance.moment(recorded)
        recorded = now.recorded
        texts += draft.texts
        marks: list[dict[str, Any]] = []
        for code in codes.get(draft.number, ()):
            text = {"text": {"commit": detach(reasons[code], chance, texts).commit}} if reasons[code] else {}
            marks.append({"code": code, **text})
        event = _envelope(draft, now)
        event |= {"accepted": marks, "actor": actor, "basis": basis, "journal": head.journal.hex(), "prev": prev.hex()}
        event["batch"] = {"id": batch_id, "no": len(sealed) + 1, "of": len(judged.drafts)}
        stored = seal(event)  # type: ignore[arg-type]  # a dict with the 21 keys
        prev = stored.leaf
        sealed.append(stored)
    return Batch(
        batch_id,
        tuple(sealed),
        digest(head.journal, judged.postings),
        tuple(judged.postings),
        tuple(judged.rows),
        tuple(texts),
        tuple(judged.subjects),
    )


def _envelope(draft: Draft, now: Moment) -> dict[str, Any]:
    return {
        **draft.content,
        "client": CLIENT,
        "clock": now.clock,
        "envelope": ENVELOPE,
        "recorded": now.recorded,
        "seq": draft.standing.seq,
    }
