"""What a door does in a fire: its own words, the latch of a fire-rated door, the alarm's reset."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from latchwork.behaviour import DoorOutcome, DoorState, Event, LockOutcome, LockState, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.job.model import Locking, OutBy, fire_rated
from latchwork.parts import Part
from latchwork.plan import PlannedDoor
from latchwork.rules.promises import ON_BATTERY, UNSURE, differs
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

ALARMS = (Mode.FIRE_ALARM, Mode.PANEL_LOST)
UNLOCKS = "fire-alarm-unlocks"
HELD = ("fire-alarm-stays-locked", "fire-alarm-keeps-in")
"""What a fire contact is there to prevent."""
BY_CURRENT = ("by current", "latch")
"""What a finding says of a lock that no broken feed frees."""
LATCHING = ("strike", "motor", "bolt")
"""Kinds of lock that hold a door shut in a fire (common practice, no source)."""


def fire(view: View) -> Iterator[Finding]:
    """In a fire alarm, or with the panel lost: not as the door's words ask.

    What goes wrong in both is one mistake, and told once; so is a door that stands open without an
    alarm too, which is told as that.
    """
    for door, outcome in view.doors():
        told = {"fire-alarm-latch-free"} if _named(view, door, outcome) else set()
        usual = view.state(door.id, Power.MAINS, Mode.NORMAL)
        for mode in ALARMS:
            state = view.state(door.id, Power.MAINS, mode)
            if state is None or (mode is Mode.PANEL_LOST and _indirect(view, door)):
                # Category C releases on alarm only.
                continue
            as_usual = usual is not None and _as_open(usual, state)
            for found in differs("fire-alarm", door, state, door.door.fire_alarm):
                if found.rule not in told and not (as_usual and found.rule == UNLOCKS):
                    told.add(found.rule)
                    figures = _to_do(view, door, outcome, mode) if found.rule in HELD else {}
                    yield replace(found, figures={**found.figures, **figures})


def _to_do(
    view: View, door: PlannedDoor, outcome: DoorOutcome, mode: Mode, power: Power = Power.MAINS
) -> dict[str, float | str]:
    """What a finding says of a lock that no broken feed frees, and where the door's fire contact is
    there, and stands ahead of a door on another supply too: it joins their pluses, and open, their
    locks feed each other."""
    column = outcome.at(power, mode, Event.NOBODY)
    held = [
        lock
        for lock in outcome.locks
        if column is not None and lock.state[column, 0] != LockState.UNLOCKED
    ]
    if held and not any(view.needs_power_to_lock(lock) for lock in held):
        latch = is_fire_rated(door) and any(lock.lever_frees for lock in held)
        return {"freed": "latch" if latch else "by current"}
    contact = view.device(door, "fire")
    using = [d for d in view.plan.doors.values() if contact and d.devices.get("fire") == contact.id]
    supplies = {d.door.supply.partition(".")[0] for d in using}
    return {"freed": "two supplies"} if len(supplies) > 1 else {}


def _indirect(view: View, door: PlannedDoor) -> bool:
    return view.limits.categories and door.door.facts.get("release category") == "C"


def ahead_of_battery(view: View) -> Iterator[Finding]:
    """A fire alarm that unlocks on mains and not on battery. Where none is fitted, what the door
    does without mains is what it does without power."""
    for door, outcome in view.doors():
        if door.door.fire_alarm.enter is not Locking.UNLOCKED or not view.battery_fitted(door.id):
            continue
        for mode in ALARMS:
            mains = view.state(door.id, Power.MAINS, mode)
            if mains is None or not _opens(mains):
                continue
            for power in ON_BATTERY:
                state = view.state(door.id, power, mode)
                if state is not None and not _opens(state):
                    freed = _to_do(view, door, outcome, mode, power)
                    by_current = freed.get("freed") in BY_CURRENT
                    figures: dict[str, float | str] = {
                        "how": state.stands_open.by,
                        "power": power.value,
                        "also": "by current" if by_current else "past",
                        **(freed if by_current else {}),
                    }
                    yield Finding(
                        "fire-ahead-of-battery",
                        door.id,
                        Severity.DANGER,
                        f"{power}/{mode}/{Event.NOBODY}",
                        figures,
                        "fire",
                    )
                    break
            else:
                continue
            break


def _opens(state: DoorState) -> bool:
    return state.stands_open.can and state.stands_open.by not in UNSURE


def _as_open(usual: DoorState, state: DoorState) -> bool:
    """Whether a door stands as open in one state as in another, be it that nobody can be sure."""
    return _opens(usual) or (usual.stands_open.can and usual.stands_open.by == state.stands_open.by)


def relocks(view: View) -> Iterator[Finding]:
    """A door that locks again while the alarm still sounds, or when nobody has reset it."""
    for door, outcome in view.doors():
        if door.door.fire_alarm.enter is not Locking.UNLOCKED:
            continue
        for mode in ALARMS:
            state = view.state(door.id, Power.MAINS, mode)
            if state is not None and state.stands_open.by == "for a time":
                yield Finding(
                    "relocks-in-fire",
                    door.id,
                    Severity.DANGER,
                    f"{Power.MAINS}/{mode}/{Event.NOBODY}",
                    {"mode": mode.value, **view.freed(outcome.locks)},
                    "fire",
                )
                break
        yield from _after_reset(view, door)


def _after_reset(view: View, door: PlannedDoor) -> Iterator[Finding]:
    """The panel's contact returns by itself, and the door locks with it."""
    alarm = view.state(door.id, Power.MAINS, Mode.FIRE_ALARM)
    after = view.state(door.id, Power.MAINS, Mode.FIRE_RESET)
    if alarm is None or after is None or not _opens(alarm) or after.stands_open.can:
        return
    if view.plan.job.site.facts.get("fire contact resets") != "by itself":
        return
    asked = view.limits.relock_by_hand
    yield Finding(
        "relocks-by-itself",
        door.id,
        Severity.NOTE if asked is None else Severity.WEAK,
        f"{Power.MAINS}/{Mode.FIRE_RESET}/{Event.NOBODY}",
        {},
        asked or "practice",
    )


