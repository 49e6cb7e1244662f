"""An animal, or animals of a lot, were measured.

What happened
    Length, height, mass, tissue area, life stage or colour was taken.

When it counts
    It counts nothing; it is shown at its day.

What it changes
    No figure. Growth and ages at a size are read from it.

What it does not mean
    A finding of sex or taxon, nor a treatment: those have their own entries, or are kept elsewhere.

Example
    {"kind": "measurement", "occurred": "2024-10-09", "payload": {"animal": "MS-2024-0117", "measure": "length",
    "value": "142.5", "unit": "mm", "method": "standard length, from a photograph"}}
"""

from __future__ import annotations

from typing import ClassVar, Final, Literal, Self

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import Decimal, Positive, refuse
from ledger.kinds._subject import OneSubject
from ledger.kinds.base import Text, Word

NAME = "measurement"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")

_LENGTHS: Final = ("mm", "cm", "m")
UNITS: Final = {
    "length": _LENGTHS,
    "height": _LENGTHS,
    "mass": ("mg", "g", "kg", "t"),
    "tissue_area": ("mm2", "cm2", "m2"),
}


class Payload(OneSubject):
    """`value` is decimal text with its `unit`, or for life stage and colour a word.

    Of a lot: `n` animals were measured; their `mean`, the `least` and the `most`, in the unit.
    """

    measure: Literal["length", "height", "mass", "tissue_area", "life_stage", "colour"]
    value: Decimal | Word | None = None
    unit: Literal["mm", "cm", "m", "mg", "g", "kg", "t", "mm2", "cm2", "m2"] | None = None
    method: Word | None = None
    n: Positive | None = None
    mean: Decimal | None = None
    least: Decimal | None = None
    most: Decimal | None = None
    note: Text | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _fits(self) -> Self:
        units = UNITS.get(self.measure, ())
        if (self.unit or "") not in (units or ("",)):
            wanted = f"one of {', '.join(units)}" if units else "no unit"
            refuse("unit", f"{self.unit or 'no unit'} for a {self._called()}", wanted, "Mend the unit.")
        figures = (self.mean, self.least, self.most)
        if self.lot is None and (self.n is not None or any(figures)):
            refuse("n", "figures of many, for one animal", "one value", "Say value=….")
        if not units and any(figures):
            refuse("mean", f"a mean of a {self._called()}", "a word", "Say value=….")
        if self.value is None and not any(figures):
            wanted = "what was measured, in the unit" if units else "a word for it"
            refuse("value", "nothing that was measured", wanted, "Say value=…; of a lot mean, least or most with n.")
        if units and self.value is not None and not self._figure(self.value):
            refuse("value", repr(self.value), "a figure without its unit", "Write it as in 142.5.")
        self._in_order()
        return self

    def _called(self) -> str:
        return self.measure.replace("_", " ")

    @staticmethod
    def _figure(text: str) -> bool:
        return text.removeprefix("-").replace(".", "", 1).isdecimal()

    def _in_order(self) -> None:
        """Nothing is below nothing; the least, the mean, the most."""
        told = [float(x) for x in (self.least, self.mean, self.most) if x is not None]
        if UNITS.get(self.measure) and min([*told, float(self.value or 0)]) < 0:
            refuse("value", "less than nothing", "a figure from 0 on", "Mend the figure.")
        if told != sorted(told):
            refuse("mean", "figures out of order", "least, mean and most, each not below the one before", "Mend them.")


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
