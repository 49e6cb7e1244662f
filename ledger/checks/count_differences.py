"""A late entry does not make animals appear at a count.

Finds a standing count whose difference was a loss, or none, and would become a gain by what the batch records for
days before it: more is entered to have died or gone than were missing. Probably the same death stands twice, or the
count was made before it. The count itself is not asked, nor a correction of it.
Source: derived; a count says how many there were, so more cannot have gone before it.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.checks.base import Batch, say
from ledger.findings import Finding

CODES = ("loss-turned-gain",)


def check(batch: Batch) -> Iterator[Finding]:
    """The findings, one a count."""
    posted: dict[tuple[int, str], int] = {}
    why: dict[tuple[int, str], int] = {}
    for posting in batch.postings:
        line = posting.line
        if line.reason == "count_unaccounted" and line.effect <= batch.start and line.cell.place != "unaccounted":
            key = (line.effect, line.subject)
            posted[key] = posted.get(key, 0) + line.delta
            why[key] = posting.because
    drafts = {draft.standing.seq: draft for draft in batch.drafts}
    for (effect, subject), change in posted.items():
        draft, count = drafts.get(why[effect, subject]), batch.index.standing.get(effect)
        if draft is None or count is None or draft.standing.root == effect:
            continue
        lines = batch.index.tale(subject).lines
        now = sum(x.delta for x in lines if x.effect == effect and x.cell.place != "unaccounted")
        if now > 0 >= now - change:
            was = f"{change - now} fewer than the book" if now - change else "as many as the book"
            yield draft.at.finding(
                "loss-turned-gain",
                f"{say(batch.index, count)} found {was} had, and would have found {now} more",
                "an entry that the count bears out",
                "Look whether it is entered already, or was after the count; else accept it with the reason.",
                "",
                count.seq,
            )
