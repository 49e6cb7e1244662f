"""What a check is given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ledger.draft import Draft
    from ledger.index import Index
    from ledger.posting import Posting


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch applied to the index: its drafts, what it would post, and the position before it.

    `check` (is what stands plausible) builds one from standing events, with no postings.
    """

    index: Index
    drafts: list[Draft]
    postings: list[Posting]
    start: int
