"""The house rules over every file of the repository, each rule shown to fail on a small planted text."""

from __future__ import annotations

import json
import subprocess
import sys
from functools import cache
from pathlib import Path, PurePosixPath

import house_rules as rules
import pytest

ROOT = Path(__file__).resolve().parent.parent


@cache
def files() -> dict[PurePosixPath, str]:
    """Text of every file that is tracked, or would be: what git ignores is left out."""
    listed = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],  # noqa: S607 - git of the path
        cwd=ROOT,
        capture_output=True,
        check=True,
        text=True,
    ).stdout
    paths = [PurePosixPath(name) for name in listed.split("\0") if name and (ROOT / name).is_file()]
    return {path: (ROOT / path).read_bytes().decode("utf-8", errors="replace") for path in paths}


def test_there_are_files_to_judge() -> None:
    assert PurePosixPath("ledger/words.py") in files()
    assert PurePosixPath("tests/test_house.py") in files()


@pytest.mark.parametrize("rule", rules.RULES, ids=lambda rule: rule.__name__)
def test_every_file_keeps(rule: rules.Rule) -> None:
    wrong = [sentence for path, text in files().items() for sentence in rule(path, text)]
    assert not wrong, "\n" + "\n".join(wrong)


def test_no_docstring_stands_twice() -> None:
    wrong = rules.repeated_docstrings(files())
    assert not wrong, "\n" + "\n".join(wrong)


def test_every_kind_is_complete() -> None:
    from ledger.kinds import KINDS

    cases = {path.stem for path in files() if path.parts[:2] == ("tests", "cases") and path.suffix == ".yaml"}
    page = files().get(PurePosixPath("ledger/kinds/README.md"), "")
    in_folder = {path.stem for path in files() if rules.is_kind(path)}
    assert set(KINDS) <= in_folder
    wrong = [w for n in sorted(in_folder) for w in rules.kind_complete(n, listed=set(KINDS), cases=cases, page=page)]
    assert not wrong, "\n" + "\n".join(wrong)


# --- import contracts -----------------------------------------------------------------------------


LINT = "import sys; from importlinter.cli import lint_imports as run; sys.exit(run(no_cache=True, no_logo=True))"


