"""The book of animals: an append-only log, the journal of what it did, and one door in.

`new_book` makes one, `open_book` opens one (for reading unless `write=True`), `open_simulated` makes one whose
recording times are invented (the demo and tests alone).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ledger.book import Book
    from ledger.chance import Chance

VERSION = "0.1.0"
__all__ = ["VERSION", "new_book", "open_book"]


def open_book(place: str, *, write: bool = False) -> Book:
    """Open a book that exists. Raises a `ledger.store.StoreError` with one sentence where that cannot be."""
    from ledger.book import Book
    from ledger.store.places import open_store

    return Book(open_store(place, write=write), write=write)


def new_book(
    place: str, *, person: dict[str, Any], house: dict[str, Any], chance: Chance | None = None, occurred: str = ""
) -> Book:
    """Make a book at `place` (`:memory:` for one that is not kept), with its first person and first house.

    `person` and `house` are payloads as people type them. `chance` is for simulated books and tests; the
    genesis says so. Raises `BookExists`, and `ValueError` with the findings where person or house is refused.
    """
    from ledger.genesis import make

    return make(place, person, house, chance, occurred)
