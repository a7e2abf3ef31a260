"""A figure: a value with its spread, where it comes from and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.quantities.certainty import Certainty


@dataclass(frozen=True, slots=True)
class Figure:
    """One number in SI units with the range it may lie in.

    ``low <= value <= high``. The unit is in the name of the field that holds the figure.
    """

    value: float
    low: float
    high: float
    source: str = "common practice, no source"
    certainty: Certainty = Certainty.CATALOGUE
    condition: str = ""

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"figure out of order: {self.low} <= {self.value} <= {self.high}")


def exactly(value: float, source: str = "common practice, no source") -> Figure:
    """A figure without spread."""
    return Figure(value, value, value, source)