def lint_imports(root: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", LINT], cwd=root, capture_output=True, check=False, text=True)


def test_imports_go_downwards_only() -> None:
    done = lint_imports(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


PLANTED_IMPORTS = [
    ("ledger/dates.py", "import ledger.book", "the ledger imports downwards only"),
    ("ledger/store/sqlite.py", "import ledger.book", "the ledger imports downwards only"),
    ("ledger/fold.py", "import ledger.kinds.death", "the fold knows no kind"),
    ("ledger/kinds/death.py", "import ledger.kinds.move", "kinds do not import kinds"),
    ("ledger/checks/one.py", "import ledger.checks.two", "checks do not import checks"),
    ("reports/census.py", "import reports.register", "reports do not import reports"),
    ("ledger/book.py", "import reports.census", "the ledger knows nothing of reports"),
    ("reports/census.py", "import ledger.book", "reports read only through ledger.read"),
    ("ledger/book.py", "import sqlmodel", "only ledger.store knows SQLModel"),
    ("ledger/read/frames.py", "import sqlalchemy.engine", "only ledger.store knows SQLModel"),
    ("ledger/store/sqlite.py", "import duckdb", "only ledger.read knows DuckDB"),
    ("reports/census.py", "import duckdb", "only ledger.read knows DuckDB"),
]
NAMED = [
    *{path for path, _, _ in PLANTED_IMPORTS},
    "ledger/kinds/move.py",
    "ledger/checks/two.py",
    "reports/register.py",
]
ALLOWED_IMPORTS = [
    ("ledger/store/sqlite.py", "import sqlmodel, ledger.words"),
    ("ledger/read/frames.py", "import duckdb, ledger.words"),
    ("ledger/kinds/death.py", "import ledger.kinds.base, ledger.acts"),
    ("reports/census.py", "import reports.common, ledger.read"),
    ("reports/cli.py", "import reports.census, ledger.book"),
]


def skeleton(root: Path) -> None:
    """The repository's modules with nothing in them, and those that the planted imports name."""
    (root / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    source = [str(path) for path in files() if path.suffix == ".py" and path.parts[0] in ("ledger", "reports")]
    for name in [*source, *NAMED, "reports/cli.py", "reports/common.py", "ledger/read/__init__.py"]:
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()
        (path.parent / "__init__.py").touch()


def test_allowed_imports_are_allowed(tmp_path: Path) -> None:
    skeleton(tmp_path)
    for name, line in ALLOWED_IMPORTS:
        (tmp_path / name).write_text(line + "\n")
    done = lint_imports(tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(("name", "line", "contract"), PLANTED_IMPORTS)
def test_a_planted_import_breaks_its_contract(tmp_path: Path, name: str, line: str, contract: str) -> None:
    skeleton(tmp_path)
    (tmp_path / name).write_text(line + "\n")
    done = lint_imports(tmp_path)
    assert done.returncode == 1
    broken = [row for row in done.stdout.splitlines() if row.endswith("BROKEN")]
    assert any(row.startswith(contract) for row in broken), done.stdout + done.stderr


# --- canaries: each rule fails on a planted text, and lets its neighbour pass -----------------------


def notebook(*cells: str, kernel: bool = True, output: bool = False) -> str:
    code = [
        {"cell_type": "code", "source": [c], "outputs": [{}] if output else [], "execution_count": None} for c in cells
    ]
    return json.dumps({"cells": code, "metadata": {"kernelspec": {"name": "python3"}} if kernel else {}})


def function(lines: int) -> str:
    return "def long():\n" + "    a = 1\n" * (lines - 1)


STORY = f"'''An animal died.\n\n{chr(10).join(rules.HEADINGS)}\n'''\n"
PLANTED = [
    (rules.not_too_long, "ledger/a.py", "a\n" * 400),
    (rules.not_too_long, "README.md", "a\n" * 400),
    (rules.short_functions, "ledger/a.py", function(60)),
    (rules.no_banned_calls, "reports/a.py", "import datetime\nx = datetime.date.today()"),
    (rules.no_banned_calls, "ledger/a.py", "from datetime import datetime\nx = datetime.now(tz=None)"),
    (
        rules.no_banned_calls,
        "ledger/a.py",
        "from datetime import datetime as dt\nx = Field(default_factory=datetime.utcnow)",
    ),
    (rules.no_banned_calls, "demo_events/a.py", "import time\nx = time.time()"),
    (rules.no_banned_calls, "ledger/a.py", "print('x')"),
    (rules.no_banned_calls, "ledger/a.py", "import uuid\nx = uuid.uuid4()"),
    (rules.no_banned_calls, "ledger/a.py", "from secrets import token_bytes"),
    (rules.no_bare_except, "tests/a.py", "try:\n    x = 1\nexcept:\n    x = 2"),
    (rules.no_bare_except, "ledger/a.py", "try:\n    x = 1\nexcept Exception:\n    pass"),
    (rules.append_only, "ledger/a.py", "x = 'update event set seq = 2'"),
    (rules.append_only, "ledger/a.py", "x = f'DELETE FROM {y} WHERE seq = 1'"),
    (rules.append_only, "ledger/a.py", "x = 'INSERT OR REPLACE INTO event VALUES (1)'"),
    (rules.append_only, "ledger/a.py", "from sqlmodel import delete"),
    (rules.append_only, "ledger/read/a.sql", "DELETE FROM posting;"),
    (rules.append_only, "ledger/read/a.sql", "INSERT INTO a VALUES (1) ON CONFLICT DO UPDATE SET a = 2;"),
    (rules.documented, "ledger/a.py", "'''A file.'''\ndef public():\n    return 1"),
    (rules.documented, "ledger/a.py", "'''A file.'''\nclass Public:\n    x = 1"),
    (rules.documented, "ledger/a.py", "x = 1"),
    (rules.kind_story, "ledger/kinds/death.py", STORY.replace("What it changes\n", "") + 'NAME = "death"'),
    (rules.kind_story, "ledger/kinds/death.py", STORY + 'NAME = "demise"'),
    (rules.kind_story, "ledger/kinds/death.py", STORY),
    (rules.no_machine, "README.md", "see /ho" + "me/anna/books"),
    (rules.no_machine, ".ci/run", "cd /wo" + "rk/main"),
    (rules.no_machine, ".ci/run", "pip install --index" + "-url x"),
    (rules.no_machine, "README.md", "https://py" + "pi.org/simple"),
    (rules.thin_notebook, "notebooks/a.ipynb", notebook("def f():\n    return 1")),
    (rules.thin_notebook, "notebooks/a.ipynb", notebook("f = lambda: 1")),
    (rules.thin_notebook, "notebooks/a.ipynb", notebook("class F:\n    pass")),
    (rules.thin_notebook, "notebooks/a.ipynb", notebook("1", kernel=False)),
    (rules.thin_notebook, "notebooks/a.ipynb", notebook("1", output=True)),
]
NEIGHBOURS = [
    (rules.not_too_long, "ledger/a.py", "a\n" * 399),
    (rules.not_too_long, "demo_events/a.jsonl", "a\n" * 4000),
    (rules.short_functions, "ledger/a.py", function(59)),
    (rules.no_banned_calls, "ledger/a.py", "x = entry.date.isoformat()\ny = clock.now()"),
    (rules.no_banned_calls, "ledger/chance.py", "from datetime import datetime\nx = datetime.now(tz=None)"),
    (rules.no_banned_calls, "demo_events/a.py", "print('written')"),
    (rules.no_bare_except, "ledger/a.py", "try:\n    x = 1\nexcept ValueError:\n    x = 2"),
    (
        rules.append_only,
        "ledger/store/a.sql",
        "CREATE TRIGGER t BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'no'); END;",
    ),
    (rules.append_only, "ledger/store/a.sql", "-- nobody may DELETE FROM it"),
    (rules.append_only, "ledger/a.py", "'''Refuses UPDATE event SET and DELETE FROM event.'''"),
    (rules.documented, "ledger/a.py", "'''A file.'''\ndef _own():\n    return 1"),
    (rules.documented, "tests/a.py", "def test_a():\n    return 1"),
    (rules.kind_story, "ledger/kinds/death.py", STORY + 'NAME = "death"'),
    (rules.kind_story, "ledger/kinds/_loss.py", "x = 1"),
    (rules.no_machine, "README.md", "a/wo" + "rk/of/years, and ./tm" + "p/a"),
    (rules.thin_notebook, "notebooks/a.ipynb", notebook("%matplotlib inline\nimport reports\nreports.census()")),
]


@pytest.mark.parametrize(("rule", "path", "text"), PLANTED)
def test_a_rule_fails_on_what_it_forbids(rule: rules.Rule, path: str, text: str) -> None:
    assert rule(PurePosixPath(path), text)


@pytest.mark.parametrize(("rule", "path", "text"), NEIGHBOURS)
def test_a_rule_lets_its_neighbour_pass(rule: rules.Rule, path: str, text: str) -> None:
    assert rule(PurePosixPath(path), text) == []


def test_every_rule_has_its_canary() -> None:
    assert {rule for rule, _, _ in PLANTED} == set(rules.RULES) == {rule for rule, _, _ in NEIGHBOURS}


def test_a_repeated_docstring_is_found() -> None:
    planted = {PurePosixPath(f"{name}.py"): "'''One text.'''" for name in "ab"}
    assert rules.repeated_docstrings(planted)
    assert not rules.repeated_docstrings({PurePosixPath("a.py"): "'''One.'''", PurePosixPath("b.py"): "'''Two.'''"})


def test_an_incomplete_kind_is_found() -> None:
    page = "# Kinds\n\n## death\n"
    assert rules.kind_complete("death", listed={"death"}, cases={"death"}, page=page) == []
    assert len(rules.kind_complete("death", listed=set(), cases=set(), page="about death")) == 3
