"""What a door must do when the power is lost, and in a fire alarm."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from latchwork.job.fields import Field, read_table, table, table_schema
from latchwork.job.model import Duty, Locking, OutBy
from latchwork.job.notes import Place
from latchwork.job.values import Choice, Schema
from latchwork.tree.nodes import Node, Scalar


class Short(StrEnum):
    """The short forms, for a door with one lock whose two sides do the same."""

    UNLOCKS = "unlocks"
    STAYS_LOCKED = "stays locked"


_SHORT = Choice({short.value: short for short in Short})
_SIDE = Choice({"locked": Locking.LOCKED, "unlocked": Locking.UNLOCKED})
_LATCH = Choice({"stays": True, "may release": False})
_LONG = table(
    Field("enter", _SIDE, "For the one coming in.", "locked"),
    Field("leave", _SIDE, "For the one going out.", "unlocked"),
    Field("latch", _LATCH, "Whether the latch must stay thrown.", "stays"),
)


@dataclass(frozen=True, slots=True)
class DutyKind:
    """A short form, or a table with ``enter``, ``leave`` and ``latch``."""

    def read(self, node: Node, place: Place) -> Short | Duty | None:
        if isinstance(node, Scalar):
            short: Short | None = _SHORT.read(node, place)
            return short
        values = read_table(node, _LONG, place)
        return Duty(values.get("enter"), values.get("leave"), values.get("latch"))

    def schema(self) -> Schema:
        return {"anyOf": [_SHORT.schema(), table_schema(_LONG)]}


def duty(said: Short | Duty | None, out_by: OutBy, *, latch_must_hold: bool) -> Duty:
    """What was said, in full.

    "stays locked" asks nothing of the way out except where a lever or bar is there to give it.
    With ``latch_must_hold`` (a fire-rated door in a fire) the latch stays thrown whatever was
    said: "unlocks" then means that people leave, by the lever or bar, and asks nothing of the
    one coming in.
    """
    mechanical = out_by is not OutBy.NOTHING
    match said:
        case Short.UNLOCKS if latch_must_hold:
            return Duty(None, Locking.UNLOCKED, True)
        case Short.UNLOCKS:
            return Duty(Locking.UNLOCKED, Locking.UNLOCKED, None)
        case Short.STAYS_LOCKED:
            leave = Locking.UNLOCKED if mechanical else None
            return Duty(Locking.LOCKED, leave, True if latch_must_hold else None)
        case Duty(enter=enter, leave=leave, latch_stays=None) if latch_must_hold:
            return Duty(enter, leave, True)
        case Duty():
            return said
        case None:
            return Duty(latch_stays=True) if latch_must_hold else Duty()
