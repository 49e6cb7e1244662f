"""What a check is given."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from ledger.draft import Draft
    from ledger.index import Index
    from ledger.posting import Posting


class Batch(NamedTuple):
    """A batch applied to the index: its drafts, what it would post, and the position before it.

    `check` (is what stands plausible) builds one from standing events, with no postings.
    """

    index: Index
    drafts: list[Draft]
    postings: list[Posting]
    start: int
