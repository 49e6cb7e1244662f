"""The annual report of a house: one page a director leafs through, a registrar signs and an inspector checks.

Definition. Of a period (a year from a free start), a house and a basis: the roll-forward, the census at both ends
and through the year, where the animals are and whose, deaths by cause, the register, all from the reports of the
same names and as known at one position. Headline figures count animals of the collection on the basis; other
standings, and colonies, have rows of their own. Every sentence is computed from the frame it stands over.

`render` gives the page as text, `report` its parts one by one, for a notebook. Source: an annual inventory with
acquisitions and dispositions is asked for in published rules of several countries (standards of the design §1).
"""

from __future__ import annotations

import json
from dataclasses import dataclass

import polars as pl

from ledger import VERSION
from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, position_of
from ledger.words import RULES
from reports import annual_lives, charts
from reports import annual_tables as tables
from reports import annual_words as words
from reports.annual_figures import LIMIT, Asked, Figures, deaths, gather, main, period_words, steps
from reports.common import Basis, How, Period
from reports.common import year as year_of
from reports.page import Part, look, page, paragraph, section
from reports.tables import shown

DEFINITIONS = (
    ("held", "In an enclosure of the house, whoever owns it."),
    (
        "owned",
        "The house’s own, in an enclosure or with an outside party. A loan changes who holds, not who owns.",
    ),
    (
        "counts on",
        (
            "An event changes figures from the day by which it had certainly happened. Where a date is a range, a "
            "figure inside it is shown with the range it could have."
        ),
    ),
    (
        "as known",
        (
            "Figures are what the log said at the position named. What is recorded later never changes them; it makes "
            "new ones."
        ),
    ),
    ("m.f.u", "Males, females, sex unknown. Hermaphrodites follow in words."),
    (
        "died ≤ {limit} d",
        (
            "Died within {limit} days of birth, day {limit} inside; of animals born in a house of this book. What came "
            "from elsewhere died older. Of a mixed lot only what is certain is placed; of the rest the age is not sure."
        ),
    ),
    (
        "count",
        (
            "What a count found more or fewer than the entries said: loss nobody saw, or young nobody saw. Part of the "
            "deaths only where the count says that these were deaths not seen."
        ),
    ),
    (
        "re-sexed",
        "Sexes found out, changed, or re-classed by a count. Over the sexes of a taxon they sum to nothing.",
    ),
    (
        "bond",
        (
            "Two animals as a pair, from the day it was seen to the day one of them left, died or parted; days apart "
            "are printed and not judged."
        ),
    ),
    (
        "brood",
        "One laying or one pregnancy. Its carer need not be a parent; a weight beside a parent says how sure it is.",
    ),
    ("presumed", "Worked out by the taxon’s rule and the order last seen, recorded by nobody. It enters no census."),
    (
        "present",
        "Of what is kept without being counted, such as live food: it is there. It is never added to animals.",
    ),
    (
        "put right",
        (
            "An entry is never changed: a later one takes its place, and both stay. What is learnt later completes an "
            "entry and is no correction."
        ),
    ),
    ("escaped, missing", "Out of both bases from that day, until recovered. Listed apart."),
)


@dataclass(frozen=True)
class Annual:
    """The report in parts, in the order of the page. `title` and `foot` are for the page around them."""

    title: str
    foot: str
    head: Part
    numbers: Part
    year: Part
    rollforward: Part
    whereabouts: Part
    deaths: Part
    together: Part
    register: Part
    record: Part
    definitions: Part
    provenance: Part
    figures: Figures

    @property
    def look(self) -> Part:
        """The style of the parts, for a notebook that shows them one by one."""
        return look()

    @property
    def parts(self) -> list[Part]:
        """All of them."""
        middle = [self.year, self.rollforward, self.whereabouts, self.deaths, self.together, self.register]
        return [self.head, self.numbers, *middle, self.record, self.definitions, self.provenance]


