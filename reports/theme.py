"""The look of every chart and page: colours, type, and the one Altair theme (`altair()` imports it late)."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import altair as alt

INK: Final = "#1b2a33"
SOFT: Final = "#5d6f7a"
LINE: Final = "#d5dde1"
WASH: Final = "#f3f6f7"
TIDE: Final = "#0b4f6c"  # ours
SAND: Final = "#c07f1f"  # broods, notes
IN: Final = "#2b7a5d"  # always with a sign or a word beside it
OUT: Final = "#a9452f"
OKABE_ITO: Final = ("#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#d55e00", "#f0e442", "#000000")
SANS: Final = "-apple-system, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif"
SERIF: Final = "Georgia, 'Liberation Serif', 'DejaVu Serif', serif"
_XMLNS: Final = re.compile(r' xmlns(?::\w+)?="[^"]*"')
_SIZE: Final = re.compile(r'<svg([^>]*?) width="[^"]*" height="[^"]*"')


def altair() -> Any:
    """The altair module, with our theme and the SVG renderer set. Two seconds the first time, so never at import."""
    import altair as alt

    if "tidemark" not in alt.theme.names():
        alt.theme.register("tidemark", enable=True)(_theme)
        alt.renderers.enable("svg")
    return alt


def _theme() -> Any:
    label = {
        "labelColor": SOFT,
        "labelFontSize": 10.5,
        "titleColor": SOFT,
        "titleFontSize": 10.5,
        "titleFontWeight": 400,
    }
    axis = {**label, "domain": False, "ticks": False, "grid": False, "labelPadding": 6}
    return {
        "config": {
            "background": "transparent",
            "font": SANS,
            "view": {"stroke": None},
            "axis": axis,
            "axisX": {"labelAngle": 0},
            "bar": {"cornerRadius": 1.5},
            "line": {"stroke": TIDE, "strokeWidth": 1.8},
            "point": {"fill": TIDE, "filled": True, "size": 26},
            "rule": {"stroke": SOFT, "strokeWidth": 0.7},
            "text": {"fill": INK, "fontSize": 11.5},
            "range": {"category": list(OKABE_ITO)},
            "padding": {"left": 4, "right": 30, "top": 4, "bottom": 4},  # browsers may set wider type than was measured
        }
    }


def svg(chart: alt.LayerChart | alt.Chart) -> str:
    """A chart as SVG to stand inside a page: no namespace address, no size of its own but its proportions."""
    import vl_convert

    version = ".".join(altair().SCHEMA_VERSION.removeprefix("v").split(".")[:2])
    text: str = vl_convert.vegalite_to_svg(chart.to_json(), vl_version=version)
    return _SIZE.sub(r"<svg\1", _XMLNS.sub("", text)).strip()
