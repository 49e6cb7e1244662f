"""What the entry behind a row says: permits, agreement, numbers sent, and where animals of a subject came from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any, Final

from ledger.read import Copy, Names, Standing
from reports import ages

_MOST: Final = 6  # sources named of one subject; the rest are counted
_ARRIVED: Final = {
    "opening": "on hand when the book began",
    "hatching": "hatched",
    "birth": "born",
    "propagation": "propagated",
    "count": "found by a count",
    "sex_change": "found",
}


def id_of(value: Any) -> str:
    """The id of a reference in a payload; "" where there is none."""
    return str(value.get("id") or "") if isinstance(value, dict) else ""


def called(value: Any) -> str:
    """A reference as it was typed, or text as it stands; "" for nothing."""
    return str(value.get("as") or value.get("id") or "") if isinstance(value, dict) else str(value or "")


def total(value: Any) -> int | None:
    """How many animals a payload's number says, over all sexes; None where it says none."""
    return sum(value.values()) if isinstance(value, dict) else None


def permits_of(payload: Mapping[str, Any]) -> list[Any]:
    """Permits that an entry names: references to the register, or numbers."""
    return [*payload.get("permits", []), *([payload["permit"]] if payload.get("permit") else [])]


def permit_words(names: Names, permits: Sequence[Any]) -> str:
    """`P-1 (Harbour Authority, 2024-01-01 to 2025-12-31); P-2 (not in the register)`."""
    said = []
    for permit in permits:
        thing = names.thing(id_of(permit))
        if thing is None:
            said.append(f"{called(permit)} (not in the register)")
            continue
        fields = thing.fields
        since, until = (str(fields.get(key) or "") for key in ("from", "until"))
        days = (
            f"{since} to {until}" if since and until else f"until {until}" if until else f"from {since}" * bool(since)
        )
        facts = [names.label(id_of(fields.get("authority"))), days]
        facts.append(f"closed {fields['closed']}" if fields.get("closed") else "")
        told = ", ".join(fact for fact in facts if fact)
        said.append(f"{thing.code} ({told})" if told else thing.code)
    return "; ".join(said)


def sources(
    copy: Copy, names: Names, subjects: Collection[str], last: date, known: int, events: Mapping[int, Standing]
) -> dict[str, list[tuple[date, int, str]]]:
    """Subject -> its arrivals up to `last`: day, event, and in words how many came whence.

    `30 hatched 2024-03-05`, `12 donation from Partner P 2024-05-06, wild`, `8 out of MS-2024-0040 2024-06-01`.
    """
    told = ages.flows(copy.histories(sorted(subjects), last, known), {})
    gave = {flow.effect: flow.subject for flow in told if flow.how == "passed" and flow.n < 0}
    out: dict[str, list[tuple[date, int, str]]] = defaultdict(list)
    for flow in told:
        if flow.n > 0 and flow.subject in subjects:
            giver = names.number(gave[flow.effect]) if flow.effect in gave else ""
            words = f"{flow.n} {_whence(names, events.get(flow.effect), giver)}"
            out[flow.subject].append((flow.day, flow.effect, words))
    return out


def _whence(names: Names, event: Standing | None, giver: str) -> str:
    if giver:
        return f"out of {giver}" + (f" {event.edtf}" if event else "")
    if event is None:
        return "of source not known"
    payload = event.payload
    how = _ARRIVED.get(event.kind, str(payload.get("terms") or payload.get("manner") or event.kind).replace("_", " "))
    party = f" from {names.label(id_of(payload['from']))}" if event.kind == "transfer" else ""
    facts = [str(payload.get("origin") or ""), ", ".join(called(p) for p in permits_of(payload))]
    parents = [names.number(id_of(payload.get(field))) for field in ("dam", "sire", "made_from") if payload.get(field)]
    facts.append(f"of {' and '.join(parents)}" if parents else "")
    return ", ".join([f"{how}{party} {event.edtf}", *(fact for fact in facts if fact)])


def listed(arrivals: Sequence[tuple[date, int, str]], upto: date, but: int) -> str:
    """Arrivals up to a day, apart from event `but`, as one text."""
    said = [words for day, effect, words in arrivals if day <= upto and effect != but]
    return "; ".join([*said[:_MOST], *([f"and {len(said) - _MOST} more"] if len(said) > _MOST else [])])
