"""Refusals that have no reason: an act on an animal whose days are all known can be replayed, or it cannot."""

from __future__ import annotations

from datetime import date
from typing import Any

from oracle.log import Fact
from oracle.scene import Entry, Scene
from oracle.worlds import tell

# codes that speak of days alone; others have reasons the replay knows nothing of (a sex, a name, an owner not said)
ABOUT_DAYS = {"not-there", "no-possible-day", "order-assumed", "which-stay", "already-there", "straddles-a-count"}
KINDS = ("move", "death", "escape", "missing", "release", "recovery", "transfer")


def could_be(scene: Scene, entry: Entry) -> bool:
    """True where an act on one animal, all of whose days are exact, can be replayed on top of what stands."""
    ids = {name: id_ for id_, name in scene.names.items()}
    payload = entry["payload"]
    subject = ids.get(payload.get("animal", ""), "")
    if entry["kind"] not in KINDS or not subject or "taxon" in payload or "/" in entry["occurred"]:
        return False
    facts = scene.oracle.facts(scene.known).get(subject, [])
    if any(f.first != f.last for f in facts):
        return False
    day = date.fromisoformat(entry["occurred"]).toordinal()
    if any(f.first == day for f in facts):  # the order of one day has rules of its own
        return False
    resolved: dict[str, Any] = {k: ids.get(v, v) if isinstance(v, str) else v for k, v in payload.items()}
    last = 1 + max((f.root for f in facts), default=0)
    told = tell(subject, [*facts, Fact(last, last, entry["kind"], day, day, resolved)], scene.oracle.homes)
    return told is not None and told.certain is not None
