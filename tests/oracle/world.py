"""One world of one subject: a token an animal, and how parts of it are taken.

A token is a list `[taxon, sex, place, holder, owner, standing]`. Tokens that left the book are dropped; how
many each account has taken or given is kept beside them, so that a subject always balances.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

from oracle.log import ident

TAXON, SEX, PLACE, HOLDER, OWNER, STANDING = range(6)
WORD = {"m": "male", "f": "female", "h": "hermaphrodite", "u": "unknown"}
LOST = ("escaped", "missing")
RETURNS = ("loan_return", "breeding_loan_return", "held_for_another_return")
ARRIVALS = {
    "opening": "brought_forward",
    "hatching": "born",
    "birth": "born",
    "acquisition": "wild",
    "propagation": "propagated",
}

Token = list[str]
Payload = Mapping[str, Any]


class No(Exception):
    """This cannot have happened in this world."""


def held(t: Token) -> bool:
    return t[PLACE].startswith("e-")


def away(t: Token) -> bool:
    return t[PLACE].startswith("o-")


def lost(t: Token) -> bool:
    return t[PLACE] in LOST


def on_the_way(t: Token) -> bool:
    return t[PLACE] == "in_transit"


def seen(t: Token) -> bool:
    return held(t) or away(t) or on_the_way(t)


def amounts(how_many: Mapping[str, int]) -> dict[str, int]:
    """By sex; of a number whose sexes were not told, as unknown."""
    return {WORD.get(k, "unknown"): n for k, n in how_many.items() if n}


class World:
    """The state of one subject while its events are told."""

    def __init__(self, subject: str, homes: Mapping[str, str]) -> None:
        self.subject, self.homes = subject, homes
        self.lot = subject.startswith("g-")
        self.tokens: list[Token] = []
        self.accounts: Counter[str] = Counter()
        self.started = self.ended = False
        self.later: list[tuple[str, Counter[tuple[str, ...]], Counter[str]]] = []  # found, for an earlier day
        self.last: Token = []  # the cell somebody was last seen in
        self.last_at: dict[tuple[str, str], Token] = {}  # (place, owner or "" for any): the cell seen there last

    def copy(self) -> World:
        new = World(self.subject, self.homes)
        new.tokens = [list(t) for t in self.tokens]
        new.accounts = Counter(self.accounts)
        new.later = list(self.later)
        new.started, new.ended, new.last, new.last_at = self.started, self.ended, self.last, dict(self.last_at)
        return new

    def look(self) -> None:
        """Remember where those in the house stand."""
        for t in self.tokens:
            if held(t):
                self.last = list(t)
                self.last_at[t[PLACE], ""] = self.last_at[t[PLACE], t[OWNER]] = list(t)

    def cells(self) -> dict[tuple[str, ...], int]:
        return dict(Counter(tuple(t) for t in self.tokens))

    def everywhere(self) -> dict[str, int]:
        """Number of animals by place, accounts and all; sums to zero."""
        out = Counter(self.accounts)
        for t in self.tokens:
            out[t[PLACE]] += 1
        return {k: n for k, n in out.items() if n}

    # --- what the kinds are made of ----------------------------------------------------------------

    def enter(self, taxon: str, who: Mapping[str, int], cell: tuple[str, str, str, str], source: str) -> None:
        place, holder, owner, standing = cell
        new = [[taxon, sex, place, holder, owner, standing] for sex, n in who.items() for _ in range(n)]
        if not new:
            raise No("an arrival of nobody")
        self.tokens += new
        self.accounts[source] -= len(new)

    def leave(self, who: list[Token], account: str) -> None:
        for t in who:
            self.tokens.remove(t)
            self.last = list(t)
        self.accounts[account] += len(who)

    def whole(self, test: Callable[[Token], bool]) -> list[Token]:
        got = [t for t in self.tokens if test(t)]
        if not got:
            raise No("not there")
        return got

    def part(self, test: Callable[[Token], bool], p: Payload, place: str, owner: str = "") -> list[Token]:
        """So many of each sex of a lot, of those at one place."""
        who = amounts(p["how_many"])
        here = [t for t in self.tokens if test(t) and (not place or t[PLACE] == place)]
        here = [t for t in here if not owner or t[OWNER] == owner]
        if p["how_many"].get("n"):
            return self.untold(here, p["how_many"]["n"])
        out: list[Token] = []
        for sex, n in who.items():
            got = [t for t in here if t[SEX] == sex]
            if len(got) < n:
                raise No("too few")
            if len({tuple(t) for t in got}) > 1:
                raise No("which owner")
            out += got[:n]
        return out

    def untold(self, here: list[Token], n: int) -> list[Token]:
        """So many of any sex: unknown ones first; of the others only what is certain keeps its sex."""
        if len({(t[TAXON], *t[PLACE:]) for t in here}) > 1:
            raise No("which of them")
        if len(here) < n:
            raise No("too few")
        if len(here) == n and all(on_the_way(t) for t in here):
            return here
        unknown = [t for t in here if t[SEX] == "unknown"]
        known = {t[SEX] for t in here} - {"unknown"}
        if not unknown and len(known) == 1:
            return here[:n]
        over = max(0, n - len(unknown))
        for sex in known:
            for t in [t for t in here if t[SEX] == sex][:over]:
                t[SEX] = "unknown"
        return [t for t in here if t[SEX] == "unknown"][:n]

    def some(self, test: Callable[[Token], bool], p: Payload, place: str = "") -> list[Token]:
        """All of it, or the part an act names."""
        if "how_many" in p:
            return self.part(test, p, place, ident(p["owned_by"]) if "owned_by" in p else "")
        got = self.whole(test)
        return [t for t in got if t[PLACE] == place] if place and self.lot else got

    def drop_what_is_no_longer_ours(self) -> None:
        for t in [t for t in self.tokens if away(t) and not t[OWNER].startswith("h-")]:
            self.leave([t], t[PLACE])
