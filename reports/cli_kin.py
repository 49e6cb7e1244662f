"""`kin` and `shared`: kin of one animal or lot, who shared its water, and candidate parents of a brood or of young."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from reports import cli_say as out
from reports.cli_book import Asked, Reading, reading
from reports.cli_guard import ENVIRONMENT, REFUSED, Stop
from reports.cli_say import Column, Page

if TYPE_CHECKING:
    from reports.kin import Kin

_DRAWN: Final = (".svg", ".png")
_KIN: Final = [
    Column("relation", "relation"),
    Column("role", "role"),
    Column("number", "number"),
    Column("chance", "chance"),
    Column("sex", "sex", drop=4),
    Column("born", "born", drop=3),
    Column("where", "where"),
    Column("kinship", "kinship", right=True, drop=2),
    Column("shared", "shared parents", drop=6),
    Column("basis", "basis", drop=5),
    Column("why", "and", drop=7),
    Column("event", "entry", drop=1),
]
_SHARED: Final = [
    Column("how", "how"),
    Column("number", "with"),
    Column("taxon", "taxon", drop=5),
    Column("what", "in"),
    Column("purpose", "purpose", drop=4),
    Column("since", "from"),
    Column("until", "to"),
    Column("days", "days", right=True),
    Column("range", "at least to most", right=True, drop=3),
    Column("role", "role", drop=2),
    Column("sure", "sure", drop=1),
    Column("other_now", "the other now", drop=6),
    Column("event", "entry", drop=7),
]
_CANDIDATES: Final = [
    Column("role", "as"),
    Column("number", "number"),
    Column("recorded", "recorded"),
    Column("taxon", "taxon", drop=3),
    Column("other_taxon", "and", drop=6),
    Column("sex", "sex"),
    Column("first", "from"),
    Column("last", "to"),
    Column("days", "days", right=True, drop=4),
    Column("sure", "sure", drop=5),
    Column("enclosure", "in", drop=1),
    Column("age", "age, days", right=True, drop=7),
    Column("state", "now", drop=2),
]


def kin(asked: Asked, number: str, on: str | None, chart: Path | None, html: Path | None) -> None:
    """`tidemark kin ACCESSION`."""
    from reports import family_chart, kin_page
    from reports import kin as report

    if chart is not None and chart.suffix not in _DRAWN:
        raise Stop(f"A chart is drawn as {' or '.join(_DRAWN)}; not “{chart.name}”.")
    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names, asof = book.named(day), book.asof(day)
        subject = _subject(book, number)
        told = report.kin(book.copy, names, asof, subject)
        drawn = family_chart.members(book.copy, names, asof, subject) if chart or html else None
        head = _head(book, f"kin of {names.number(subject)} on {day}", day)
    if drawn is not None and html is not None:
        _write(html, kin_page.render(told, drawn, names.number(subject), head).encode())
        return
    out.show(_kin_page(book, head, told, day), asked.form)
    if drawn is not None and chart is not None:
        _draw(drawn, chart)


def _kin_page(book: Reading, head: str, told: Kin, day: date) -> Page:
    from reports.kin_page import born, chance, place, said

    rows = told.rows.to_dicts()
    lines = [
        {
            **row,
            "chance": said(row),
            "born": born(row),
            "where": place(row),
            "kinship": chance(row["kinship"]),
            "event": f"#{row['event']}" if row["event"] else "",
        }
        for row in rows
    ]
    counts = [
        (word, sum(1 for r in rows if r["relation"] == word)) for word in dict.fromkeys(r["relation"] for r in rows)
    ]
    named = sum(1 for r in rows if r["relation"] == "parent" and r["subject"])
    words = [f"{n} {word}{'s' * (n != 1 and word != 'offspring')}" for word, n in counts if word != "parent"]
    inbred = "not defined" if told.inbreeding is None else f"{told.inbreeding:.4g}"
    sums = f"{', '.join([f'{named} named as parents', *words])}; inbreeding {inbred}. {' '.join(told.notes)}".strip()
    about = {**_about(book, day), "subject": told.subject, "inbreeding": told.inbreeding, "notes": told.notes}
    return Page(head, about, told.rows.columns, rows, lines, _KIN, sums)


def _draw(drawn: Any, file: Path) -> None:
    """The family chart to a file of its own."""
    from reports import family_chart

    if not drawn.couples:
        out.say(f"Nothing is drawn: {drawn.finding}", err=True)
        return
    text = family_chart.drawing(drawn, alone=True)
    if file.suffix == ".png":
        import vl_convert

        _write(file, vl_convert.svg_to_png(text, scale=2), quiet=True)
    else:
        _write(file, text.encode(), quiet=True)
    out.say(f"Drawn in {file}: {drawn.finding}", err=True)


def shared(asked: Asked, number: str, on: str | None) -> None:
    """`tidemark shared ACCESSION`."""
    from reports import shared as report

    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names = book.named(day)
        subject = _subject(book, number)
        frame = report.shared(book.copy, names, book.asof(day), subject)
        head = _head(book, f"company of {names.number(subject)} up to {day}", day)
    rows = frame.to_dicts()
    company = frame.filter(pl.col("how") == "enclosure")
    met, perhaps = company["subject"].n_unique(), company.filter(pl.col("sure") == "perhaps").height
    sums = f"{met:,} others in the same enclosure, {frame.height - company.height:,} associations."
    sums += f" {perhaps} of the rows only if open dates fell so." if perhaps else ""
    after = f"tidemark shared {number} --candidates"
    about = {**_about(book, day), "subject": subject}
    out.show(Page(head, about, frame.columns, rows, [_shared_line(r) for r in rows], _SHARED, sums, after), asked.form)


def _shared_line(row: Mapping[str, Any]) -> dict[str, Any]:
    low, high = row["days_low"], row["days_high"]
    return {
        **row,
        "range": "" if low == high else f"{low:,} to {high:,}",
        "sure": "" if row["sure"] == "yes" else row["sure"],
        "event": f"#{row['event']}" if row["event"] else "",
    }


def candidates(asked: Asked, named: str, on: str | None) -> None:
    """`tidemark shared ACCESSION --candidates`: of an animal, a lot or a brood."""
    from reports import candidates as report

    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names = book.named(day)
        try:
            subject = names.find("brood", named)
        except KeyError:
            subject = _subject(book, named)
        try:
            found = report.candidates(book.copy, names, book.asof(day), subject)
        except report.CannotSay as reason:
            raise Stop(f"No candidates for {named}: {reason}", REFUSED) from None
        head = _head(book, f"candidate parents of {named}, asked on {day}", day)
    lines = [{**row, "sure": "" if row["sure"] == "yes" else row["sure"]} for row in found.rows.to_dicts()]
    spans = "; ".join(f"{role}s from {w.first} to {w.last} ({w.by})" for role, w in found.windows.items())
    sums = f"{len(lines):,} candidates, {found.beside}. {spans}. None of it is a finding of parentage."
    about = {**_about(book, day), "of": subject, "beside": found.beside}
    about["windows"] = {role: window._asdict() for role, window in found.windows.items()}
    out.show(Page(head, about, found.rows.columns, found.rows.to_dicts(), lines, _CANDIDATES, sums), asked.form)


# --- what they share ------------------------------------------------------------------------------------


def _head(book: Reading, what: str, day: date) -> str:
    """The line over an answer that is about no basis and no one house."""
    return " · ".join(part for part in book.head(what, day).split(" · ")[1:] if part != book.basis.how)


def _about(book: Reading, day: date) -> dict[str, Any]:
    return {key: value for key, value in book.about(on=day).items() if key != "basis"}


def _subject(book: Reading, text: str) -> str:
    """The animal or lot that bears a number (`CODE:number` where two houses give it), or an id."""
    numbers = book.names.numbers
    code, _, bare = text.rpartition(":")
    houses = [t.id for t in book.names.of("house") if t.code == code]
    found = numbers.filter((pl.col("number") == bare) & pl.col("house").is_in(houses)) if code else numbers.clear()
    if not found.height:
        found = numbers.filter((pl.col("number") == text) | (pl.col("subject") == text))
    subjects: Sequence[str] = found["subject"].unique(maintain_order=True).to_list()
    if len(subjects) == 1:
        return subjects[0]
    if not subjects:
        raise Stop(
            f"No animal or lot bears the number {text}, as known @{book.known}; "
            f"tidemark find {text} looks through all marks, names and old numbers.",
            REFUSED,
        )
    ways = ", ".join(f"{thing.code}:{bare}" for h in found["house"] if (thing := book.names.thing(h)))
    raise Stop(f"{len(subjects)} animals or lots bear the number {text}: say {ways}.", REFUSED)


def _write(file: Path, content: bytes, *, quiet: bool = False) -> None:
    half = file.with_name(f"{file.name}.part")  # renamed when whole: nobody opens half a page
    try:
        half.write_bytes(content)
        half.replace(file)
    except OSError as problem:
        raise Stop(f"{file} cannot be written: {problem.strerror}.", ENVIRONMENT) from None
    if not quiet:
        out.say(f"Wrote {file}.")
