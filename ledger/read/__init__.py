"""The reading side: the only place that knows DuckDB. SQL in `sql/*.sql`, polars frames out.

Every question takes an `AsOf`: the day it asks about and the log position as known at which it is answered.
"""

from __future__ import annotations

from ledger.read.copy import AsOf, Copy, Correction, Proof, Standing, Written
from ledger.read.names import Names, Thing
from ledger.read.positions import NotAPosition, position_of
from ledger.read.rows import Store
from ledger.read.view import View, view

__all__ = [
    "AsOf",
    "Copy",
    "Correction",
    "Names",
    "NotAPosition",
    "Proof",
    "Standing",
    "Store",
    "Thing",
    "View",
    "Written",
    "position_of",
    "view",
]
