"""Words that stand in stored bytes and in journal lines for ever, and the closed lists of the trade.

Nothing here is ever renamed or removed; new words are added once, in snake_case.
"""

from __future__ import annotations

from typing import Final

RULES: Final = 1
ENVELOPE: Final = 1

# --- sex -----------------------------------------------------------------------------------
SEX_OF: Final = {"m": "male", "f": "female", "h": "hermaphrodite", "u": "unknown"}
LETTER_OF: Final = {word: letter for letter, word in SEX_OF.items()}
SEXES: Final = tuple(SEX_OF.values())

# --- standing ------------------------------------------------------------------------------
STANDINGS: Final = (
    "collection",
    "held_for_another",
    "rehabilitation",
    "feeder",
    "study",
    "on_trial",
)

# --- places that are accounts, besides ids of enclosures (e-) and parties (o-) --------------
SOURCES: Final = ("born", "propagated", "wild", "brought_forward")
SINKS: Final = ("dead", "released", "fed_out", "unaccounted")
LOST: Final = ("escaped", "missing")
REDETERMINED: Final = "redetermined"
PASSED: Final = "passed"
IN_TRANSIT: Final = "in_transit"
ACCOUNTS: Final = (*SOURCES, *SINKS, *LOST, REDETERMINED, PASSED, IN_TRANSIT)

# --- reasons of a line -----------------------------------------------------------------------
REASONS: Final = (
    "brought_forward",
    "hatched",
    "born",
    "propagated",
    "acquired",
    "transfer_in",
    "transfer_out",
    "title_in",
    "title_out",
    "recovered",
    "died",
    "released",
    "escaped",
    "missing",
    "fed_out",
    "count_unaccounted",
    "count_deaths_unseen",
    "count_estimate",
    "count_young_unseen",
    "sexed",
    "sex_changed",
    "re_sexed",
    "redetermined",
    "re_housed",
    "passed_in",
    "passed_out",
    "standing_changed",
)

# --- reasons of a superseding event -----------------------------------------------------------
CORRECTION_REASONS: Final = ("mistake", "slip", "learnt", "merged_records")

# --- ids: prefix of each sort of thing ----------------------------------------------------------
PREFIX: Final = {
    "animal": "a-",
    "lot": "g-",
    "enclosure": "e-",
    "taxon": "t-",
    "house": "h-",
    "party": "o-",
    "person": "p-",
    "brood": "b-",
    "unit": "u-",
    "permit": "m-",
    "agreement": "c-",
    "filing": "f-",
}
CROCKFORD: Final = "0123456789abcdefghjkmnpqrstvwxyz"

# --- terms of a transfer ------------------------------------------------------------------------
TERMS: Final = (
    "sale",
    "donation",
    "exchange",
    "loan",
    "loan_return",
    "breeding_loan",
    "breeding_loan_return",
    "held_for_another",
    "held_for_another_return",
    "delivery_after_title_passed",
    "return_to_owner",
)
TITLE_TERMS: Final = ("sale", "donation", "exchange", "bequest", "other")

# --- CITES, Resolution Conf. 12.3 (Rev. CoP18), adapted on the Convention's site (read there) ---
# Purpose codes. Source codes W X R U from memory (high), D A C F I and the rule for O read in
# 50 CFR 23.24; A and Y are for plants and no use for animals.
CITES_PURPOSE: Final = {
    "T": "commercial",
    "Z": "zoo",
    "G": "botanical garden",
    "Q": "circus or travelling exhibition",
    "S": "scientific",
    "H": "hunting trophy",
    "P": "personal",
    "M": "medical, biomedical research included",
    "E": "educational",
    "N": "reintroduction or introduction into the wild",
    "B": "breeding in captivity or artificial propagation",
    "L": "law enforcement, judicial or forensic",
}
CITES_SOURCE: Final = {
    "W": "taken from the wild",
    "X": "taken in the marine environment not under the jurisdiction of any State",
    "R": "ranched",
    "D": "Appendix I, bred in captivity for commercial purposes at a registered operation",
    "C": "bred in captivity",
    "F": "born in captivity, not meeting the definition of C",
    "U": "source unknown",
    "I": "confiscated or seized",
}
CITES_PLANTS_ONLY: Final = ("A", "Y")

PURPOSES: Final = ("exhibit", "reserve", "nursery", "quarantine", "holding", "off_site")
ACQUISITION_MANNERS: Final = (
    "wild_collection",
    "stranding",
    "rescue",
    "seizure",
    "found",
    "natural_settlement",
)
