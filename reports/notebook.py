"""A notebook run and rendered: executed in an empty private folder, exported to one self-contained HTML page.

The stock HTML export asks content networks for scripts; our template (`notebook.html.j2`) carries nothing but the
cells' own output and the style sheet of the page. What runs is only what the notebook imports from where Tidemark
is installed: the folder is empty and `PYTHONSAFEPATH` keeps it, and the folder of the notebook, off the path.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from reports.page import style

NOTEBOOK: Final = Path(__file__).parent.parent / "notebooks" / "annual_report.ipynb"
SECONDS: Final = 300
_HERE: Final = Path(__file__).parent
_ADDRESS: Final = re.compile(
    r"""(?:\b(?:src|href)\s*=\s*["']?|url\(\s*["']?|@import\s+["']?)\s*(?:https?:)?//""", re.IGNORECASE
)


class NotOnePage(RuntimeError):
    """The exported page is not what was executed: an address in it, or fewer charts than the cells drew."""


def executed(notebook: Path, parameters: Mapping[str, Any]) -> Any:
    """The notebook run with the values of its cell tagged `parameters` replaced; a path is made absolute first.

    Raises KeyError for a parameter the notebook does not have, `nbclient`'s CellExecutionError where a cell fails.
    """
    import nbformat
    from nbclient import NotebookClient

    book = nbformat.read(notebook, as_version=4)  # type: ignore[no-untyped-call]
    cell = next(c for c in book.cells if "parameters" in c.metadata.get("tags", []))
    cell.source = _set(cell.source, parameters)
    with tempfile.TemporaryDirectory(prefix="tidemark-") as folder:
        private = Path(folder)
        empty = private / "empty"
        empty.mkdir()
        client = NotebookClient(
            book,
            timeout=SECONDS,
            kernel_name="python3",
            resources={"metadata": {"path": str(empty)}},
            config=_config(private / "kernel"),
        )
        client.execute(env=_environment(private))
    return book


def _config(socket: Path) -> Any:
    """The kernel is spoken to through sockets in the file system, not over a port of the machine."""
    from traitlets.config import Config

    return Config({"KernelManager": {"transport": "ipc", "ip": str(socket)}})


def _environment(private: Path) -> dict[str, str]:
    """This process's, less what could put other modules in our way; a private folder for what the kernel writes."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON") or k == "PYTHONDONTWRITEBYTECODE"}
    here = {} if _installed() else {"PYTHONPATH": str(_HERE.parent)}
    return {**kept, **here, "IPYTHONDIR": str(private), "PYTHONSAFEPATH": "1"}


def _installed() -> bool:
    from importlib.metadata import PackageNotFoundError, distribution

    try:
        distribution("tidemark")
    except PackageNotFoundError:
        return False
    return True


def _set(source: str, parameters: Mapping[str, Any]) -> str:
    lines = source.split("\n")
    for name, value in parameters.items():
        at = next((i for i, line in enumerate(lines) if re.match(rf"{re.escape(name)}\s*=", line)), None)
        if at is None:
            raise KeyError(f"the notebook has no parameter {name!r}")
        lines[at] = f"{name} = {value!r}"
    return "\n".join(lines)


def exported(book: Any, title: str, foot: str) -> str:
    """The executed notebook as one self-contained HTML page. Raises NotOnePage."""
    from nbconvert.exporters import TemplateExporter  # the HTML exporter writes the cells' HTML anew

    template = str(_HERE / "notebook.html.j2")
    exporter = TemplateExporter(template_file=template, extra_template_basedirs=[str(_HERE)])  # type: ignore[no-untyped-call]
    resources = {"tidemark": {"title": title, "css": style(foot)}}
    text, _ = exporter.from_notebook_node(book, resources=resources)
    drawn = sum(_html(output).count("<svg") for cell in book.cells for output in cell.get("outputs", []))
    if (shown := text.count("<svg")) != drawn:
        raise NotOnePage(f"{drawn} charts were drawn and {shown} are on the page")
    if found := _ADDRESS.search(text):
        raise NotOnePage(f"there is an address on the page: {text[found.start() : found.start() + 80]!r}")
    return str(text)


def _html(output: Any) -> str:
    return "".join(output.get("data", {}).get("text/html", ""))


def rendered(notebook: Path, parameters: Mapping[str, Any], title: str, foot: str) -> str:
    """Execute and export in one."""
    return exported(executed(notebook, parameters), title, foot)
