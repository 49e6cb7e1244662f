"""Kin of one animal as one self-contained page: the chart where parents are sure, the table behind it, definitions.

Every figure is that of `reports.kin`; the page computes nothing but its sentences.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, Final

from reports import family_chart
from reports.family_chart import Members
from reports.kin import EITHER, FULL, HALF, MAYBE, OFFSPRING, PARENT, RAMET, SOURCE, Kin
from reports.page import Part, page, paragraph, section
from reports.tables import Col, shown, table

GROUPS: Final = {
    PARENT: "Parents",
    SOURCE: "Made from",
    RAMET: "Clones",
    FULL: "Full siblings",
    EITHER: "Full or half siblings",
    HALF: "Half siblings",
    MAYBE: "Possible siblings",
    OFFSPRING: "Offspring",
}
_PLAIN: Final = 60  # a fraction of a greater denominator reads better as a decimal
DEFINITIONS: Final = (
    ("full, half", "Full siblings have the same parents; half siblings share one of two, in whatever role."),
    ("chance", "Of a parent, that it is the parent. Of siblings, full and half over all that is not known of parents."),
    ("kinship", "The chance that a gene drawn from each is a copy of one gene of an ancestor; 0.25 for full siblings."),
    ("not known", "What the weights leave to one. It is taken as shared with nobody."),
)


def chance(value: float | None) -> str:
    """`1`, `0.67`; nothing where none is asked for or it is zero."""
    return "" if not value else f"{value:.3g}"


def said(row: Mapping[str, Any]) -> str:
    """The chance of a row in words: a weight, or full and half."""
    if row["weight"] is not None:
        part = Fraction(row["weight"])
        return "" if part == 1 else str(part) if part.denominator <= _PLAIN else chance(float(part))
    chances = (("full", row["p_full"]), ("half", row["p_half"]))
    return ", ".join(f"{word} {chance(p)}" for word, p in chances if p and p < 1)


def place(row: Mapping[str, Any]) -> str:
    """`T3, exhibit`, `died 2024-06-01`: where it is on the day, or how it ended."""
    if row["n"]:
        words = [w for w in (row["enclosure"], row["purpose"] if row["state"] == "here" else row["state"]) if w]
        return ", ".join(words)
    return " ".join(str(row[key]) for key in ("state", "enclosure", "since") if row[key])


def born(row: Mapping[str, Any]) -> str:
    """A day, or first and last possible day."""
    if row["born"] is None:
        return "not known" if row["state"] else ""
    if row["born_possible"] == row["born"]:
        return str(row["born"])
    first, last = row["born_possible"], row["born"]
    if first and (first.month, first.day, last.month, last.day) == (1, 1, 12, 31):
        return str(last.year) if first.year == last.year else f"{first.year}/{last.year}"
    return f"{first or ''}/{last}"


def render(told: Kin, drawn: Members, number: str, head: str) -> str:
    """The page. `head`: the one line over every answer, with both dates."""
    columns = [
        Col("Number", lambda r: str(r["number"]), text=True, under=lambda r: str(r["taxon"] or "")),
        Col("Role", lambda r: str(r["role"]), text=True),
        Col("Chance", said, text=True, whole=True),
        Col("Sex", lambda r: str(r["sex"] or ""), text=True),
        Col("Born", born, text=True, whole=True),
        Col("Where", place, text=True),
        Col("Kinship", lambda r: chance(r["kinship"])),
        Col("Rests on", _basis, text=True, under=lambda r: str(r["why"])),
    ]
    rows = told.rows.to_dicts()
    listed = table(rows, columns, f"Kin of {number}", band=lambda r: GROUPS[str(r["relation"])], kind="fine")
    parts = [Part(f"<h1>Kin of {shown(number)}</h1>{paragraph(head, 'basis')}")]
    if drawn.couples:
        words = paragraph(f"{drawn.finding}")
        key = "Square male, circle female, diamond otherwise; a line through: dead or gone. Filled: asked about."
        parts.append(
            section("The family, where parents are sure", words, family_chart.figure(drawn), paragraph(key, "small"))
        )
    notes = "".join(paragraph(note, "note") for note in told.notes)
    defined = "".join(f"<dt>{shown(word)}</dt><dd>{shown(text)}</dd>" for word, text in DEFINITIONS)
    parts += [section("All kin", notes, listed), section("What the words mean", f"<dl>{defined}</dl>")]
    return page(f"Kin of {number}", head, parts)


def _basis(row: Mapping[str, Any]) -> str:
    return f"{row['basis']} #{row['event']}" if row["event"] else ""
