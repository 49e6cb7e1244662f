"""Every notebook as it stands is run on the invented house, and shows its parts, tables and charts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from reports import notebook
from reports.cli_demo import _load

HERE = notebook.NOTEBOOK.parent
SHOWN = {
    "annual_report": ("Roll-forward", "Bonds", "Broods", "Changes of sex", "Groups", "How to read the figures"),
    "broods": ("Broods", "survival"),
    "life": ("MS-2023-0025", "Hippocampus erectus"),
    "pair_histories": ("Bonds, and what came of them", "Waiting for the next mate", "The same mate again"),
    "sex_transitions": ("Who changed sex, and who is next", "presumed"),
}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("notebooks") / "tidemark.sqlite"
    _load(path)
    return path


def test_every_notebook_is_here() -> None:
    assert {path.stem for path in HERE.glob("*.ipynb")} == set(SHOWN)


@pytest.mark.parametrize("name", sorted(SHOWN))
def test_it_runs_on_the_invented_house(demo: Path, name: str) -> None:
    ran = notebook.executed(HERE / f"{name}.ipynb", {"book": str(demo)})
    shown = "".join(str(out.get("data", {}).get("text/html", "")) for c in ran.cells for out in c.get("outputs", ()))
    for words in SHOWN[name]:
        assert words in shown, f"{words!r} is not shown"
    assert "<svg" in shown and "<table" in shown
    assert len(re.findall(r'<figure[^>]*aria-label="[^"]{10,}"', shown)) >= shown.count("<figure"), "a chart is silent"