def latch_thrown(view: View) -> Iterator[Finding]:
    """A fire-rated door must keep a latch thrown: no strike without power, none energised, no
    magnet alone, nor a bolt that current throws."""
    for door, outcome in view.doors():
        if not is_fire_rated(door):
            continue
        yield from _named(view, door, outcome)
        for lock in outcome.locks:
            yield from _listed(view, door, lock)


def is_fire_rated(door: PlannedDoor) -> bool:
    """Whether the door is to hold back fire."""
    return fire_rated(door.door.facts)


def fire_leaf(view: View) -> Iterator[Finding]:
    """A fire-rated door that was found without its label, or that nothing pulls shut.

    One that nobody leaves by, as a riser's, may be kept locked shut instead.
    """
    for door, _ in view.doors():
        if not is_fire_rated(door):
            continue
        if door.door.facts.get("fire label") is False:
            yield Finding("fire-door-unlabelled", door.id, Severity.WEAK, "", {}, "fire-leaf")
        if door.door.facts.get("closer") is False:
            severity = Severity.DANGER if door.door.people_leave else Severity.WEAK
            yield Finding("fire-door-no-closer", door.id, severity, "", {}, "fire-leaf")


def _named(view: View, door: PlannedDoor, outcome: DoorOutcome) -> list[Finding]:
    """The causes of a free latch that have a name of their own."""
    if not is_fire_rated(door):
        return []
    out = []
    figures: dict[str, float | str] = {"freed": "inward"} if door.door.escapes_inward else {}
    for lock in outcome.locks:
        kind = view.part(lock.device).kind
        if kind == "strike" and not lock.unlocks_energised:
            out.append(
                Finding("fire-door-fail-safe", lock.device, Severity.DANGER, "", figures, "latch")
            )
        elif lock.unlocks_energised and lock.lever_frees:
            part = view.part(lock.device)
            found = (f for mode in ALARMS for f in _energised(door, outcome, lock, mode, part))
            out += [f for f in (next(found, None),) if f is not None]
    let_go = [k for k in outcome.locks if not (k.lever_frees or k.unlocks_energised)]
    if len(let_go) == len(outcome.locks) and door.door.out_by is OutBy.NOTHING:
        unknown = f"doors.{door.id}.out by" in door.door.unknown
        out.append(
            Finding(
                "fire-door-magnet-alone",
                let_go[0].device,
                Severity.NOTE if unknown else Severity.DANGER,
                "",
                {},
                "latch",
                (f"doors.{door.id}.out by",) if unknown else (),
            )
        )
    return out


