"""Checks across events, one file each: what the fold cannot see because it reads one subject at a time.

A check is a module with CODES (the finding codes it may give) and `check(batch) -> Iterator[Finding]`.
Checks are independent of each other and of their order; they run only when the fold has nothing against the batch.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from typing import TYPE_CHECKING

from ledger.checks.base import Batch

if TYPE_CHECKING:
    from ledger.findings import Finding

__all__ = ["CHECKS", "Batch", "run"]

CHECKS: tuple[str, ...] = ()


def run(batch: Batch) -> Iterator[Finding]:
    """Ask every check, in the written order; findings come in the order of checks."""
    for name in CHECKS:
        yield from import_module(f"ledger.checks.{name}").check(batch)
