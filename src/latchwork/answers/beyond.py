"""What a door does that is beyond the model, and which answers that leaves open."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from latchwork.wiring.interlocks import beyond_model
from latchwork.words import say

if TYPE_CHECKING:
    from latchwork.behaviour import Event
    from latchwork.wiring import Wiring

BEYOND = "beyond the model"
NOT_ANSWERED = {
    "delayed egress": ("leave", "leave_unit_dead"),
    "interlock": ("leave", "leave_unit_dead", "enter_with"),
    "anti-passback": ("enter_with",),
}
"""Which of a door's questions what is beyond the model leaves without an answer."""


class Beyond(msgspec.Struct, frozen=True):
    """``what`` a door does beyond the model, the questions of ``check`` that get no answer by it,
    and that in words."""

    what: tuple[str, ...]
    not_answered: tuple[str, ...]
    text: str


def beyond(wiring: Wiring, door: str) -> Beyond | None:
    """What a door does beyond the model, as the rule of that name finds it; None for nothing."""
    what = beyond_model(wiring, door)
    if not what:
        return None
    asked = tuple(dict.fromkeys(question for w in what for question in NOT_ANSWERED[w]))
    ways = [way for way, asks in (("in", "enter_with"), ("out", "leave")) if asks in asked]
    named = ", ".join(what)
    told = {"what": named[:1].upper() + named[1:]}
    return Beyond(what, asked, say(f"beyond.{' '.join(ways)}", told))


def not_tried(wiring: Wiring, door: str) -> frozenset[Event]:
    """What somebody may do at a door of which the model does not say what comes."""
    # Those who set sheets read of the above, and read nothing that solves.
    from latchwork.behaviour import Event

    asks = {"leave": Event.EXIT, "leave_unit_dead": Event.DEAD, "enter_with": Event.CREDENTIAL}
    its = beyond(wiring, door)
    return frozenset(asks[question] for question in its.not_answered) if its else frozenset()
