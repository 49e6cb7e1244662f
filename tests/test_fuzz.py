"""A thousand mutants of good files (`fuzz.py`; 100,000 by hand), and that a fault would be seen."""

from __future__ import annotations

from typing import Any

import fuzz
import pytest

from ledger.book import Book
from ledger.intake import jsonl

SEED = 20260101


def test_a_thousand_mutants() -> None:
    seen = fuzz.run(1_000, SEED)
    assert sum(seen.values()) == 1_000
    assert len(seen) >= 12, f"the mutants have become all alike: {seen}"
    assert seen["landed"] >= 10, "hardly any is good: they no longer reach the book"


def test_a_traceback_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    parse = jsonl.parse

    def clumsy(raw: bytes) -> Any:
        entry = parse(raw)
        return entry | {"kind": entry["kind"].lower()} if entry else entry  # a kind that is no text, or is missing

    monkeypatch.setattr(jsonl, "parse", clumsy)
    with pytest.raises(fuzz.Fault, match=r"AttributeError|KeyError"):
        fuzz.run(300, SEED)


def test_a_partial_write_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    load = Book.load

    def half(self: Book, loaded: Any, **more: Any) -> Any:
        """Writes the rows one by one, good ones before the bad one."""
        out: list[Any] = []
        for batch in loaded:
            for row in batch:
                out += load(self, [[row]], **more)
        return out

    monkeypatch.setattr(Book, "load", half)
    with pytest.raises(fuzz.Fault, match="something was written"):
        fuzz.run(600, SEED)
