"""A frame that is a list of things to look at, as a page: its columns as they are named, whatever they are."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from reports.cli_say import Column, Page

if TYPE_CHECKING:
    import polars as pl

    from reports.cli_book import Reading

_IDS: Final = ("subject", "place", "holder_id", "owner_id")
_ENTRIES: Final = ("event", "seq", "supersedes", "superseded", "superseded_by")


def list_page(
    book: Reading, what: str, frame: pl.DataFrame, keep: Sequence[str], sums: str, after: str = "", **days: date
) -> Page:
    """A frame as a page. `keep`: columns that stay on a narrow terminal; the others go from the right end."""
    rows = frame.to_dicts()
    shown = [name for name in frame.columns if not (name.endswith("_id") or name in _IDS)]
    numbers = [name for name in shown if frame[name].dtype.is_integer() and name not in _ENTRIES]
    columns = [
        Column(name, name.replace("_", " "), right=name in numbers, drop=0 if name in keep else number + 1)
        for number, name in enumerate(shown)
    ]
    lines = [{name: _said(name, row[name]) for name in shown} for row in rows]
    return Page(book.head(what, *days.values()), book.about(**days), frame.columns, rows, lines, columns, sums, after)


def _said(name: str, value: Any) -> Any:
    if name in _ENTRIES and isinstance(value, int):
        return f"#{value}" if value else ""
    if name == "recorded" and isinstance(value, str):
        return f"{value[:10]} {value[11:16]}Z"
    if isinstance(value, list):
        return ", ".join(str(_said(name, part)) for part in value)
    if isinstance(value, str) and name in ("what", "kind", "cause", "sort", "reason", "standing"):
        return value.replace("_", " ")
    return value
