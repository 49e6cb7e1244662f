"""What every kind does to the tokens of one subject."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from oracle.log import ident
from oracle.world import (
    ARRIVALS,
    HOLDER,
    LOST,
    OWNER,
    PLACE,
    RETURNS,
    SEX,
    STANDING,
    TAXON,
    WORD,
    No,
    Payload,
    Token,
    World,
    amounts,
    away,
    held,
    lost,
    on_the_way,
    seen,
)

NEW_TITLE = ("sale", "donation", "exchange")
OURS_FIRST = (*NEW_TITLE, "loan", "breeding_loan", "held_for_another")


def do(w: World, kind: str, p: Payload) -> None:
    """One event; raises No where it cannot have happened in this world."""
    DOES[kind](w, p)
    w.look()


def _from(p: Payload) -> str:
    return ident(p["from"]) if "from" in p else ""


def _arrival(w: World, p: Payload, kind: str) -> None:
    if p.get("source_remains") is False and w.subject == ident(p["made_from"]):
        _used_up(w)
        return
    who = amounts(p["how_many"]) if "how_many" in p else {p.get("sex", "unknown"): 1}
    place = ident(p["enclosure"])
    cell = (place, w.homes[place], ident(p["owner"]), p.get("standing", "collection"))
    if "into" in p:
        if not w.started:
            raise No("no such lot yet")
        taxon = (w.tokens[0] if w.tokens else w.last)[TAXON]
        if "taxon" in p and ident(p["taxon"]) != taxon:
            raise No("another taxon")
    elif w.started:
        raise No("second arrival")
    else:
        w.started, taxon = True, ident(p["taxon"])
    w.enter(taxon, who, cell, ARRIVALS[kind])


def _used_up(w: World) -> None:
    """What others were made from, and nothing of it remained."""
    w.leave(w.whole(held), "propagated")
    w.ended = True


def _standing(w: World, p: Payload) -> None:
    for t in w.some(lambda t: True, p, _from(p)):
        t[STANDING] = p["standing"]


def _move(w: World, p: Payload) -> None:
    to = ident(p["to"])
    for t in w.some(held, p, _from(p)):
        if t[HOLDER] != w.homes[to]:
            raise No("another house")
        t[PLACE] = to


def _loss(account: str, p: Payload, w: World) -> None:
    if "sex_found" in p and "n" in p.get("how_many", {}):
        p = {**p, "how_many": {"u": p["how_many"]["n"]}}
    test = held
    if account == "dead":
        test = (lambda t: True) if not w.lot or _from(p) in LOST else seen
        test = on_the_way if "in_transit" in p else test
    who = w.some(test, p, _from(p))
    if "sex_found" in p:
        if any(t[SEX] not in ("unknown", p["sex_found"]) for t in who):
            raise No("another sex")
        for t in who:
            t[SEX] = p["sex_found"]
    if account in LOST:
        for t in who:
            t[PLACE], t[HOLDER] = account, ""
    else:
        w.leave(who, account)
        w.ended = not w.lot


def _recovery(w: World, p: Payload) -> None:
    place = ident(p["enclosure"])
    for t in w.some(lost, p, _from(p)):
        t[PLACE], t[HOLDER] = place, w.homes[place]


def _sex(w: World, p: Payload, *, happened: bool) -> None:
    if happened and p.get("stage", "completed") != "completed":
        return
    if "how_many" in p:
        who = w.part(seen, p, _from(p), ident(p["owned_by"]) if "owned_by" in p else "")
    else:
        who = list(w.tokens)
        if not who and (happened or not w.started or "here" in p):
            raise No("not there")
        if not who and w.last:  # found out after the end: of the animal as it was last
            w.last = [w.last[TAXON], p["to"], *w.last[PLACE:]]
    for t in who:
        t[SEX] = p["to"]


def _redetermination(w: World, p: Payload) -> None:
    if not w.started or ("here" in p and not w.tokens):
        raise No("not there")
    for t in [*w.tokens, w.last] if w.last else w.tokens:
        t[TAXON] = ident(p["taxon"])


def _title(w: World, p: Payload) -> None:
    owner = ident(p["owner"])
    for t in w.some(lambda t: True, p, _from(p)):
        t[OWNER] = owner
    w.drop_what_is_no_longer_ours()


def _fits(terms: str, owner: str, sender: str, receiver: str) -> bool:
    if terms in OURS_FIRST:
        return owner == sender
    if terms in RETURNS:
        return owner != sender
    return owner == receiver


def _leaving(w: World, p: Payload) -> None:
    """Off on a journey: in transit, and still the sender's."""
    sender = ident(p["from"])
    leaving = ident(p["leaving"]) if "leaving" in p else ""
    for t in w.some(lambda t: held(t) and t[HOLDER] == sender, p, leaving):
        t[PLACE] = "in_transit"


def _transfer(w: World, p: Payload) -> None:
    sender, receiver, terms = ident(p["from"]), ident(p["to"]), p["terms"]
    if sender.startswith("h-") and "left" in p:

        def here(t: Token) -> bool:
            return on_the_way(t) and t[HOLDER] == sender

        if "dead_on_arrival" in p and w.lot:
            w.leave(w.some(here, {**p, "how_many": p["dead_on_arrival"]}), "dead")
            if not sum(p["arrived_alive"].values()):
                return
            p = {**p, "how_many": p["arrived_alive"]} if "how_many" in p else p
        who = w.some(here, p)
    elif sender.startswith("h-"):
        leaving = ident(p["leaving"]) if "leaving" in p else ""
        who = w.some(lambda t: held(t) and t[HOLDER] == sender, p, leaving)
    else:
        who = [t for t in w.tokens if away(t) and t[PLACE] == sender]
        if not who or "addition" in p:
            _arrive(w, p, sender, terms)
            return
        who = w.some(lambda t: away(t) and t[PLACE] == sender, p, sender if "how_many" in p else "")
    for t in who:
        if not _fits(terms, t[OWNER], sender, receiver):
            raise No("the terms do not fit the title")
    for t in who:
        t[HOLDER] = receiver
        t[PLACE] = ident(p["enclosure"]) if receiver.startswith("h-") else receiver
        if terms in NEW_TITLE:
            t[OWNER] = ident(p["owner"]) if "owner" in p else receiver
        if "standing" in p:
            t[STANDING] = p["standing"]
    w.drop_what_is_no_longer_ours()


