"""Checks across events, one file each: what the fold cannot see because it reads one subject at a time.

A check is a module with CODES (the finding codes it may give) and `check(batch) -> Iterator[Finding]`.
Checks are independent of each other and of their order; they run only when the fold has nothing against the batch.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

from ledger.checks.base import Batch

if TYPE_CHECKING:
    from ledger.findings import Finding

__all__ = ["CHECKS", "Batch", "modules", "run"]

# in the order of the generated page; adding one is its file, its name here, and its YAML of cases
CHECKS: tuple[str, ...] = (
    *("in_use", "enclosures", "occupied", "before_then", "ahead"),
    *("corrections", "still_named", "ancestry", "parents", "marks"),
    *("cites", "permits", "permit_days", "sex_systems"),
    *("remains", "sightings", "bodies"),
    *("presence", "bonds", "broods", "ranks"),
    *("late", "very_like", "numbers_alike", "two_owners", "count_differences"),
)


@cache
def modules() -> tuple[ModuleType, ...]:
    """The checks, imported once."""
    return tuple(import_module(f"ledger.checks.{name}") for name in CHECKS)


def run(batch: Batch) -> Iterator[Finding]:
    """Ask every check, in the written order; a warning accepted with what an entry supersedes is not asked again."""
    accepted = {d.number: d.old.accepted for d in batch.drafts if d.old is not None and d.old.accepted}
    for module in modules():
        for finding in module.check(batch):
            if finding.weight != "warning" or finding.code not in accepted.get(finding.entry, ()):
                yield finding
