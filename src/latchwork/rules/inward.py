"""Which way people go through a door: whoever escapes inward has no card, code or key; a bar is
pushed."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import DoorState, Event, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.job.model import OutBy
from latchwork.rules.fire import is_fire_rated
from latchwork.rules.promises import UNSURE
from latchwork.rules.rule import Rule
from latchwork.rules.view import View

USUAL = (Power.MAINS, Mode.NORMAL)
ASKED = (
    USUAL,
    (Power.MAINS, Mode.FIRE_ALARM),
    (Power.MAINS, Mode.PANEL_LOST),
    (Power.ALL_LOST, Mode.NORMAL),
)
"""In which powers and modes they must get through."""


def escape_inward(view: View) -> Iterator[Finding]:
    """A door that people escape inward by and that is locked for them: neither does it give way,
    nor is there a release within their reach that frees it. Shut in an alarm or without power it is
    a danger; shut until then it is weak, as some rules let a lobby wait for its alarm."""
    for door, outcome in view.doors():
        if not door.door.escapes_inward:
            continue
        states = {(s.power, s.mode): s for s in reversed(view.site.states[door.id])}
        shut = [key for key in ASKED if key in states and not _gets_through(states[key])]
        if shut:
            grave = [key for key in shut if key != USUAL]
            power, mode = (grave or shut)[0]
            latch = grave and is_fire_rated(door) and any(k.lever_frees for k in outcome.locks)
            current = view.freed(outcome.locks) if grave else {}
            yield Finding(
                "escape-inward",
                door.id,
                Severity.DANGER if grave else Severity.WEAK,
                f"{power}/{mode}/{Event.NOBODY}",
                {"freed": "latch"} if latch else current,
                "egress",
            )


def bar_to_pull(view: View) -> Iterator[Finding]:
    """A panic bar on a door that opens towards those who push it: a crowd holds it shut. Where
    people escape inward alone, the bar is on the side they come from."""
    for door, _ in view.doors():
        pushed = door.door.out_by is OutBy.PANIC_BAR or view.has(door, "bar")
        leaves = door.door.facts.get("escape direction") not in ("inward", "none")
        if pushed and leaves and door.door.facts.get("swing") == "inward":
            yield Finding("bar-to-pull", door.id, Severity.WEAK, "", {}, "bar-swing")


def _gets_through(state: DoorState) -> bool:
    """Whether the door surely lets people in who have no right to it."""
    way = state.enter_without_right
    return way.can and way.by not in UNSURE


RULES: tuple[Rule, ...] = (
    Rule(("escape-inward",), "egress", escape_inward),
    Rule(("bar-to-pull",), "bar-swing", bar_to_pull),
)
