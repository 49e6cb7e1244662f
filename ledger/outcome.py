"""What became of a batch, as a value."""

from __future__ import annotations

from dataclasses import dataclass

from ledger.findings import Finding
from ledger.posting import Posting


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a batch.

    `findings`: refusals, and warnings not yet accepted. `postings`: what it did, or would do.
    """

    landed: bool
    position: int
    events: tuple[tuple[int, str], ...] = ()  # (position, event id) of what was written
    already: tuple[int, ...] = ()  # positions of entries that were recorded before, same content
    findings: tuple[Finding, ...] = ()
    accepted: tuple[Finding, ...] = ()
    postings: tuple[Posting, ...] = ()

    @property
    def refusals(self) -> tuple[Finding, ...]:
        """Findings that keep the batch out whatever one accepts."""
        return tuple(f for f in self.findings if f.weight != "warning")

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """Findings that may be accepted with a reason."""
        return tuple(f for f in self.findings if f.weight == "warning")
