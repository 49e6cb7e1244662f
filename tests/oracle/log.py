"""What stands at a position, read from the raw log and from nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, NamedTuple

REGISTER = frozenset(
    "book person house party enclosure enclosure_changed enclosure_closed taxon void note marking unmarking".split()
)
PARTIES_OF_AN_ACT = ("animal", "lot", "new", "into")


class Fact(NamedTuple):
    """An event that stands: the newest of its line of corrections, in the place of the first of the line."""

    root: int  # position of the first event of the line
    seq: int
    kind: str
    first: int  # ordinals
    last: int
    payload: Mapping[str, Any]


def ident(ref: Any) -> str:
    """The id inside a stored reference; a bare text is its own id."""
    return str(ref["id"]) if isinstance(ref, Mapping) else str(ref)


def subjects(payload: Mapping[str, Any]) -> tuple[str, ...]:
    used_up = ("made_from",) if payload.get("source_remains") is False else ()
    return tuple(ident(payload[k]) for k in (*PARTIES_OF_AN_ACT, *used_up) if k in payload)


def batch_end(events: Iterable[Mapping[str, Any]], known: int) -> int:
    """The last position at or before `known` at which a batch ends; 0 before the first."""
    end = 0
    for event in events:
        if event["seq"] <= known and event["batch"]["no"] == event["batch"]["of"]:
            end = event["seq"]
    return end


def homes(events: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """House of every enclosure."""
    return {ident(e["payload"]["enclosure"]): ident(e["payload"]["house"]) for e in events if e["kind"] == "enclosure"}


def standing(events: Iterable[Mapping[str, Any]], known: int, void_leaves: bool = False) -> list[Fact]:
    """Newest of every line of corrections that was not struck out, as of a position, by place in the log.

    `void_leaves` is a planted fault (a striking out that leaves the event standing).
    """
    root_of: dict[str, int] = {}
    seq_of: dict[int, str] = {}
    newest: dict[int, Fact] = {}
    for event in events:
        seq = event["seq"]
        if seq > known:
            break
        seq_of[seq] = event["event_id"]
        old = event["supersedes"]
        root = seq if old is None else root_of[seq_of[old] if isinstance(old, int) else old]
        root_of[event["event_id"]] = root
        if event["kind"] == "void":
            if not void_leaves:
                newest.pop(root, None)
            continue
        if event["kind"] in REGISTER:
            continue
        newest[root] = Fact(root, seq, event["kind"], *_days(event["occurred"]), event["payload"])
    return [newest[r] for r in sorted(newest)]


def _days(occurred: Mapping[str, str]) -> tuple[int, int]:
    last = date.fromisoformat(occurred["last"]).toordinal()
    first = occurred["first"]
    return (date.fromisoformat(first).toordinal() if first else date(1990, 1, 1).toordinal()), last
