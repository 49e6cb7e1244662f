"""Open items that are one piece of work as one line: the deaths of a lot, the animals of a taxon nobody recorded.

Definition. Rows of `open_items` are put together where the same look or the same paper settles them: deaths of one
number whose cause is open; of one taxon the animals of unknown sex, and those about which nothing was recorded;
missing permits of one number. All others stay alone, as does a group of one. What was looked for and not seen is
never put together: each of them is news.

Columns: `item`; `what` (the number, or the first one and how many more); `about` (in words); `since` and `until` (the
first and last day of them); `days` (of the oldest, as in `open_items`); `entries` (how many items); `event` (position
of the newest of their entries).

Source: derived from `open_items`; the rows there stay one an item.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import polars as pl

from ledger.dates import spoken_range

SCHEMA: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("item", "what", "about"), pl.String),
    **dict.fromkeys(("since", "until"), pl.Date),
    **dict.fromkeys(("days", "entries", "event"), pl.Int64),
}
BY: Final = {"cause": "what", "permit missing": "what", "sex": "taxon", "not seen": "taxon"}  # item -> grouped by
NEWS: Final = "looked for and not seen"


def grouped(frame: pl.DataFrame) -> pl.DataFrame:
    """Rows of `open_items.open_items` as lines of work; items in their order, the oldest of each first."""
    groups: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for number, row in enumerate(frame.to_dicts()):
        key = row.get(BY.get(row["item"], "")) or number
        groups.setdefault((row["item"], number if row["about"].endswith(NEWS) else key), []).append(row)
    return pl.DataFrame([_line(rows) for rows in groups.values()], schema=SCHEMA)


def _line(rows: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    first, last = min(r["since"] for r in rows), max(r["since"] for r in rows)
    numbers = list(dict.fromkeys(r["what"] for r in rows))
    more = f" and {len(numbers) - 1} more" if len(numbers) > 1 else ""
    return {
        "item": rows[0]["item"],
        "what": numbers[0] + more,
        "about": _about(rows) if len(rows) > 1 else rows[0]["about"],
        "since": first,
        "until": last,
        "days": max(r["days"] for r in rows),
        "entries": len(rows),
        "event": max(r["event"] for r in rows),
    }


def _about(rows: Sequence[Mapping[str, Any]]) -> str:
    first, last = min(r["since"] for r in rows), max(r["since"] for r in rows)
    n, item = sum(r["animals"] for r in rows), rows[0]["item"]
    if item == "cause":
        return f"{n} deaths without a cause, {spoken_range(first, last)}"
    if item == "permit missing":
        return f"{len(rows)} entries, {rows[0]['about']}"
    least, most = min(r["days"] for r in rows), max(r["days"] for r in rows)
    said = f"{n} {rows[0]['taxon']} under {len(rows)} numbers"
    if item == "sex":
        return f"{said}, sex not known"
    return f"{said}, nothing recorded for {least:,} {f'to {most:,} ' if most > least else ''}days"
