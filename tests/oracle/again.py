"""A book told only what stands: its journal is what the first book's journal comes to.

The journal grows by differences, so after any late entries, corrections and strikings out it must sum, line by
line, to that of a book which never knew them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from oracle.log import standing

if TYPE_CHECKING:
    from oracle.trial import Trial

Line = tuple[Any, ...]


def typed(value: Any) -> Any:
    """A stored value as a person would write it; detached text is left out."""
    if isinstance(value, Mapping):
        if "as" in value:
            return value["as"]
        if "commit" in value:
            return None
        return {k: w for k, v in value.items() if (w := typed(v)) is not None}
    return value


def net(trial: Trial, known: int, place: Mapping[int, int]) -> Counter[Line]:
    """Lines by names instead of ids and by place in what stands instead of position, cancelled lines dropped."""
    total: Counter[Line] = Counter()
    name = trial.scene.name
    for row in trial.rows:
        if row.known_from <= known:
            cell = tuple(name(part) for part in row.cell)
            effect = place.get(row.effect, -row.effect)
            total[effect, name(row.subject), row.counts_on, row.could_from, cell, row.reason] += row.delta
    return Counter({k: n for k, n in total.items() if n})


def told_again(trial: Trial) -> None:
    """Tell a fresh book what stands, in one batch, and compare the two journals."""
    from oracle.compare import TALLY, Difference
    from oracle.trial import Trial

    # a first sign posts nothing, and may stand where the arrival of its animal was struck out
    facts = [f for f in standing(trial.oracle.events, trial.known) if f.payload.get("stage") in (None, "completed")]
    if not facts:
        return
    entries = []
    for f in facts:
        occurred = trial.oracle.events[f.seq - 1]["occurred"]["edtf"]
        said = {field: value for field, value in typed(f.payload).items() if field != "of"}  # the sign it went on from
        entries.append({"kind": f.kind, "occurred": occurred, "payload": said})
    fresh = Trial()
    before = fresh.known
    outcome = fresh.send(entries)
    if not outcome.landed:  # where an animal stood that joined a lot; a move before it may have been struck out since
        for entry in entries:
            entry.pop("event_id", None)
            if entry["kind"] == "join":
                entry["payload"].pop("from", None)
        outcome = fresh.send(entries)
    if not outcome.landed:
        raise Difference(f"what stands is refused when told anew: {outcome.findings}\n{trial.history()}")
    mine = net(trial, trial.known, {f.root: i for i, f in enumerate(facts)})
    other = net(fresh, fresh.known, {before + 1 + i: i for i in range(len(facts))})
    if mine != other:
        raise Difference(f"told anew: {mine - other} against {other - mine}\n{trial.history()}")
    TALLY["told anew"] += 1
