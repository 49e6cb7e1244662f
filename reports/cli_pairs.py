"""`pairs`: bonds with their histories, and beside them courtship, waiting for the next mate and fidelity."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from reports import cli_say as out
from reports.cli_book import Asked, Reading, reading
from reports.cli_guard import REFUSED, Stop
from reports.cli_lists import list_page
from reports.cli_say import Column, Page

if TYPE_CHECKING:
    from datetime import date

    from reports.pair_page import Question

Wish = Literal["histories", "courtship", "waiting", "fidelity"]
_LETTER: Final = {"male": "m", "female": "f", "hermaphrodite": "h", "unknown": "u"}
_HISTORIES: Final = (
    Column("one", "one"),
    Column("other", "other"),
    Column("taxon", "taxon", drop=7),
    Column("start", "from"),
    Column("ended", "ended by, on"),
    Column("days", "days", right=True),
    Column("together", "together", right=True, drop=3),
    Column("apart", "apart", right=True, drop=4),
    Column("cannot_say", "cannot say", right=True, drop=5),
    Column("broods", "broods", right=True, drop=2),
    Column("young", "young", right=True, drop=2),
    Column("alive_30", "alive at 30 d", right=True, drop=6),
    Column("next", "next mate", drop=1),
    Column("mates", "mates at once", right=True, drop=9),
    Column("greeted", "last greeting", drop=10),
    Column("enclosure", "enclosure", drop=8),
)
_NARROW: Final = (
    Column("two", "pair"),
    Column("start", "from"),
    Column("how", "ended by"),
    Column("days", "days", right=True),
    Column("young", "young", right=True, drop=1),
)


def pairs(asked: Asked, on: str | None, wish: Wish, taxon: str | None, html: Path | None) -> None:
    """`tidemark pairs`."""
    from reports.pair_page import Question

    if html is not None and html.exists():
        raise Stop(f"Something stands at {html} already; name another file.")
    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names = book.named(day)
        question = Question(book.copy, names, book.asof(day), book.house, _taxon(book, taxon))
        if html is not None:
            return _write(question, html)
        return out.show(_page(book, question, wish, day), asked.form)


def _taxon(book: Reading, typed: str | None) -> str:
    """The id of a taxon by scientific or common name; "" where none is asked for."""
    if not typed:
        return ""
    try:
        return book.names.accepted(book.names.find("taxon", typed))
    except KeyError:
        common = {
            t.id for t in book.names.of("taxon") if str(t.fields.get("common_name") or "").lower() == typed.lower()
        }
    if len(common) != 1:
        raise Stop(f"There is no taxon “{typed}” in the book; write it as census does.", REFUSED)
    return book.names.accepted(common.pop())


def _write(question: Question, html: Path) -> None:
    from reports import pair_page
    from reports.page import page

    made = pair_page.page(question)
    html.write_text(
        page("Bonds, and what came of them", f"as known @{question.asof.known}", made.parts), encoding="utf-8"
    )
    out.say(f"Wrote {html}.")


def _page(book: Reading, question: Question, wish: Wish, day: date) -> Page:
    if wish == "histories":
        return _histories(book, question, day)
    if wish == "courtship":
        frame = question.courting
        keep = ("who", "whom", "bouts", "with_eggs")
        sums = f"{frame['bouts'].sum():,} bouts of {frame.filter(frame['bouts'] > 0).height:,} twos, "
        sums += f"{frame['with_eggs'].sum():,} with eggs; {frame['broods_without'].sum():,} broods without a bout seen."
        return list_page(book, f"courtship up to {day}", frame, keep, sums, on=day)
    if wish == "fidelity":
        frame = question.fidelity
        shares = ("taxon", "of", "gap", "same", "fidelity")
        sums = "Steps from brood to brood. fidelity: same / (same + changed, former present); retention counts all."
        return list_page(book, f"mate fidelity up to {day}", frame, shares, sums, on=day)
    frame = question.waiting.episodes
    only = ("animal", "former", "days", "state")
    page = list_page(book, f"waiting for the next mate up to {day}", frame, only, _waited(question), on=day)
    columns = [column for column in page.columns if column.key not in ("entry", "days_low", "days_high")]
    return page._replace(lines=[_wait(line) for line in page.lines], columns=columns)


def _wait(line: Mapping[str, Any]) -> dict[str, Any]:
    """A wait as a person reads it: the days with their range, who put the next mate in."""
    from reports.tables import counted

    return {
        **line,
        "days": "" if line["days"] is None else counted(line["days"], line["days_low"], line["days_high"]),
        "state": line["state"].replace("re_", "re-").replace("_", " "),
        "introduced": "yes" if line["introduced"] else "",
        "pair": f"#{line['pair']}",
    }


def _waited(question: Question) -> str:
    """Sums of the waits, and by taxon the shares at the last event where there are enough for a curve."""
    from reports.waiting import ENOUGH, EVERY_DAY

    summed = question.waiting.summary
    said = f"{summed['episodes'].sum():,} waits: {summed['events'].sum():,} ended with a mate, "
    said += (
        f"{summed['introduced'].sum():,} of them put in by the keepers; {summed['departed'].sum():,} ended otherwise, "
    )
    said += f"{summed['waiting'].sum():,} go on; {summed['never_had'].sum():,} never had a possible mate."
    curves = question.waiting.curves
    last = {row["taxon"]: row for row in curves.to_dicts() if row["clock"] == EVERY_DAY}
    for taxon, row in last.items():
        said += f" {taxon}: {row['paired']:.0%} had a mate again by day {row['day']:.0f}"
        said += f" ({1 - row['surv']:.0%} had nothing else ended a wait)."
    return said if last else f"{said} Shares are given from {ENOUGH} waits that ended with a mate."


def _histories(book: Reading, question: Question, day: date) -> Page:
    frame = question.pairs
    rows = frame.to_dicts()
    ends = Counter(row["ended_by"] for row in rows)
    stands = ends.pop("", 0)
    by = ", ".join(f"{n} {how.replace('_', ' ')}" for how, n in ends.most_common())
    sums = f"{len(rows):,} bonds: {stands:,} standing{f'; {by}' if by else ''}."
    about = book.about(on=day)
    head = book.head(f"pairs on {day}", day)
    lines = [_line(row) for row in rows]
    after = f"tidemark pairs --on {day} --waiting"
    return Page(head, about, frame.columns, rows, lines, list(_HISTORIES), sums, after if rows else "", _NARROW)


def _line(row: Mapping[str, Any]) -> dict[str, Any]:
    """A bond as a person reads it."""
    from reports.tables import counted

    days = counted(row["days"], row["days_low"], row["days_high"])
    low, high = row["alive_30_low"], row["alive_30_high"]
    alive = "not yet" if low is None else str(low) if low == high else f"{low} to {high}"
    waits = [f"{row[x]}: {said}" for x in "ab" if (said := _next(row, x))]
    ended = row["how_ended"] + (f", {row['end']}" if row["end"] else "")
    return {
        "one": f"{row['a']} {_LETTER[row['sex_a']]}",
        "other": f"{row['b']} {_LETTER[row['sex_b']]}",
        "two": f"{row['a']} + {row['b']}",
        "taxon": row["taxon"],
        "start": str(row["start"]),
        "ended": ended,
        "how": row["how_ended"],
        "days": days,
        "together": row["together"],
        "apart": row["apart"],
        "cannot_say": row["cannot_say"],
        "broods": row["broods"],
        "young": row["young"],
        "alive_30": alive if row["young"] else "",
        "next": "; ".join(waits),
        "mates": row["mates_at_once"] if row["mates_at_once"] > 1 else "",
        "greeted": str(row["last_greeting"] or ""),
        "enclosure": row["enclosure"],
    }


def _next(row: Mapping[str, Any], x: str) -> str:
    days, state = row[f"{x}_wait"], row[f"{x}_wait_state"]
    if days is None:
        return ""
    if row[f"{x}_next"]:
        return f"{row[f'{x}_next']} after {days} d"
    return f"none yet, {days} d" if state == "waiting" else f"none, {state.replace('_', ' ')} after {days} d"
