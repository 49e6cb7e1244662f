"""`sexes` and `succession`: who changed sex and after whose loss; units, their orders, open places, who is next."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from reports import cli_say as out
from reports.cli_book import Asked, reading
from reports.cli_lists import list_page
from reports.cli_say import Column, Page

if TYPE_CHECKING:
    from datetime import date

    import polars as pl

    from reports.cli_book import Reading

_LETTER: Final = {"male": "m", "female": "f", "hermaphrodite": "h", "unknown": "u", "": "?"}
_RANGE: Final = re.compile(r"\d{4}-\d\d-\d\d to ")  # of a loss the table shows the day it counts on
_SEXES: Final = (
    Column("animal", "animal"),
    Column("n", "n", right=True, drop=9),
    Column("taxon", "taxon", drop=8),
    Column("unit", "unit", drop=5),
    Column("change", "change"),
    Column("stage", "stage"),
    Column("sign", "first sign", drop=4),
    Column("completed", "completed", drop=3),
    Column("lost", "after the loss of", drop=2),
    Column("loss_to_sign", "d to sign", right=True, drop=1),
    Column("loss_to_completed", "to end", right=True, drop=1),
    Column("rank", "rank then", drop=6),
    Column("fits", "fits", drop=7),
    Column("size", "size", drop=10),
    Column("first_brood", "first brood since", drop=11),
    Column("unit_now", "unit now", drop=12),
)
_SUCCESSION: Final = (
    Column("unit", "unit"),
    Column("taxon", "taxon", drop=7),
    Column("now", "m.f.u", drop=4),
    Column("state", "state"),
    Column("dominant", "dominant", drop=3),
    Column("since", "since", drop=8),
    Column("places_open", "open", right=True, drop=5),
    Column("open_since", "open since", drop=2),
    Column("opened_by", "opened by", drop=6),
    Column("days_open", "days", right=True),
    Column("over_by", "over by", right=True, drop=1),
    Column("next", "next (presumed)"),
    Column("presumed_to_move_up", "moves up (presumed)", drop=9),
    Column("presumed_by", "by", drop=10),
    Column("order", "order seen", drop=11),
    Column("order_on", "on", drop=12),
    Column("agree", "as by size", drop=13),
)


def sexes(asked: Asked, on: str | None, *, findings: bool) -> None:
    """`tidemark sexes`: transitions, or with `--findings` the entries about sex and what each did to figures."""
    from reports import sex_findings
    from reports import sexes as report

    with reading(asked) as book:
        day = book.day(on) if on else book.today
        ask = sex_findings.sex_findings if findings else report.sexes
        frame = ask(book.copy, book.named(day), book.asof(day), book.house)
    if findings:
        counts = ", ".join(f"{n} {word}" for word, n in frame["effect"].value_counts(sort=True).iter_rows())
        keep = ("animal", "what", "to", "day", "effect", "event")
        sums = f"{frame.height:,} entries{': ' if counts else ''}{counts}."
        return out.show(list_page(book, f"findings of sex up to {day}", frame, keep, sums, on=day), asked.form)
    lines = [
        {
            **row,
            "change": f"{_LETTER.get(row['from'], '?')} → {_LETTER.get(row['to'], '?')}",
            "lost": f"{_RANGE.sub('', row['loss'])} ({row['loss_by']})" if row["loss"] else row["loss_by"],
            "unit_now": _with(row["unit_mfu"], row["unit_range"]),
            "n": row["n"] if row["subject"].startswith("g-") else "",
            "first_brood": f"{row['first_brood']} {row['first_brood_on']}" if row["first_brood"] else "",
        }
        for row in frame.to_dicts()
    ]
    stages = ", ".join(f"{n} {word}" for word, n in frame["stage"].value_counts(sort=True).iter_rows())
    said = f"{frame.height:,} sex change{'' if frame.height == 1 else 's'}{': ' if stages else ''}{stages}."
    if "presumed" in frame["loss_by"]:
        said += " A loss that no entry names is presumed: the oldest open place of the unit."
    page = _page(book, f"sex transitions up to {day}", frame, lines, _SEXES, said, day)
    return out.show(page._replace(after="tidemark succession" if frame.height else ""), asked.form)


def succession(asked: Asked, on: str | None) -> None:
    """`tidemark succession`."""
    from reports import succession as report

    with reading(asked) as book:
        day = book.day(on) if on else book.today
        frame = report.succession(book.copy, book.named(day), book.asof(day), book.house)
    lines = [
        {
            **row,
            "unit": f"{row['unit']} (a lot, assumed)" if row["assumed"] else row["unit"],
            "now": _with(row["mfu"], row["mfu_range"]),
            "state": f"{row['state']}: {row['changing']}" if row["state"] == "change under way" else row["state"],
            "since": row["since"],
            "next": _next(row),
        }
        for row in frame.to_dicts()
    ]
    without = frame["without_days"].drop_nulls().to_list()
    said = f"{frame.height:,} unit{'' if frame.height == 1 else 's'}"
    said += f", {len(without)} without the dominant sex, the longest for {max(without)} days." if without else "."
    if any(row["presumed_next"] or row["presumed_to_move_up"] for row in lines):
        said += " What is presumed follows a rule of the taxon; it is in no census."
    out.show(_page(book, f"succession on {day}", frame, lines, _SUCCESSION, said, day), asked.form)


def _next(row: dict[str, Any]) -> str:
    """Who is presumed next, and for which place where it is not the dominant one's."""
    other = row["presumed_for"] not in ("", row["dominant_sex"])
    return f"{row['presumed_next']} ({row['presumed_for']} place)" if other else str(row["presumed_next"])


def _with(figure: str, more: str) -> str:
    return f"{figure} ({more})" if more else figure


def _page(
    book: Reading,
    what: str,
    frame: pl.DataFrame,
    lines: list[dict[str, Any]],
    columns: Sequence[Column],
    sums: str,
    day: date,
) -> Page:
    about = book.about(on=day)
    return Page(book.head(what, day), about, frame.columns, frame.to_dicts(), lines, list(columns), sums)
