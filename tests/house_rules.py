"""The house rules as functions: the path and the text of a file in, sentences of what is wrong out.

Each sentence says what stands there and what to write instead. `test_house` runs them over the files of the
repository, and shows each of them failing on a small planted text.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable, Iterator
from pathlib import PurePosixPath

Rule = Callable[[PurePosixPath, str], list[str]]

LINES = 400
FUNCTION_LINES = 60
DATA = {".csv", ".jsonl", ".json", ".ipynb", ".txt", ".png", ".svg"}  # long by nature, and not read as code
GENERATED = {PurePosixPath("ledger/kinds/README.md"), PurePosixPath("ledger/checks/README.md")}
CHANCE = PurePosixPath("ledger/chance.py")  # the one object through which clock, ids and salts enter


def _source(path: PurePosixPath) -> bool:
    return path.suffix == ".py" and path.parts[0] in ("ledger", "reports", "demo_events")


def _dotted(node: ast.expr) -> str:
    """`datetime.now` of `x.datetime.now`: the last two names of an attribute, or a name."""
    if isinstance(node, ast.Attribute):
        return f"{_dotted(node.value).rpartition('.')[2]}.{node.attr}"
    return node.id if isinstance(node, ast.Name) else ""


def not_too_long(path: PurePosixPath, text: str) -> list[str]:
    """No file over 400 lines."""
    lines = text.count("\n") + 1
    if path.suffix in DATA or path in GENERATED or lines <= LINES:
        return []
    return [f"{path}: {lines} lines; split it before {LINES}, by what its parts are"]


def short_functions(path: PurePosixPath, text: str) -> list[str]:
    """No function of 60 lines or more."""
    if not _source(path):
        return []
    found = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
    sizes = [(n, (n.end_lineno or n.lineno) - n.lineno + 1) for n in found]
    return [f"{path}:{n.lineno}: {n.name} has {size} lines; part it" for n, size in sizes if size >= FUNCTION_LINES]


CLOCK = "take the time from the book's clock, or `today` from the caller"
BANNED_CALLS = {
    "date.today": CLOCK,
    "datetime.today": CLOCK,
    "datetime.now": CLOCK,
    "datetime.utcnow": CLOCK,
    "time.time": CLOCK,
    "time.time_ns": CLOCK,
}
CHANCE_CALLS = {
    "uuid.uuid1": "ids come from the book's chance",
    "uuid.uuid4": "ids come from the book's chance",
    "os.urandom": "salts come from the book's chance",
    "secrets.token_bytes": "salts come from the book's chance",
    "secrets.token_hex": "ids come from the book's chance",
    "secrets.randbelow": "ids come from the book's chance",
    "print": "give back a value; what is said is said by reports.cli",
}
BANNED_NAMES = {"uuid1", "uuid4", "urandom", "token_bytes", "token_hex", "utcnow"}  # imported by name alone


def no_banned_calls(path: PurePosixPath, text: str) -> list[str]:
    """No clock and no chance but through the book's; no print in the ledger."""
    if not _source(path) or path == CHANCE:
        return []
    in_ledger = path.parts[0] == "ledger"
    banned = BANNED_CALLS | (CHANCE_CALLS if in_ledger else {})
    out = []
    for node in ast.walk(ast.parse(text)):
        name = _dotted(node) if isinstance(node, ast.Attribute) else ""
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            name = node.func.id
        if name in banned:
            out.append(f"{path}:{node.lineno}: {name}; {banned[name]}")
        if isinstance(node, ast.ImportFrom) and in_ledger:
            imported = sorted({a.name for a in node.names} & BANNED_NAMES)
            out += [
                f"{path}:{node.lineno}: {name} imported by name; clock and chance are the book's" for name in imported
            ]
    return out


def no_bare_except(path: PurePosixPath, text: str) -> list[str]:
    """No bare except, and none that swallows everything without a word."""
    if path.suffix != ".py":
        return []
    handlers = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.ExceptHandler)]
    out = [f"{path}:{n.lineno}: bare except; name what can go wrong" for n in handlers if n.type is None]
    for node in handlers:
        broad = isinstance(node.type, ast.Name) and node.type.id in ("Exception", "BaseException")
        if broad and all(isinstance(line, ast.Pass) for line in node.body):
            out.append(f"{path}:{node.lineno}: everything is swallowed; name what can go wrong")
    return out


_CHANGES = re.compile(
    r"\bUPDATE\s+[\w\".]+\s+SET\b|\bDELETE\s+FROM\b|\bREPLACE\s+INTO\b|\bINSERT\s+OR\s+REPLACE\b|\bDO\s+UPDATE\b|\bTRUNCATE\s+\w",
    re.IGNORECASE,
)


def _docstrings(tree: ast.Module) -> set[int]:
    holders = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    return {id(n.body[0].value) for n in ast.walk(tree) if isinstance(n, holders) and ast.get_docstring(n) is not None}