def _energised(
    door: PlannedDoor, outcome: DoorOutcome, lock: LockOutcome, mode: Mode, part: Part
) -> Iterator[Finding]:
    """A lock that is drawn back in an alarm: with nobody about, or where the clock holds it
    unlocked by what a grant draws too, as nothing takes that away. A motor's bolt is thrown by its
    IN alone, and not without power."""
    motor = part.kind == "motor"
    timed = outcome.at(Power.MAINS, Mode.TIMED_UNLOCK, Event.NOBODY)
    by_clock = (
        door.door.facts.get("held unlocked") is True
        and timed is not None
        and lock.state[timed, 1] == LockState.UNLOCKED
    )
    stays_v = part.figures["surely_hold_v"].value if part.facts.get("stays_put") is True else 0.0
    for event, moment, also in ((Event.NOBODY, 1, "drawn"), (Event.CREDENTIAL, 0, "held")):
        column = outcome.at(Power.MAINS, mode, event)
        if column is None or (event is Event.CREDENTIAL and not by_clock):
            continue
        volts_v = float(lock.volts[column, moment])
        left = by_clock and volts_v < stays_v
        if left or lock.state[column, moment] == LockState.UNLOCKED:
            why = "left" if left else also
            freed = ("" if why == "drawn" else "held") + (" motor" if motor else "")
            figures: dict[str, float | str] = {"volts_v": volts_v, "mode": mode.value, "also": why}
            figures |= {"freed": freed.strip()} if freed else {}
            key = outcome.situations[column].key
            yield Finding(
                "fire-door-energised", lock.device, Severity.DANGER, key, figures, "latch"
            )
            return


def _listed(view: View, door: PlannedDoor, lock: LockOutcome) -> Iterator[Finding]:
    """A lock whose bolt keeps the leaf shut that is not listed for fire-rated doors: said so, or
    not said."""
    part = view.part(lock.device)
    if part.kind not in LATCHING or part.facts.get("fire_listed") is True:
        return
    slot = view.plan.devices[lock.device].slot
    use = door.door.devices.get(slot)
    said = use is not None and "fire listed" in use.settings
    yield Finding(
        "fire-door-unlisted", lock.device, Severity.WEAK if said else Severity.NOTE, "", {}, "latch"
    )


RULES: tuple[Rule, ...] = (
    Rule(
        (
            UNLOCKS,
            "fire-alarm-stays-locked",
            "fire-alarm-keeps-in",
            "fire-alarm-latch-free",
            "one-leaf-only",
        ),
        "asked",
        fire,
        Uses.FEED,
    ),
    Rule(("fire-ahead-of-battery",), "fire", ahead_of_battery),
    Rule(("relocks-in-fire", "relocks-by-itself"), "fire", relocks),
    Rule(
        (
            "fire-door-fail-safe",
            "fire-door-energised",
            "fire-door-magnet-alone",
            "fire-door-unlisted",
        ),
        "latch",
        latch_thrown,
    ),
    Rule(("fire-door-unlabelled", "fire-door-no-closer"), "fire-leaf", fire_leaf),
)
