"""What stands across a coil, which way round, and for how long it is energised."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import DoorOutcome, Event, Group, LockOutcome, Mode, Power
from latchwork.behaviour.situations import HELD_S, by_key
from latchwork.elements import Diode
from latchwork.findings import Finding, Severity
from latchwork.plan import PlannedDoor
from latchwork.rules.rule import Rule
from latchwork.rules.view import View, energised

ACROSS = ("diode", "varistor")
GONE = ("missing", "diode open")
"""States of a diode or varistor that take up nothing any more."""
SHORT_S = 60.0
"""A coil for short duty of which no more is said is not for more than a minute (common practice,
no source)."""


def polarity(view: View) -> Iterator[Finding]:
    """A device with a plus and a minus, fed the wrong way round; or a source across another."""
    for group in view.site.groups:
        for source in sorted(view.crossed(group)):
            yield Finding("polarity", source, Severity.FAILS, "", {}, "part")
        for device in dict.fromkeys(e.device for e in group.things.elements):
            if device in view.plan.supplies or view.part(device).kind == "diode":
                continue
            if view.reversed_feed(device):
                yield Finding("polarity", device, Severity.FAILS, "", {}, "part")


def suppression(view: View) -> Iterator[Finding]:
    """A coil whose kick nothing takes up, or a diode that is the wrong way round or forbidden."""
    for door, nominal in view.doors():
        group = view.site.group_of(door.id)
        if group is None:
            continue
        for lock in nominal.locks:
            yield from _across(view, door, group, lock.device)


def _across(view: View, door: PlannedDoor, group: Group, lock: str) -> Iterator[Finding]:
    part = view.part(lock)
    needs = part.facts.get("suppression")
    a, b = (view.node(f"{lock}.{t.name}") for t in part.terminals[:2])
    alternating = view.alternating(a)
    controller = door.devices.get("controller", "")
    swapped = bool(controller) and view.reversed_feed(controller)
    good = 0
    for slot in ACROSS:
        device = door.devices.get(slot)
        if device is None:
            continue
        ends = {view.node(f"{device}.{t.name}") for t in view.part(device).terminals}
        if ends != {a, b} or _gone(view, device):
            continue
        if slot == "diode" and view.part(device).kind == "diode":
            if alternating or needs == "forbidden":
                yield Finding("suppression-forbidden", device, Severity.FAILS, "", {}, "practice")
                continue
            if _conducts(view, group, device):
                if swapped:
                    # All behind a swapped feed is the wrong way round: that is told.
                    continue
                yield Finding("suppression-reversed", device, Severity.FAILS, "", {}, "practice")
                continue
        good += 1
    if needs == "needed" and not good and not alternating:
        # A diode that was planned and does nothing is a mistake; none written is a question.
        planned = any(slot in door.devices for slot in ACROSS)
        told = any(_wrong(view, group, door.devices[s]) for s in ACROSS if s in door.devices)
        if not told:
            severity = Severity.WEAK if planned and lock == door.devices.get("lock") else None
            yield Finding(
                "suppression-missing", lock, severity or Severity.NOTE, "", {}, "practice"
            )


def _gone(view: View, device: str) -> bool:
    return any(s.device == device and s.state in GONE for s in view.site.wiring.states)


def _conducts(view: View, group: Group, device: str) -> bool:
    """Whether the device's diode points from the feed's plus to its minus."""
    return any(
        isinstance(e.what, Diode) and view.forward(group, e.a, e.b)
        for e in group.things.elements
        if e.device == device
    )


def _wrong(view: View, group: Group, device: str) -> bool:
    return not _gone(view, device) and _conducts(view, group, device)


def duty(view: View) -> Iterator[Finding]:
    """A coil for short duty that is energised for longer."""
    for door, nominal in view.doors():
        for lock in nominal.locks:
            part = view.part(lock.device)
            if part.facts.get("duty") != "short":
                continue
            said = part.figures.get("duty_s")
            most_s = said.value if said is not None else SHORT_S
            found = _energised_s(view, door, nominal, lock)
            if found is None or found[0] <= most_s:
                continue
            seconds, situation = found
            yield Finding(
                "duty",
                lock.device,
                Severity.FAILS,
                situation,
                {"energised_s": seconds, "most_s": most_s},
                "part",
            )


def _energised_s(
    view: View, door: PlannedDoor, outcome: DoorOutcome, lock: LockOutcome
) -> tuple[float, str] | None:
    """How long the coil is energised at a stretch, at least, and when; None: never for long."""
    is_on = energised(lock)
    found: tuple[float, str] | None = None
    relay = view.device(door, "controller")
    relay_s = relay.part.figures.get("relay_s") if relay is not None else None
    for event in (Event.CREDENTIAL, Event.NOBODY):
        if event is Event.CREDENTIAL and by_key(view.plan, door.id):
            # Nobody holds a key turned for as long as a situation is held.
            continue
        column = outcome.at(Power.MAINS, Mode.NORMAL, event)
        if column is None or not is_on[column, 0]:
            continue
        key = outcome.situations[column].key
        if is_on[column, 1]:
            found = max(found or (0.0, ""), (max(HELD_S, relay_s.value if relay_s else 0.0), key))
        elif relay_s is not None:
            found = max(found or (0.0, ""), (relay_s.value, key))
    column = outcome.at(Power.MAINS, Mode.TIMED_UNLOCK, Event.NOBODY)
    if door.door.facts.get("held unlocked") is True and column is not None and is_on[column, 1]:
        found = max(found or (0.0, ""), (3600.0, outcome.situations[column].key))
    return found


RULES: tuple[Rule, ...] = (
    Rule(("polarity",), "part", polarity),
    Rule(
        ("suppression-missing", "suppression-reversed", "suppression-forbidden"),
        "practice",
        suppression,
    ),
    Rule(("duty",), "part", duty),
)
