"""Which store a place names: `:memory:` for a book that is not kept, else a file of SQLite."""

from __future__ import annotations

from ledger.store.memory import MemoryStore
from ledger.store.port import Store
from ledger.store.sqlite import SqliteStore

MEMORY = ":memory:"


def open_store(place: str, *, write: bool = False) -> Store:
    """The store of a book that exists. Raises NoBook and its like."""
    return SqliteStore(place, write=write)


def create_store(place: str) -> Store:
    """The store of a new, empty book, open for writing. Raises BookExists where something stands there."""
    return MemoryStore() if place == MEMORY else SqliteStore.create(place)
