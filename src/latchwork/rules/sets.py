"""Rule sets: which figures each asks, with source, edition and how they are known.

A figure that nobody has looked up in the book is never a limit: it is told as one to be looked
up. Editions change; the authority says which is adopted.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from latchwork.quantities import FOOT_M, INCH_M


class Known(StrEnum):
    """How a published figure is known here."""

    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    UNSURE = "to be looked up"


@dataclass(frozen=True, slots=True)
class Limit:
    """One figure of a rule set: the least and the most allowed, None where there is no such end.

    ``source`` is a source code of the words. SI units, or a plain number.
    """

    least: float | None
    most: float | None
    source: str
    known: Known

    @property
    def usable(self) -> bool:
        """Whether it may be held against anybody."""
        return self.known is not Known.UNSURE

    def broken_by(self, low: float, high: float) -> float | None:
        """The end of the limit that a range of values surely breaks, or None."""
        if not self.usable:
            return None
        if self.least is not None and high < self.least:
            return self.least
        if self.most is not None and low > self.most:
            return self.most
        return None


@dataclass(frozen=True, slots=True)
class Limits:
    """The figures of one rule set; None: it asks nothing of the kind."""

    release_height_m: Limit | None = None
    release_distance_m: Limit | None = None
    release_hold_s: Limit | None = None
    release_sign: tuple[str, str] | None = None
    """The words of the sign, and the source."""
    release_poles: Limit | None = None
    closer_s: Limit | None = None
    opening_n: Limit | None = None
    sensor_loses_power: str | None = None
    """Source of "a sensor without power unlocks"."""
    relock_by_hand: str | None = None
    """Source of "stays unlocked until somebody has reset the alarm by hand"."""
    categories: bool = False
    """Whether doors have a category that says how their fire release fails."""
    standby_h: Limit | None = None


GENERAL = Limits(release_poles=Limit(2.0, None, "practice", Known.PRACTICE))

US_MODEL_CODES = Limits(
    release_height_m=Limit(40 * INCH_M, 48 * INCH_M, "us-egress", Known.MEMORY),
    release_distance_m=Limit(None, 5 * FOOT_M, "us-egress", Known.MEMORY),
    release_hold_s=Limit(30.0, None, "us-egress", Known.MEMORY),
    release_sign=("PUSH TO EXIT", "us-egress"),
    closer_s=Limit(5.0, None, "ada", Known.MEMORY),
    opening_n=Limit(None, 22.2, "ada", Known.MEMORY),
    sensor_loses_power="us-egress",
    relock_by_hand="us-egress",
    standby_h=Limit(4.0, None, "ul-294", Known.UNSURE),
)

UK_AND_EUROPE = Limits(
    release_height_m=Limit(None, 1.4, "bs-7273-4", Known.UNSURE),
    release_poles=Limit(2.0, None, "practice", Known.PRACTICE),
    categories=True,
    standby_h=Limit(2.0, None, "iec-60839", Known.UNSURE),
)

_SETS = {"general": GENERAL, "US model codes": US_MODEL_CODES, "UK and Europe": UK_AND_EUROPE}


def limits_of(rule_set: str) -> Limits:
    """The figures of a rule set by its name in the job."""
    return _SETS[rule_set]
