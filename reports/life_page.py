"""A life as one self-contained page: the card, the picture, the lines by topic, and behind them the entries as written.

`render` gives the page as text, `made` its parts one by one, for a notebook; `from_words` takes a person's words.
Every figure is that of `reports.life`; the page computes nothing but its sentences.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import polars as pl

from ledger import VERSION
from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, position_of
from ledger.words import RULES
from reports import charts, life_chart
from reports.life import Life, life
from reports.life_evidence import evidence
from reports.life_lines import TOPICS
from reports.page import Part, look, page, paragraph, section
from reports.tables import Col, field, figure, number, shown, table

ITEM_WORDS: Final = {
    "identification": "Known by",
    "taxon": "Taxon",
    "sex": "Sex",
    "birth": "Born",
    "acquired": "Came",
    "disposed": "Went",
    "source": "From",
    "recipient": "Passed to",
    "stranding": "Of a stranding",
    "death": "Died",
}
CAUTION: Final = (
    "Permits, protected or dangerous animals, animal health and what is done with remains are matters of local law and "
    "of licensed people: this page says what the record says, and is no advice."
)
_CAREFUL: Final = ("transfer", "end", "loss", "remains")
DEFINITIONS: Final = (
    (
        "from",
        "The day from which it counts: the last possible day of the entry, or earlier where other entries prove it.",
    ),
    ("possible from", "The first day it can have been, where that is another."),
    ("to", "The first day on which it was no longer so."),
    ("days", "Closes of days on which it was so. The days of its places add up to its days in the house."),
    ("through", "It came out of that lot; these lines are the lot’s story up to then."),
    ("entry", "Position in the log of the first of its line of corrections. Below, every one of the line as written."),
    ("late", "Days from the last possible day to the day of recording."),
    ("unexplained", "What a count found more or fewer than the entries said, and nobody could say why."),
)


@dataclass(frozen=True)
class Page:
    """The page in parts, in their order. `title` and `foot` are for the page around them."""

    title: str
    foot: str
    head: Part
    card: Part
    picture: Part
    story: Part
    balances: Part | None
    entries: Part
    definitions: Part
    provenance: Part
    life: Life

    @property
    def look(self) -> Part:
        """The style of the parts, for a notebook that shows them one by one."""
        return look()

    @property
    def parts(self) -> list[Part]:
        """All of them."""
        numbers = [] if self.balances is None else [self.balances]
        first = [self.head, self.card, self.picture]
        return [*first, *numbers, self.story, self.entries, self.definitions, self.provenance]


def made(copy: Copy, names: Names, asof: AsOf, subject: str) -> Page:
    """The page of the animal or lot of that id at the close of `asof.on`, as known at `asof.known`."""
    told = life(copy, names, asof, subject)
    behind = evidence(copy, names, asof, told.events)
    of = _called(names, told)
    return Page(
        title=f"{told.number}: its life",
        foot=f"{told.number} · the close of {asof.on} · as known @{asof.known}",
        head=_head(copy, names, told, of),
        card=_card(told),
        picture=_picture(told),
        story=_story(told),
        balances=_balances(told) if told.balances.height else None,
        entries=_entries(behind),
        definitions=_definitions(),
        provenance=_provenance(copy, names, told),
        life=told,
    )


def render(copy: Copy, names: Names, asof: AsOf, subject: str) -> str:
    """The page as one self-contained HTML text."""
    whole = made(copy, names, asof, subject)
    return page(whole.title, whole.foot, whole.parts)


def from_words(copy: Copy, *, number: str, on: str, known_at: str | int) -> Page:
    """The page of what bears a number, as of a day `on` (YYYY-MM-DD); `known_at`: a day, an instant or `@500`.

    Raises KeyError for a number nobody bears, or that two bear; `NotAPosition` or ValueError for days that are none.
    """
    known = position_of(known_at, copy.ends(), str(copy.book().get("time_zone", "UTC")))
    asof = AsOf(date.fromisoformat(on), known)
    names = Names(copy, asof)
    found = subjects(names, number)
    if len(found) != 1:
        raise KeyError(f"{number} is borne by {len(found)} animals or lots")
    return made(copy, names, asof, found[0])


def subjects(names: Names, text: str) -> list[str]:
    """Ids of the animals and lots that bear a number: as given by a house, as `CODE:number`, or the id itself."""
    code, _, bare = text.rpartition(":")
    numbers = names.numbers
    if code:
        houses = [t.id for t in names.of("house") if t.code == code]
        found = numbers.filter((pl.col("number") == bare) & pl.col("house").is_in(houses))
        if found.height:
            return list(dict.fromkeys(found["subject"]))
    found = numbers.filter((pl.col("number") == text) | (pl.col("subject") == text))
    return list(dict.fromkeys(found["subject"]))


def _called(names: Names, told: Life) -> str:
    """The names of an animal, if any."""
    frame = names.numbers.filter((pl.col("subject") == told.subject) & (pl.col("animal_name") != ""))
    return next(iter(frame["animal_name"]), "")


def _head(copy: Copy, names: Names, told: Life, of: str) -> Part:
    taxa = told.lines.filter((pl.col("topic") == "taxon") & (pl.col("through") == ""))
    taxon = names.thing(taxa["ref"][-1]) if taxa.height else None
    common = str(taxon.fields.get("common_name") or "") if taxon else ""
    holder = told.lines.filter((pl.col("topic") == "holder") & (pl.col("through") == ""))
    house = holder["what"][-1] if holder.height else ""
    ends = {end: recorded for _, end, recorded in copy.ends()}
    known = ends.get(told.asof.known, "")
    facts = [
        ("What counts", f"the close of {spoken(told.asof.on)}"),
        ("As known", f"{known[:10]} {known[11:16]}Z" if known else "before the first entry"),
        ("Log position", f"@{told.asof.known}"),
        ("Rests on", f"{len(told.events):,} entries"),
    ]
    boxes = "".join(f"<div>{shown(k)}<b>{shown(v)}</b></div>" for k, v in facts)
    named = f'<p class="basis"><i>{shown(taxon.name)}</i> {shown(common)}</p>' if taxon else ""
    title = f"{told.number} {of}".strip()
    invented = paragraph(
        "Recording times invented: this book is a demonstration, its house and animals are made up.", "note"
    )
    return Part(
        f'<header><div class="house">{shown(house)}</div><h1>{shown(title)}</h1>{named}'
        f'<div class="facts">{boxes}</div>{invented if names.simulated else ""}</header>'
    )


def _card(told: Life) -> Part:
    rows = "".join(
        f"<dt>{shown(ITEM_WORDS[item])}</dt><dd>{shown(words)}</dd>"
        for item, words in told.card.select("item", "words").iter_rows()
    )
    return section(
        "In short", f"<dl>{rows}</dl>", paragraph(careful(told), "small") if careful(told) else "", kind="keep"
    )


def careful(told: Life) -> str:
    """The usual caution, where a line is about what law or licensed people rule; else nothing."""
    return CAUTION if told.lines["topic"].is_in(_CAREFUL).any() else ""


def ended(told: Life) -> tuple[date, str]:
    """The day a life ended and in words how; the day asked about and nothing where it goes on."""
    ends = told.lines.filter((pl.col("topic") == "end") & (pl.col("through") == ""))
    if ends.height:
        day = ends["since"][-1]
        return day, f"{ends['what'][-1]} {day}"
    last = told.lines.filter((pl.col("topic") == "place") & (pl.col("through") == "") & pl.col("days").is_not_null())
    if last.height and not last["until"].null_count():
        day = last["until"].max()
        assert isinstance(day, date)
        return day, f"left {day}"
    return told.asof.on, ""


def _picture(told: Life) -> Part:
    frame = life_chart.bars(told)
    if not frame.height:
        return section("In one picture", paragraph("Nothing of it lasted a day in this book."))
    day, words = ended(told)
    finding = life_chart.finding(frame, told.number, words)
    chart = life_chart.timeline(frame, day, words)
    through = f" Paler: in the story of {', '.join(told.through)}." if told.through else ""
    signs = " A square is male, a circle female, a diamond not known." if "sex" in frame["group"] else ""
    note = paragraph(f"Each bar is as long as its days.{signs}{through}", "small")
    return section("In one picture", paragraph(finding), charts.figure(chart, finding, "broad"), note, kind="keep")


# --- tables -----------------------------------------------------------------------------------------


def entry_words(row: Mapping[str, Any]) -> str:
    """`#12 #34`."""
    return " ".join(f"#{root}" for root in row["events"])


def day_words(row: Mapping[str, Any], key: str) -> str:
    """A day as it stands in a table; nothing where there is none."""
    return row[key].isoformat() if row[key] is not None else ""


def since_words(row: Mapping[str, Any]) -> str:
    """The first possible day, where it is another than the day it counts from."""
    if row["since"] is None:
        return "before the book"
    if row["since_possible"] is None:
        return "open start"
    return f"possible from {row['since_possible']}" if row["since_possible"] != row["since"] else ""


_COLUMNS: Final = (
    Col("From", lambda r: day_words(r, "since"), text=True, whole=True, under=since_words),
    Col("To", lambda r: day_words(r, "until"), text=True, whole=True),
    Col("Days", lambda r: "" if r["days"] is None else f"{r['days']:,}"),
    Col("What", field("what"), text=True, under=field("about")),
    Col("Entries", entry_words, text=True),
)


def _story(told: Life) -> Part:
    rows = told.lines.to_dicts()
    order = {topic: place for place, topic in enumerate(TOPICS)}
    rows.sort(key=lambda row: (order[row["topic"]], row["through"]))  # what is its own first
    days = f"; {told.days:,} days in the enclosures of a house" if told.subject.startswith("a-") else ""
    caption = f"{len(rows):,} lines by topic, each by its days{days}"
    return section("The story", table(rows, _COLUMNS, caption, _band, kind="fine"))


def _band(row: Mapping[str, Any]) -> str:
    title = TOPICS[row["topic"]]
    return f"{title}, through {row['through']}" if row["through"] else title


def _balances(told: Life) -> Part:
    frame = told.balances
    finding = life_chart.balance_finding(frame, told.number)
    columns = (
        Col("Day", lambda r: r["day"].isoformat(), text=True, whole=True, under=_possible),
        Col("Entry", lambda r: f"{r['what']} #{r['event']}", text=True),
        Col("Change", figure("change", sign=True)),
        Col("Counted", lambda r: "" if r["counted"] is None else f"{r['counted']:,}"),
        Col("Unexplained", figure("unexplained", sign=True)),
        Col("m.f.u", sexes),
        Col("Balance", lambda r: f"{r['total']:,}", strong=True),
        Col("Where", field("places"), text=True),
    )
    chart = charts.figure(life_chart.balance(frame, told.asof.on), finding, "broad")
    note = paragraph("Diamonds are counts; beside them what nobody could explain.", "small")
    rows = table(frame.to_dicts(), columns, f"{frame.height} entries that changed or counted it", kind="fine")
    return section("How many", paragraph(finding), chart, note, rows)


def _possible(row: Mapping[str, Any]) -> str:
    return f"since {row['day_possible']}" if row["day_possible"] != row["day"] else ""


def sexes(row: Mapping[str, Any]) -> str:
    """Males, females, unknown of a row of balances, hermaphrodites in words."""
    return f"{row['m']}.{row['f']}.{row['u']}" + (f" + {row['h']} h" if row["h"] else "")


def _entries(behind: pl.DataFrame) -> Part:
    columns = (
        Col("Entry", lambda r: f"#{r['seq']}", text=True, under=lambda r: r["kind"]),
        Col("Occurred", field("occurred"), text=True, under=lambda r: r["state"]),
        Col("Recorded", lambda r: f"{r['recorded'][:10]} {r['recorded'][11:16]}Z", text=True, under=_lateness),
        Col("Wrote", field("by"), text=True, under=lambda r: f"saw: {r['seen_by']}" if r["seen_by"] else ""),
        Col("As it stood", field("said"), text=True, under=_why),
    )
    n = behind.height
    superseded = int((behind["state"] != "stands").sum())
    words = f"{n:,} entries as written, oldest of each line first; {superseded or 'none'} no longer stand."
    return section("Behind it", table(behind.to_dicts(), columns, words, kind="fine"), kind="new")


def _lateness(row: Mapping[str, Any]) -> str:
    return f"{number(row['late'])} {'day' if row['late'] == 1 else 'days'} late" if row["late"] else ""


def _why(row: Mapping[str, Any]) -> str:
    """What an entry took the place of and why, where from, and what was accepted with it."""
    parts = [
        f"in place of #{row['supersedes']}" if row["supersedes"] else "",
        row["reason"],
        f"“{row['why']}”" if row["why"] else "",
        row["changed"],
        f"source {row['source']}" if row["source"] else "",
        f"accepted {row['accepted']}" if row["accepted"] else "",
    ]
    return "; ".join(part for part in parts if part)


def _definitions() -> Part:
    rows = "".join(f"<dt>{shown(term)}</dt><dd>{shown(text)}</dd>" for term, text in DEFINITIONS)
    return section("How to read it", f"<dl>{rows}</dl>")


def _provenance(copy: Copy, names: Names, told: Life) -> Part:
    proof = copy.proof(told.asof.known)
    agrees = "the one the log commits to" if proof.agrees else "DIFFERS from the one in the log: verify the book"
    rows = [
        ("Log", f"{told.asof.known:,} events, id ", str(names.book.get("log_id", ""))),
        ("Head", "leaf of the last event ", proof.head),
        ("Root", "of the tree over all events ", proof.root),
        ("Journal digest", f"{agrees} ", proof.journal),
        ("Rules", f"number {names.book.get('rules', RULES)}, read by rules {RULES}", ""),
        ("Made by", f"Tidemark {VERSION}, subject ", told.subject),
    ]
    body = "".join(
        f"<dt>{shown(k)}</dt><dd>{shown(v)}{f'<code>{shown(c)}</code>' if c else ''}</dd>" for k, v, c in rows
    )
    return Part(f'<footer class="proof"><dl>{body}</dl></footer>')