def _literals(text: str) -> Iterator[tuple[int, str]]:
    """Line and text of every string that is no docstring; of an f-string, its fixed parts in one."""
    tree = ast.parse(text)
    docs = _docstrings(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value
        if isinstance(node, ast.JoinedStr):
            yield node.lineno, "".join(str(v.value) if isinstance(v, ast.Constant) else "x" for v in node.values)


def append_only(path: PurePosixPath, text: str) -> list[str]:
    """No statement that changes or removes rows. The triggers that refuse them say only `BEFORE UPDATE ON`."""
    way_out = "the log only grows; write a further row"
    if path.suffix == ".sql":
        bare = re.sub(r"--[^\n]*", "", text)
        return [f"{path}: {m[0]!r}; {way_out}" for m in _CHANGES.finditer(bare)]
    if not _source(path):
        return []
    found = [(line, m[0]) for line, literal in _literals(text) for m in _CHANGES.finditer(literal)]
    out = [f"{path}:{line}: {what!r}; {way_out}" for line, what in sorted(set(found))]
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in ("sqlmodel", "sqlalchemy"):
            names = {a.name for a in node.names} & {"update", "delete"}
            out += [f"{path}:{node.lineno}: {name} of {node.module}; {way_out}" for name in sorted(names)]
    return out


def documented(path: PurePosixPath, text: str) -> list[str]:
    """Every module, every public function of a module and every public class says what it is."""
    if not _source(path):
        return []
    tree = ast.parse(text)
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    public = [n for n in tree.body if isinstance(n, kinds) and not n.name.startswith("_")]
    out = [
        f"{path}:{n.lineno}: {n.name} has no docstring; say what it means" for n in public if not ast.get_docstring(n)
    ]
    empty = not text.strip()
    return out if empty or ast.get_docstring(tree) else [*out, f"{path}: no docstring; say what the file is for"]


_MACHINE = re.compile(
    r"(?<![\w.$}~-])/(?:" + "|".join(("wo" + "rk", "tm" + "p", "ro" + "ot", "home", "Users", "mnt")) + r")/\w"
)
_HOSTS = re.compile(
    "|".join(
        ("pypi" + r"\.org", "python" + "hosted", "index" + "-url", "registry" + r"\.npmjs", "simple" + "/tidemark")
    )
)


def no_machine(path: PurePosixPath, text: str) -> list[str]:
    """No path of somebody's machine, no address of a package registry."""
    out = []
    for number, line in enumerate(text.splitlines(), 1):
        if found := _MACHINE.search(line):
            out.append(f"{path}:{number}: {found[0]}…, a path of one machine; make it relative, or a temporary folder")
        if found := _HOSTS.search(line):
            out.append(f"{path}:{number}: {found[0]}, a registry; leave it to the settings of pip")
    return out


def thin_notebook(path: PurePosixPath, text: str) -> list[str]:
    """A notebook calls and shows; it defines nothing, keeps no output, and names its kernel."""
    if path.suffix != ".ipynb":
        return []
    book = json.loads(text)
    out = [] if book.get("metadata", {}).get("kernelspec") else [f"{path}: no kernelspec; Lab would stop with a dialog"]
    for number, cell in enumerate(book["cells"], 1):
        if cell["cell_type"] != "code":
            continue
        if cell.get("outputs") or cell.get("execution_count"):
            out.append(f"{path}: cell {number} keeps output; run nbstripout")
        code = "".join(cell["source"])
        plain = "\n".join("" if line.startswith(("%", "!")) else line for line in code.split("\n"))
        kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda)
        defined = [n for n in ast.walk(ast.parse(plain)) if isinstance(n, kinds)]
        out += [f"{path}: cell {number} defines something; put it in reports and call it" for _ in defined]
    return out


def repeated_docstrings(files: dict[PurePosixPath, str]) -> list[str]:
    """No two modules with one docstring: the second was copied and not read."""
    seen: dict[str, PurePosixPath] = {}
    out = []
    for path, text in files.items():
        doc = ast.get_docstring(ast.parse(text)) if path.suffix == ".py" else None
        if doc and doc in seen:
            out.append(f"{path}: the docstring of {seen[doc]}; say what this file is for")
        elif doc:
            seen[doc] = path
    return out


HEADINGS = ("What happened", "When it counts", "What it changes", "What it does not mean", "Example")


def is_kind(path: PurePosixPath) -> bool:
    """Files of kinds; what they share begins with an underscore, or is the base; `page` writes about them."""
    folder = path.parent == PurePosixPath("ledger/kinds") and path.suffix == ".py"
    return folder and path.stem not in ("base", "page") and not path.stem.startswith("_")


def kind_story(path: PurePosixPath, text: str) -> list[str]:
    """A kind tells its story under the fixed headings, and its stored name is written by hand: that of its file."""
    if not is_kind(path):
        return []
    tree = ast.parse(text)
    lines = (ast.get_docstring(tree) or "").splitlines()
    out = [] if [x for x in lines if x in HEADINGS] == list(HEADINGS) else [f"{path}: its headings are {HEADINGS}"]
    assigned = [n for n in tree.body if isinstance(n, ast.Assign | ast.AnnAssign)]
    stored = [ast.unparse(n.value) for n in assigned if n.value and "NAME" in ast.unparse(n).split("=")[0].split()]
    return out if stored == [repr(path.stem)] else [*out, f'{path}: write NAME = "{path.stem}", as it is stored']


def kind_complete(name: str, *, listed: set[str], cases: set[str], page: str) -> list[str]:
    """A kind has its file, its line in the list, its cases and its part of the page: `name` is that of its file."""
    out = [] if name in listed else [f"{name}: not in the written-out list of ledger/kinds"]
    out += [] if name in cases else [f"{name}: no tests/cases/**/{name}.yaml"]
    named = re.search(rf"^#+ .*\b{re.escape(name)}\b", page, re.MULTILINE)
    return out if named else [*out, f"{name}: no heading in ledger/kinds/README.md"]


RULES: tuple[Rule, ...] = (
    not_too_long,
    short_functions,
    no_banned_calls,
    no_bare_except,
    append_only,
    documented,
    kind_story,
    no_machine,
    thin_notebook,
)