def report(
    copy: Copy, period: Period, house: str, how: How, known: int, *, limit: int = LIMIT, today_names: bool = False
) -> Annual:
    """The annual report of `period` for `house` (an id; "" the whole book), on basis `how`, as known at `known`.

    `today_names`: taxa by the names accepted today, else by those in use on the last day.
    """
    figures = gather(copy, Asked(period, Basis(how, house), known, limit, today_names))
    name = figures.names.label(house) if house else "All houses of the book"
    at = AsOf(period.last, known)
    last = period.last.year
    span = f"{last}" if period.first.year == last else f"{period.first.year}/{last % 100:02}"
    title = f"The animals of {span}"
    return Annual(
        title=f"{title}, {name}",
        foot=f"{name} · {title} · as known @{known}",
        head=_head(figures, name, title),
        numbers=_numbers(figures),
        year=_year(figures),
        rollforward=_rollforward(figures),
        whereabouts=_whereabouts(figures),
        deaths=_deaths(figures),
        together=annual_lives.part(annual_lives.gather(copy, figures.names, at, period, house)),
        register=_register(figures),
        record=_record(figures),
        definitions=_definitions(figures),
        provenance=_provenance(figures, name),
        figures=figures,
    )


def from_words(copy: Copy, *, year: int, starts: str, house: str, basis: How, known_at: str | int) -> Annual:
    """The annual report asked for in a person's words.

    `year`: calendar year in which it starts, on `starts` (MM-DD). `house`: code or name of a member house, "" the
    first of the book. `known_at`: a day, a UTC instant or a position (`@500`). Raises `NotAPosition`, KeyError for
    an unknown house, ValueError for a day that is none.
    """
    month, _, day = starts.partition("-")
    period = year_of(year, int(month), int(day))
    known = position_of(known_at, copy.ends(), str(copy.book().get("time_zone", "UTC")))
    names = Names(copy, AsOf(period.last, known))
    return report(copy, period, names.find("house", house) if house else names.first_house(), basis, known)


def render(copy: Copy, period: Period, house: str, how: How, known: int, *, limit: int = LIMIT) -> str:
    """The annual report as one self-contained HTML page."""
    made = report(copy, period, house, how, known, limit=limit)
    return page(made.title, made.foot, made.parts)


def _head(figures: Figures, name: str, title: str) -> Part:
    right = figures.rolled["adds_up"].all()
    basis = f"{figures.asked.basis.words(figures.names)}, collection animals; other standings in rows of their own."
    facts = [
        ("What counts", period_words(figures.asked.period), "day"),
        ("As known", words.as_known(figures), "day"),
        ("Log position", f"@{figures.asked.known}", "at"),
        ("Adds up", words.adds_up(figures), "ok" if right else "wrong"),
    ]
    boxes = "".join(
        f"<div>{shown(k)}<b{f' class={chr(34)}{c}{chr(34)}' if c else ''}>{shown(v)}</b></div>" for k, v, c in facts
    )
    invented = paragraph(
        "Recording times invented: this book is a demonstration, its house and animals are made up.", "note"
    )
    return Part(
        f'<header><div class="house">{shown(name)}</div><h1>{shown(title)}</h1>{paragraph(basis, "basis")}'
        f'<div class="facts">{boxes}</div>{invented if figures.names.simulated else ""}</header>'
    )


def _numbers(figures: Figures) -> Part:
    boxes = (f"<div><b>{shown(b.figure)}</b><span>{shown(b.words)}</span></div>" for b in words.bigs(figures))
    return Part(f'<div class="big">{"".join(boxes)}</div>')


def _year(figures: Figures) -> Part:
    frame, floor = steps(figures)
    story = words.rolled(figures)
    scale = paragraph(f"The scale begins at {floor:,} animals.", "small") if floor else ""
    series = main(figures.series)
    smalls = "".join(
        charts.figure(charts.line(rows, name), words.line_finding(name, rows))
        for name in series.sort("class")["class"].unique(maintain_order=True)
        if (rows := series.filter(pl.col("class") == name)).height
    )
    items = "".join(f"<li>{shown(text)}</li>" for text in words.notable(figures))
    return section(
        "From one year’s end to the next",
        paragraph(story),
        charts.figure(charts.waterfall(frame, floor), story, "broad"),
        scale,
        f'<div class="smalls">{smalls}</div>',
        paragraph(
            "Animals at the end of each month; every line begins at zero and has a scale of its own. "
            "A band is the range that was possible.",
            "small",
        ),
        f"<ul>{items}</ul>" if items else "",
    )