def _arrive(w: World, p: Payload, sender: str, terms: str) -> None:
    """New to the book, or back from where nobody followed it, or more animals into a standing lot."""
    if terms in RETURNS or not ident(p["to"]).startswith("h-"):
        raise No("not away")
    who = amounts(p["how_many"]) if "how_many" in p else {p.get("sex", "unknown"): 1}
    if w.started:
        if not w.lot and (w.tokens or w.ended):
            raise No("not away")
        taxon = (w.tokens[0] if w.tokens else w.last)[TAXON]
        who = who if w.lot else {w.last[SEX]: 1}
        if "taxon" in p and (not w.lot or ident(p["taxon"]) != taxon):
            raise No("another taxon, or a second arrival")
    elif "taxon" in p and "addition" not in p:
        w.started, taxon = True, ident(p["taxon"])
    else:
        raise No("not yet in the book")
    owner = ident(p["owner"]) if "owner" in p else sender if terms not in NEW_TITLE else ident(p["to"])
    standing = p.get("standing", "held_for_another" if terms == "held_for_another" else "collection")
    w.enter(taxon, who, (ident(p["enclosure"]), ident(p["to"]), owner, standing), sender)


def _passing(kind: str, p: Payload, w: World) -> None:
    """Split, merge, draw, join: out of one number, into another; the event says what passes."""
    who = amounts(p["how_many"]) if "how_many" in p else {p["sex"]: 1}
    taxon, owner = ident(p["taxon"]), ident(p["owner"])
    target = p["new"] if kind in ("split", "draw") else p["into"]
    if w.subject != ident(target):
        if "how_many" in p or w.lot:
            out = w.part(held, {"how_many": {k: who[s] for k, s in WORD.items() if s in who}}, _from(p), owner)
        else:
            out = w.whole(held)
        if any(t[TAXON] != taxon or t[OWNER] != owner or t[SEX] not in who for t in out):
            raise No("the sides do not meet")
        w.leave(out, "passed")
        w.ended = not w.lot
        return
    if kind in ("split", "draw"):
        if w.started:
            raise No("second arrival")
        w.started = True
    elif not w.started or (w.tokens[0] if w.tokens else w.last)[TAXON] != taxon:
        raise No("not that lot")
    place = ident(p["to"]) if "to" in p else _from(p)
    w.enter(taxon, who, (place, w.homes[place], owner, p.get("standing", "collection")), "passed")


def _count(w: World, p: Payload) -> None:
    place = ident(p["enclosure"])
    owner = ident(p["owned_by"]) if "owned_by" in p else ""
    here = [t for t in w.tokens if t[PLACE] == place and (not owner or t[OWNER] == owner)]
    if len({(t[TAXON], *t[HOLDER:]) for t in here}) > 1:
        raise No("which owner")
    if not here and (place, owner) not in w.last_at:
        raise No("not there")
    cell = here[0] if here else w.last_at[place, owner]
    for t in here:
        w.tokens.remove(t)
    before = Counter(tuple(t) for t in here)
    counted = [[cell[TAXON], sex, *cell[PLACE:]] for sex, n in amounts(p["how_many"]).items() for _ in range(n)]
    if "n" in p["how_many"]:
        more = p["how_many"]["n"] - len(here)
        gone = w.untold(here, -more) if more < 0 else []
        counted = [t for t in here if not any(t is g for g in gone)]
        counted += [[cell[TAXON], "unknown", *cell[PLACE:]] for _ in range(more)]
    w.tokens += counted
    lost = len(here) - len(counted)
    account = {"deaths_not_seen": "dead" if lost > 0 else "", "young_not_seen": "born" if lost < 0 else ""}
    w.accounts[account.get(p.get("is", "")) or "unaccounted"] += lost
    if "stands_for" in p:
        found = Counter(tuple(t) for t in counted)
        found.subtract(before)
        w.later.append((p["stands_for"], found, Counter({account.get(p.get("is", "")) or "unaccounted": lost})))


DOES: dict[str, Callable[[World, Payload], None]] = {
    "move": _move,
    "recovery": _recovery,
    "sexing": lambda w, p: _sex(w, p, happened=False),
    "sex_change": lambda w, p: _sex(w, p, happened=True),
    "redetermination": _redetermination,
    "title_change": _title,
    "standing_change": _standing,
    "transfer": _transfer,
    "leaving": _leaving,
    "count": _count,
}
for _kind in ARRIVALS:
    DOES[_kind] = lambda w, p, kind=_kind: _arrival(w, p, kind)  # type: ignore[misc]
for _kind, _account in {
    "death": "dead",
    "release": "released",
    "escape": "escaped",
    "missing": "missing",
    "fed_out": "fed_out",
}.items():
    DOES[_kind] = lambda w, p, account=_account: _loss(account, p, w)  # type: ignore[misc]
for _kind in ("split", "merge", "draw", "join"):
    DOES[_kind] = lambda w, p, kind=_kind: _passing(kind, p, w)  # type: ignore[misc]
