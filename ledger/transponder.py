"""Transponder numbers of ISO 11784: fifteen digits, of a country or of a maker.

A number is a code of three digits and an identification of twelve, which has 38 bits on the chip
(bits 27 to 64; the code has ten). Sources: bit layout, read in ICAR's presentation of the second edition,
1996; zeros between the code and a short identification, read in a published definition of "national
identification code"; 000 and 999 as misuse, read in ICAR's misuse list. From memory (high): 900 to 998 are
makers' codes, 900 is shared among makers, and the printed number has no check digit.
"""

from __future__ import annotations

from typing import Final, Literal, NamedTuple

Issuer = Literal["country", "maker", "shared", "test"]

DIGITS: Final = 15
HIGHEST_ID: Final = 2**38 - 1  # 274 877 906 943
SHARED: Final = 900  # one code for several makers: the same number on two animals does occur
TEST: Final = 999

# ISO 3166-1 numeric codes in use, 249 of them, compared with the package pycountry; withdrawn codes are left out
COUNTRIES: Final = frozenset(
    map(
        int,
        (
            "4 8 10 12 16 20 24 28 31 32 36 40 44 48 50 51 52 56 60 64 68 70 72 74 76 84 86 90 92 96 "
            "100 104 108 112 116 120 124 132 136 140 144 148 152 156 158 162 166 170 174 175 178 180 184 188 191 192 "
            "196 203 204 208 212 214 218 222 226 231 232 233 234 238 239 242 246 248 250 254 258 260 262 266 268 270 "
            "275 276 288 292 296 300 304 308 312 316 320 324 328 332 334 336 340 344 348 352 356 360 364 368 372 376 "
            "380 384 388 392 398 400 404 408 410 414 417 418 422 426 428 430 434 438 440 442 446 450 454 458 462 466 "
            "470 474 478 480 484 492 496 498 499 500 504 508 512 516 520 524 528 531 533 534 535 540 548 554 558 562 "
            "566 570 574 578 580 581 583 584 585 586 591 598 600 604 608 612 616 620 624 626 630 634 638 642 643 646 "
            "652 654 659 660 662 663 666 670 674 678 682 686 688 690 694 702 703 704 705 706 710 716 724 728 729 732 "
            "740 744 748 752 756 760 762 764 768 772 776 780 784 788 792 795 796 798 800 804 807 818 826 831 832 833 "
            "834 840 850 854 858 860 862 876 882 887 894"
        ).split(),
    )
)


class Trouble(NamedTuple):
    """What is the matter with a number, in the words of a finding."""

    found: str
    expected: str
    way_out: str


class Transponder(NamedTuple):
    """A number as read: `number` is its digits alone, the form in which two numbers are compared.

    `issuer` is None where the number is `refused`. `warned` is a doubt that does not stop the entry.
    """

    number: str
    issuer: Issuer | None
    refused: Trouble | None = None
    warned: Trouble | None = None


def read(text: str) -> Transponder:
    """Check a transponder number; spaces, dots and hyphens between its digits are left out.

    Refused: other than fifteen digits, a code that is neither a country's nor a maker's (000 included), an
    identification above 38 bits. Warned: code 999, set aside for tests.
    """
    number = text.translate(str.maketrans("", "", " .-\u00a0\u202f"))
    if not (number.isascii() and number.isdigit()):
        return _refused(number, f"{text!r} has signs that are no digits", "Read the tag again, or use another scheme.")
    if len(number) != DIGITS:
        way_out = "A short identification is filled with zeros after the code of three digits."
        return _refused(number, f"{text!r} has {len(number)} digits", way_out)
    code, identification = int(number[:3]), int(number[3:])
    issuer = _issuer(code)
    if issuer is None:
        what = f"{number[:3]} is no code of a country or of a maker"
        return _refused(number, what, "Read the tag again; the first three digits say who issued it.")
    if identification > HIGHEST_ID:
        what = f"the identification {number[3:]} is above {HIGHEST_ID}, the highest that a chip can hold"
        return _refused(number, what, "Read the tag again.")
    doubt = Trouble(
        f"{number} bears the code {TEST}, set aside for tests",
        "the code of a country or of a maker",
        "Read the tag again; if it does say so, such a number may well be on other animals.",
    )
    return Transponder(number, issuer, warned=doubt if issuer == "test" else None)


def _issuer(code: int) -> Issuer | None:
    if code == TEST:
        return "test"
    if code == SHARED:
        return "shared"
    if code > SHARED:
        return "maker"
    return "country" if code in COUNTRIES else None


def _refused(number: str, found: str, way_out: str) -> Transponder:
    expected = f"{DIGITS} digits: a country's code or a maker's (900 to 998), then twelve"
    return Transponder(number, None, refused=Trouble(found, expected, way_out))
