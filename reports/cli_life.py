"""`life` and `find`: the story of one animal or lot, and who ever bore a mark, number or name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import polars as pl

from reports import cli_say as out
from reports.cli_book import Asked, reading
from reports.cli_guard import ENVIRONMENT, REFUSED, Stop
from reports.cli_lists import list_page
from reports.cli_say import Column, Page

if TYPE_CHECKING:
    from reports.cli_book import Reading
    from reports.life import Life

_COLUMNS: Final = [
    Column("topic", "topic"),
    Column("since", "from"),
    Column("possible", "possible from", drop=3),
    Column("until", "to"),
    Column("days", "days", right=True, drop=2),
    Column("what", "what"),
    Column("about", "about", drop=4),
    Column("through", "through", drop=1),
    Column("entries", "entries"),
]
_BEHIND: Final = ("root", "seq", "kind", "said")


class Wish(NamedTuple):
    """What is wanted of a life beside its lines: the entries behind it; a page, into a file or a folder."""

    evidence: bool
    html: Path | None
    into: Path | None


def life(asked: Asked, number: str, on: str | None, wish: Wish) -> None:
    """`tidemark life`."""
    from reports import life as report
    from reports import life_page
    from reports.life_evidence import evidence

    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names = book.named(day)
        subject = _subject(book, life_page.subjects(names, number), number)
        told = report.life(book.copy, names, book.asof(day), subject)
        if not told.lines.height:
            raise Stop(f"Nothing is known of {number} by {day}, as known then; ask of a later day.", REFUSED)
        if wish.html or wish.into:
            target = _target(wish, told.number)
            text = life_page.render(book.copy, names, book.asof(day), subject)
            return _write(target, text)
        behind = evidence(book.copy, names, book.asof(day), told.events)
        head = f"life of {told.number} by {day}"
        if wish.evidence:
            n = (behind["state"] != "stands").sum()
            sums = f"{behind.height:,} entries as written, oldest of each line first; {n:,} no longer stand."
            return out.show(_listed(book, f"entries behind the {head}", behind, _BEHIND, sums, day), asked.form)
        about = {**_about(book, day), "subject": subject, "number": told.number}
        about |= {"card": told.card.to_dicts(), "balances": told.balances.to_dicts(), "evidence": behind.to_dicts()}
        page = _page(_head(book, head, day), about, told, life_page.careful(told))
    return out.show(page if asked.form == "json" else _flat(page), asked.form)


def _head(book: Reading, what: str, day: date) -> str:
    """The line over an answer that is about no basis: a life goes through houses."""
    return " · ".join(part for part in book.head(what, day).split(" · ")[1:] if part != book.basis.how)


def _about(book: Reading, day: date) -> dict[str, Any]:
    return {key: value for key, value in book.about(on=day).items() if key != "basis"}


def _listed(
    book: Reading, what: str, frame: pl.DataFrame, keep: Sequence[str], sums: str, day: date, after: str = ""
) -> Page:
    page = list_page(book, what, frame, keep, sums, after, on=day)
    return page._replace(head=_head(book, what, day), about=_about(book, day))


def _subject(book: Reading, found: Sequence[str], number: str) -> str:
    """The one that bears the number, as known. Stops where nobody does, or two do."""
    if len(found) == 1:
        return found[0]
    if not found:
        raise Stop(
            f"No animal or lot bears the number {number}, as known @{book.known}; "
            f"tidemark find {number} looks through all marks, names and old numbers.",
            REFUSED,
        )
    houses = [book.names.thing(house) for house in book.names.numbers.filter(pl.col("subject").is_in(found))["house"]]
    ways = ", ".join(f"{house.code}:{number}" for house in houses if house)
    raise Stop(f"{len(found)} animals or lots bear the number {number}: say {ways}.", REFUSED)


def _target(wish: Wish, number: str) -> Path:
    if wish.html:
        target = wish.html
    else:
        assert wish.into is not None
        if not wish.into.is_dir():
            raise Stop(f"There is no folder {wish.into}; make it first.")
        safe = "".join(c if c.isalnum() or c in "-_" else "-" for c in number)
        target = wish.into / f"life-{safe}.html"
    if not target.parent.is_dir():
        raise Stop(f"There is no folder {target.parent}; make it first.")
    if target.is_dir():
        raise Stop(f"{target} is a folder; name a file, or say --into {target}.")
    return target


def _write(target: Path, text: str) -> None:
    half = target.with_name(f"{target.name}.part")  # renamed when whole: nobody opens half a page
    try:
        half.write_text(text, encoding="utf-8")
        half.replace(target)
    except OSError as problem:
        raise Stop(f"{target} cannot be written: {problem.strerror}.", ENVIRONMENT) from None
    out.say(f"Wrote {target}.")


# --- as a table ---------------------------------------------------------------------------------------


def _page(head: str, about: dict[str, Any], told: Life, caution: str) -> Page:
    lines = _card_lines(told) + _story_lines(told) + _balance_lines(told)
    for above, line in reversed(list(pairwise(lines))):
        if line["topic"] == above["topic"]:
            line["topic"] = ""  # said once
    entries = f"{len(told.events):,} {'entry' if len(told.events) == 1 else 'entries'}"
    sums = f"{told.lines.height:,} lines rest on {entries}. {_added(told)}{caution}"
    after = f"tidemark life {told.number} --evidence"
    return Page(head, about, told.lines.columns, told.lines.to_dicts(), lines, list(_COLUMNS), sums, after)


def _added(told: Life) -> str:
    if told.subject.startswith("g-"):
        return ""
    places = told.lines.filter(
        (pl.col("topic") == "place") & (pl.col("through") == "") & pl.col("ref").str.starts_with("e-")
    )
    stays = f"{places.height} {'stay' if places.height == 1 else 'stays'}"
    return f"{told.days:,} days in the enclosures of a house, in {stays}. "


def _card_lines(told: Life) -> list[dict[str, Any]]:
    from reports.life_page import ITEM_WORDS

    return [
        {"topic": "In short", "what": f"{ITEM_WORDS[row['item']]}: {row['words']}", "entries": ""}
        for row in told.card.to_dicts()
    ]


def _story_lines(told: Life) -> list[dict[str, Any]]:
    from reports.life_lines import TOPICS

    return [
        {
            "topic": TOPICS[row["topic"]],
            "since": row["since"] or "before",
            "possible": _possible(row),
            "until": row["until"],
            "days": row["days"],
            "what": row["what"],
            "about": row["about"],
            "through": row["through"],
            "entries": _entries(row["events"]),
        }
        for row in told.lines.to_dicts()
    ]


def _possible(row: Mapping[str, Any]) -> Any:
    if row["since"] is None:
        return ""
    return "" if row["since_possible"] == row["since"] else row["since_possible"] or "open"


def _balance_lines(told: Life) -> list[dict[str, Any]]:
    from reports.life_page import sexes

    return [
        {
            "topic": "Balance",
            "since": row["day"],
            "possible": row["day_possible"] if row["day_possible"] != row["day"] else "",
            "what": f"{row['total']:,} ({sexes(row)})",
            "about": ", ".join(
                filter(None, (f"{row['what']} {row['change']:+d}".replace("-", "−"), row["places"], _unexplained(row)))
            ),
            "entries": f"#{row['event']}",
        }
        for row in told.balances.to_dicts()
    ]


def _unexplained(row: Mapping[str, Any]) -> str:
    return f"{abs(row['unexplained'])} unexplained" if row["unexplained"] else ""


def _entries(roots: Sequence[int]) -> str:
    return " ".join(f"#{root}" for root in roots)


def _flat(page: Page) -> Page:
    """The page with its lists of entries as text, for a cell of a table."""
    return page._replace(rows=[{**row, "events": _entries(row["events"])} for row in page.rows])


# --- find -------------------------------------------------------------------------------------------------


def find(asked: Asked, text: str, on: str | None) -> None:
    """`tidemark find`."""
    from reports import find as report

    with reading(asked) as book:
        day = book.day(on) if on else book.today
        if not report.squeezed(text):
            raise Stop("Say what to look for: a mark, a number or a name, or a part of one of three characters.")
        frame = report.find(book.copy, book.named(day), book.asof(day), text)
        bearers = frame["subject"].n_unique()
        short = len(report.squeezed(text)) < report.SHORTEST
        rule = f" A part needs {report.SHORTEST} characters." if short else ""
        named = f"{bearers:,} {'bearer' if bearers == 1 else 'bearers'}"
        sums = f"{named} of {frame.height:,} {'name' if frame.height == 1 else 'names'}.{rule}"
        first = next(iter(frame["number"]), "")
        after = f"tidemark life {first}" if first else ""
        page = _listed(book, f"who bore “{text}”, by {day}", frame, ("number", "sort", "value"), sums, day, after)
    out.show(page, asked.form)
