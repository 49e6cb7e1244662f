"""`report` (the annual report as one page) and `lab` (JupyterLab on the notebooks)."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

from reports import cli_say as out
from reports.cli_book import Asked, existing, reading
from reports.cli_guard import ENVIRONMENT, FOUND, Stop, end
from reports.cli_read import period_of


def report(asked: Asked, year: int, starts: str, into: Path) -> None:
    """`tidemark report`. Ends with 1 where the roll-forward in it does not add up."""
    page, adds_up = write_report(asked, year, starts, into)
    out.say(f"Wrote {page}.")
    if not adds_up:
        end(FOUND, "The roll-forward in it does not add up: run tidemark verify.")


def write_report(asked: Asked, year: int, starts: str, into: Path) -> tuple[Path, bool]:
    """Write `annual-report-YEAR.html` into a folder, over an older page of that name; and whether it adds up."""
    from reports import annual
    from reports.page import page

    if not into.is_dir():
        raise Stop(f"There is no folder {into}; make it first.")
    period = period_of(year, starts)
    with reading(asked) as book:
        made = annual.report(book.copy, period, book.house, book.basis.how, book.known)
    target = into / f"annual-report-{year}.html"
    half = target.with_suffix(".part")  # renamed when whole: nobody opens half a report
    half.write_text(page(made.title, made.foot, made.parts), encoding="utf-8")
    half.replace(target)
    return target, bool(made.figures.rolled["adds_up"].all())


def lab(book: Path | None) -> None:
    """`tidemark lab`. Ends when the person stops the server."""
    path = existing(book).resolve()
    if find_spec("jupyterlab") is None:
        raise Stop("JupyterLab is not installed here; pip install jupyterlab.", ENVIRONMENT)
    spec = find_spec("notebooks")
    folders = list(spec.submodule_search_locations or []) if spec else []
    if not folders:
        raise Stop("The notebooks are not beside this program; run it from a clone of the project.", ENVIRONMENT)
    out.say(f"JupyterLab on {folders[0]} for {path}: on this machine only, with a token. Ctrl-C twice ends it.")
    # a folder of notebooks is not a place to import from: a file put there could stand in for a library
    env = {**os.environ, "TIDEMARK_BOOK": str(path), "PYTHONSAFEPATH": "1"}
    command = [
        *(sys.executable, "-m", "jupyterlab", "--ServerApp.ip=127.0.0.1", f"--ServerApp.root_dir={folders[0]}"),
        # it looks nothing up on the network
        *(
            "--LabApp.extension_manager=readonly",
            "--LabApp.check_for_updates_class=jupyterlab.handlers.announcements.NeverCheckForUpdate",
        ),
    ]
    code = subprocess.call(command, env=env)  # noqa: S603  # our own Python and fixed words; no shell
    if code:
        end(ENVIRONMENT, f"JupyterLab ended with {code}.")
