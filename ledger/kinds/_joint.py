"""Several owners together: members of a joint party, each with its share."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any

from pydantic import StringConstraints

from ledger.kinds._fields import refuse
from ledger.kinds.base import Ref

Share = Annotated[str, StringConstraints(pattern=r"^[1-9]\d{0,5}/[1-9]\d{0,5}$")]


def parted(value: Any) -> Any:
    """Members written each with its share (`{party: OSC, share: 1/3}`), as two lists."""
    members = value.get("members") if isinstance(value, dict) else None
    if not isinstance(members, list) or not members or "shares" in value:
        return value
    if not all(isinstance(m, dict) and "share" in m and len(m) == 2 and {"party", "house"} & set(m) for m in members):
        return value
    named = [m.get("party", m.get("house")) for m in members]
    return {**value, "members": named, "shares": [m["share"] for m in members]}


def add_up(members: list[Ref] | None, shares: list[str] | None) -> None:
    """Refuse unless each member is named once and has a share, and the shares are one."""
    members, shares = members or [], shares or []
    if len(shares) != len(members) or (shares and sum(map(Fraction, shares)) != 1):
        found = f"shares of {' + '.join(shares) or 'nothing'}"
        refuse("shares", found, "one share a member, together 1", "Write them as 1/3 and 2/3.")
    if len({(m.as_, m.id) for m in members}) < len(members):
        refuse("members", "a member named twice", "each once", "Add their shares up.")