def _rollforward(figures: Figures) -> Part:
    return section("Roll-forward", tables.rollforward_table(figures), kind="new")


def _whereabouts(figures: Figures) -> Part:
    inner = [paragraph(words.away_and_guests(figures))]
    if figures.elsewhere.height:
        inner.append(tables.elsewhere_table(figures))
    if figures.lost.height:
        inner += ["<h3>Escaped or missing</h3>", tables.lost_table(figures)]
    inner += ["<h3>By enclosure</h3>", tables.places_table(figures)]
    return section("Where they are, and whose", *inner)


def _deaths(figures: Figures) -> Part:
    causes, finding = deaths(figures), words.died(figures)
    inner = [paragraph(finding)]
    if causes.height:
        inner.append(charts.figure(charts.bars(causes), finding, "half"))
    return section("Deaths by cause", *inner, kind="keep")


def _register(figures: Figures) -> Part:
    return section(
        "Register",
        tables.register_table(figures, died=False),
        "<h3>Deaths</h3>",
        tables.register_table(figures, died=True),
        kind="new",
    )


def _record(figures: Figures) -> Part:
    inner = [paragraph(words.corrected(figures))]
    if figures.corrected.height:
        inner.append(tables.corrections_table(figures))
    inner += ["<h3>Still open</h3>", paragraph(words.still_open(figures))]
    if figures.open.height:
        inner.append(tables.open_table(figures))
    return section("The record", *inner)


def _definitions(figures: Figures) -> Part:
    limit = figures.asked.limit
    rows = "".join(
        f"<dt>{shown(term.format(limit=limit))}</dt><dd>{shown(text.format(limit=limit))}</dd>"
        for term, text in DEFINITIONS
    )
    return section("How to read the figures", f"<dl>{rows}</dl>")


def _provenance(figures: Figures, name: str) -> Part:
    asked, proof = figures.asked, figures.proof
    period = asked.period
    agrees = (
        "taken anew over the lines summed here, and the same"
        if proof.agrees
        else "DIFFERS from the one in the log: verify the book"
    )
    parameters = {
        "from": period.first.isoformat(),
        "to": period.last.isoformat(),
        "house": asked.basis.house,
        "basis": asked.basis.how,
        "known": f"@{asked.known}",
        "young_days": asked.limit,
        **({"names": "today"} if asked.today_names else {}),
    }
    rows = [
        ("Log", f"of {name}, {asked.known:,} events, id ", str(figures.names.book.get("log_id", ""))),
        ("What counts", period_words(period), ""),
        ("As known", f"{words.as_known(figures)}, @{asked.known}", ""),
        ("Entered late", words.lateness(figures), ""),
        ("Head", "leaf of the last event ", proof.head),
        ("Root", "of the tree over all events ", proof.root),
        ("Journal digest", f"{agrees} ", proof.journal),
        ("Rules", f"number {figures.names.book.get('rules', RULES)}, read by rules {RULES}", ""),
        ("Made by", f"Tidemark {VERSION} with ", json.dumps(parameters)),
    ]
    if figures.names.simulated:
        rows.insert(3, ("Clock", "simulated: recording times invented", ""))
    if period.last.isoformat() > figures.recorded[:10]:
        note = f"The period ends after the last entry known; figures on {spoken(period.last)} are what was known then."
        rows.insert(3, ("Note", note, ""))
    body = "".join(
        f"<dt>{shown(k)}</dt><dd>{shown(v)}{f'<code>{shown(c)}</code>' if c else ''}</dd>" for k, v, c in rows
    )
    return Part(f'<footer class="proof"><dl>{body}</dl></footer>')
