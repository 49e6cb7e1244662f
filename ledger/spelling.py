"""What a number, a code or a name may be written with: nothing that cannot be seen, nothing that passes for another.

Free text (notes, reasons) is kept as it is, and shown so that it cannot act. A number or a code is what people look
things up by, so it may not hold what two readers would read apart.
Source: the ideas of Unicode Technical Standard 39 (restriction to one script, invisible characters), kept small;
the names and categories are those of the Python in use.
"""

from __future__ import annotations

import unicodedata
from typing import Final, NamedTuple

LONGEST: Final = 120  # characters of a number or a code
_DIRECTIONS: Final = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_BLANKS: Final = frozenset("\u200b\u2060\ufeff\u00ad\u2028\u2029")
# letters of these look like letters of the others
_SCRIPTS: Final = ("LATIN", "GREEK", "CYRILLIC", "ARMENIAN", "CHEROKEE", "COPTIC", "LISU")


class Odd(NamedTuple):
    """What is wrong with a spelling: what was `found`, what was `expected`, the `way_out`."""

    found: str
    expected: str
    way_out: str


def odd_name(text: str) -> Odd | None:
    """What a name may not hold: characters that control, turn the direction, or are no characters. None: it is fine.

    Letters of any script may stand in it, also those written from right to left.
    """
    for place, char in enumerate(text, 1):
        unseen = char in _DIRECTIONS or char in _BLANKS or unicodedata.category(char) in ("Cc", "Cs", "Cn")
        if unseen:
            return Odd(
                f"{_called(char)} as character {place}", "letters, digits and signs that can be seen", "Leave it out."
            )
    return None


def odd_code(text: str) -> Odd | None:
    """What a new number or code may not be, beside what a name may not hold. None: it is fine."""
    if not text:
        return Odd("nothing", "a number or a code", "Say what it is called.")
    if len(text) > LONGEST:
        return Odd(f"{len(text)} characters", f"at most {LONGEST}", "Take a shorter one.")
    for place, char in enumerate(text, 1):
        if unicodedata.category(char) in ("Cf", "Co"):
            return Odd(f"{_called(char)} as character {place}", "characters that can be seen", "Leave it out.")
    if odd := odd_name(text):
        return odd
    plain = unicodedata.normalize("NFKC", text)
    if plain != unicodedata.normalize("NFC", text):
        return Odd("a wide, raised or no-break character", "plain letters and digits", f"Write {plain}.")
    scripts = [s for s in _SCRIPTS if any(unicodedata.name(c, "").startswith(s) for c in text if c.isalpha())]
    if len(scripts) > 1:
        found = " and ".join(s.capitalize() for s in scripts)
        return Odd(f"{found} letters together", "letters of one script", "Some look alike: type it anew.")
    return None


def _called(char: str) -> str:
    name = unicodedata.name(char, "")
    return f"U+{ord(char):04X}" + (f" ({name.lower()})" if name else "")
