"""The annual report as a page: whole in itself, escaped, with what it stands on; the same from the notebook."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest
from test_demo import loaded  # noqa: F401 - the demo book, loaded once

from ledger import new_book
from ledger.read import Copy
from reports import annual, notebook
from reports.annual_words import count, listed
from reports.page import css_text
from reports.rollforward import year
from reports.tables import Col, counted, field, figure, mfu, number, shown, table

NASTY = "<script>alert('x')</script>"
HOUSE = {"house": "AA", "name": f"House {NASTY}", "time_zone": "Europe/Lisbon", "hemisphere": "north"}


class Reading(HTMLParser):
    """What a browser would see: tags with their attributes, and the text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def is_whole(text: str) -> Reading:
    """No script, no address, nothing fetched: the page is all there is."""
    seen = Reading(text)
    names = [tag for tag, _ in seen.tags]
    assert not {"script", "link", "iframe", "img", "object", "embed", "base"} & set(names)
    for _, attributes in seen.tags:
        assert not {"src", "href", "srcset", "xlink:href", "action", "onload", "onclick"} & attributes.keys()
    assert "://" not in text and "url(" not in text and "@import" not in text
    return seen


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book in a file whose names would act if they could."""
    place = tmp_path_factory.mktemp("page") / "tidemark.sqlite"
    book = new_book(str(place), person={"person": "CL", "name": "A clerk"}, house=HOUSE, occurred="2020-01-01")
    day = "2024-01-01"
    tank = {"enclosure": "T1", "name": f"Tank {NASTY}", "house": "AA", "purpose": "exhibit", "section": "hall שמאל"}
    taxon = {"taxon": f"Xus {NASTY}", "rank": "species", "class": "Fishes", "common_name": "a & b"}
    lot = {"lot": "AA-1", "taxon": f"Xus {NASTY}", "how_many": "30", "enclosure": "T1"}
    entries = [
        {"kind": "enclosure", "occurred": day, "payload": tank},
        {"kind": "taxon", "occurred": day, "payload": taxon},
        {"kind": "hatching", "occurred": "2024-03", "payload": lot},
        {"kind": "death", "occurred": "2024-04-20", "payload": {"lot": "AA-1", "how_many": "4", "cause": "trauma"}},
    ]
    for entry in entries:
        outcome = book.append(entry, by="CL", accept={"late": "told in the test"})
        assert outcome.landed, outcome.findings
    book.close()
    return place


def made(place: Path, known: str = "") -> annual.Annual:
    import ledger

    copy = Copy(ledger.open_book(str(place)).store)
    known_at = known or f"@{copy.head.position}"
    return annual.from_words(copy, year=2024, starts="01-01", house="AA", basis="held", known_at=known_at)


def test_names_show_as_text_and_nothing_acts(small: Path) -> None:
    report = made(small)
    text = "".join(part.html for part in report.parts)
    assert NASTY not in text
    seen = Reading(text)
    assert "script" not in [tag for tag, _ in seen.tags]
    words = "".join(seen.words)
    assert f"Xus {NASTY}" in words and f"Tank {NASTY}" in words and "a & b" in words
    assert "hall שמאל" in words


def test_a_name_cannot_leave_the_style_sheet() -> None:
    assert css_text("A · 7") == "A \\b7  7"
    assert not set(css_text('</style>"; } * {\n')) & set('<>/";{}*\n')


def test_the_page_is_whole_and_says_what_it_stands_on(small: Path) -> None:
    import ledger

    copy = Copy(ledger.open_book(str(small)).store)
    known = copy.head.position
    house = made(small).figures.asked.basis.house
    text = annual.render(copy, year(2024, 1, 1), house, "held", known)
    words = " ".join(is_whole(text).words)
    proof = copy.proof(known)
    for said in (
        "1 January to 31 December 2024",
        f"@{known}",
        proof.head,
        proof.root,
        proof.journal,
        "number 1",
        "0.1.0",
    ):
        assert said in words
    assert "Recording times invented" not in words
    assert text.count("<svg") == text.count("<figure") == 3  # the waterfall, one class, causes of death
    assert json.loads(re.search(r"with <code>(.*?)</code>", text)[1].replace("&quot;", '"'))["known"] == f"@{known}"  # type: ignore[index]


def test_every_chart_says_its_finding(small: Path) -> None:
    for part in made(small).parts:
        for tag, attributes in Reading(part.html).tags:
            if tag == "figure":
                assert attributes["role"] == "img" and re.search(r"\d", attributes["aria-label"] or "")


def test_the_young_are_told_apart(small: Path) -> None:
    row = made(small).figures.rolled.to_dicts()[0]
    assert (row["hatched_and_born"], row["died_within_30"], row["died_age_unknown"], row["closing"]) == (30, 0, 4, 26)


def test_before_anything_was_known_the_page_is_empty(small: Path) -> None:
    import ledger

    copy = Copy(ledger.open_book(str(small)).store)
    report = annual.report(copy, year(2024, 1, 1), "", "held", 0)
    assert report.figures.rolled.is_empty()
    assert "All houses of the book" in report.head.html


def test_the_demo_page(loaded) -> None:  # noqa: F811 - the fixture
    book, *_ = loaded
    copy = Copy(book.store)
    last_year = date.fromisoformat(copy.head.recorded[:10]).year - 1
    report = annual.from_words(
        copy, year=last_year, starts="01-01", house="MS", basis="held", known_at=f"@{copy.head.position}"
    )
    text = annual.page(report.title, report.foot, report.parts)
    words = " ".join(is_whole(text).words)
    assert "Recording times invented" in words
    assert report.figures.rolled["adds_up"].all() and report.figures.proof.agrees
    assert "Marrow Sound Aquarium" in words
    classes = report.figures.series.filter(unit="animals", standing="collection")["class"].n_unique()
    assert text.count("<svg") == 2 + classes + 1, "waterfall, causes, a line a class, the bonds"
    assert {"Bonds", "Broods", "Changes of sex", "Groups"} <= set(re.findall(r"<h2>([^<]*)</h2>", text))
    assert len(text.encode()) < 400_000


def test_the_notebook_gives_the_same_parts(small: Path, tmp_path: Path) -> None:
    (tmp_path / "polars.py").write_text("raise SystemExit('planted')\n", encoding="utf-8")
    report = made(small)
    known = f"@{report.figures.asked.known}"
    wanted = {"book": str(small), "year": 2024, "house": "AA", "known_at": known}
    text = notebook.rendered(notebook.NOTEBOOK, wanted, report.title, report.foot)
    is_whole(text)
    for part in report.parts:
        assert part.html in text
    assert text.count("<svg") == sum(part.html.count("<svg") for part in report.parts) == 3


def test_the_notebook_is_thin_and_clean() -> None:
    book = json.loads(notebook.NOTEBOOK.read_text(encoding="utf-8"))
    assert book["metadata"]["kernelspec"]["name"] == "python3"
    code = "".join("".join(cell["source"]) for cell in book["cells"] if cell["cell_type"] == "code")
    assert not re.search(r"^\s*(def|class|lambda|for|while)\b", code, re.MULTILINE)
    stripped = subprocess.run([sys.executable, "-m", "nbstripout", "--verify", str(notebook.NOTEBOOK)], check=False)
    assert stripped.returncode == 0


def test_a_parameter_the_notebook_lacks_is_named() -> None:
    with pytest.raises(KeyError, match="hose"):
        notebook._set("house = ''", {"hose": "AA"})


# --- in a browser ------------------------------------------------------------------------------------------

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


def browse(*options: str) -> str:
    flags = ("--headless", "--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP * ~NOTFOUND")
    return subprocess.run(
        [str(CHROMIUM), *flags, *options], check=True, capture_output=True, text=True, timeout=120
    ).stdout


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")
def test_on_a_phone_tables_scroll_and_the_page_does_not(small: Path, tmp_path: Path) -> None:
    report = made(small)
    text = annual.page(report.title, report.foot, report.parts)
    measure = "<script>document.title = [innerWidth, document.documentElement.scrollWidth].join()</script></body>"
    page = tmp_path / "page.html"
    page.write_text(text.replace("</body>", measure), encoding="utf-8")
    for width in (390, 900):
        title = re.search(r"<title>(\d+),(\d+)</title>", browse(f"--window-size={width},900", "--dump-dom", str(page)))
        assert title is not None
        assert int(title[2]) <= int(title[1])


@pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium here")
def test_it_prints(small: Path, tmp_path: Path) -> None:
    report = made(small)
    page, sheet = tmp_path / "page.html", tmp_path / "page.pdf"
    page.write_text(annual.page(report.title, report.foot, report.parts), encoding="utf-8")
    browse("--no-pdf-header-footer", f"--print-to-pdf={sheet}", str(page))
    assert len(re.findall(rb"/Type\s*/Page\b", sheet.read_bytes())) >= 3


# --- tables and words ------------------------------------------------------------------------------------


def test_numbers_as_they_are_written() -> None:
    assert [number(n) for n in (1911, -17, 0, None)] == ["1,911", "−17", "", "not known"]
    assert number(388, sign=True) == "+388"
    assert [counted(14, 13, 15), counted(14, 14, 14), counted(14, None, 15)] == [
        "14 (13 to 15)",
        "14",
        "14 (range not known)",
    ]
    assert [mfu(2, 3, 1), mfu(5, 4, -9), mfu(0, 0, 0), mfu(1, 0, 0, 4)] == ["2.3.1", "5.4.−9", "", "1.0.0 + 4 h"]
    assert [count(0, "taxon", "taxa"), count(1, "taxon"), count(13, "entry", "entries")] == [
        "no taxa",
        "one taxon",
        "13 entries",
    ]
    assert (
        listed(list("abc")) == "a, b and c" and listed(list("abcdefgh"), 3) == "a, b, c and 5 more" and listed([]) == ""
    )


def test_a_table_drops_columns_of_zeros_and_bands_its_rows() -> None:
    rows = [
        {"t": "a<b", "g": "G1", "n": 0, "k": 2},
        {"t": "c", "g": "G1", "n": 0, "k": 0},
        {"t": "d", "g": "G2", "n": 0, "k": 1},
    ]
    text = table(
        rows,
        [Col("T", field("t"), text=True), Col("N", figure("n")), Col("K", figure("k"))],
        "what & why",
        lambda r: r["g"],
    )
    assert '<th scope="col">N</th>' not in text and '<th scope="col">K</th>' in text
    assert text.count('class="g"') == 2 and "a&lt;b" in text and "<caption>what &amp; why</caption>" in text
    assert shown("a\x1b[31m\u202e") == "a\\u001b[31m\\u202e"
