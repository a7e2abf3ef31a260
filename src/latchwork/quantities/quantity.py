"""A quantity: one number in SI units, the range it may lie in, and how it is known."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.quantities.certainty import Certainty


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in SI units with ``low <= value <= high``, in the unit whose symbol is ``unit``.

    Temperatures are in °C and battery charge in Ah, as the trade counts them. ``text`` is the
    quantity as it was written.
    """

    value: float
    low: float
    high: float
    unit: str
    certainty: Certainty = Certainty.DATA_SHEET
    text: str = ""

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"quantity out of order: {self.low} <= {self.value} <= {self.high}")


class QuantityError(ValueError):
    """A text that is not the quantity wanted.

    ``code`` names what is wrong, ``found`` is the text as written, ``expected`` says in plain
    words, with an example, what would be taken.
    """

    def __init__(self, code: str, found: str, expected: str) -> None:
        super().__init__(f"found {found!r}, expected {expected}")
        self.code = code
        self.found = found
        self.expected = expected
