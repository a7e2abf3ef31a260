"""What a door does, against what its own words ask of locking and entering.

Outcomes are judged, not habits. Source: the door's own words ("asked").
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from latchwork.behaviour import Case, DoorOutcome, DoorState, Event, LockState, Mode, Power
from latchwork.behaviour.outcomes import LOCK_SLOTS, missing_locks
from latchwork.behaviour.passing import leaf_each
from latchwork.behaviour.situations import KEY, Situation
from latchwork.findings import Finding, Severity
from latchwork.job.model import Duty, Locking
from latchwork.parts import lever_frees
from latchwork.plan import PlannedDoor
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.security import SITE
from latchwork.rules.view import View

LOST = (Power.ALL_LOST, Power.NO_BATTERY)
ON_BATTERY = (Power.BATTERY, Power.BATTERY_END)
ONE_LEAF = "one leaf only"
UNSURE = ("marginal", "chatter", "one leaf")


def not_locked(view: View) -> Iterator[Finding]:
    """On mains, nobody about, the door is not locked."""
    for door, outcome in view.doors():
        if leaf_each(view.plan, door.id) and missing_locks(outcome, view.plan):
            continue  # told as that
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state and state.stands_open.can and state.stands_open.by != "chatter":
            yield Finding(
                "not-locked",
                door.id,
                Severity.INSECURE,
                f"{Power.MAINS}/{Mode.NORMAL}/{Event.NOBODY}",
                {"how": state.stands_open.by},
                "asked",
            )


def lock_not_there(view: View) -> Iterator[Finding]:
    """A lock was found missing: the door holds nobody up, or one of its leaves does not; or the
    other lock on the leaf does alone what two are there for."""
    for door_id, by_case in view.site.outcomes.items():
        nominal = by_case.get(Case.NOMINAL)
        state = view.state(door_id, Power.MAINS, Mode.NORMAL)
        if nominal is None or state is None:
            continue
        for lock in missing_locks(nominal, view.plan):
            # On a fire-rated door the latch must stay thrown, and has nothing to stay thrown in.
            its = lever_frees(view.part(lock)) or state.stands_open.can
            latch = view.plan.doors[door_id].door.fire_alarm.latch_stays and not state.latch_holds
            how, severity, freed = "gone", Severity.INSECURE, "gone"
            if latch and its:
                how, severity = "gone latch", Severity.DANGER
            elif not state.stands_open.can:
                how, severity = _one_of_two(view, lock, nominal)
                freed = "gone of two"
            yield Finding(
                "not-locked",
                lock,
                severity,
                f"{Power.MAINS}/{Mode.NORMAL}/{Event.NOBODY}",
                {"how": how, "freed": freed},
                "asked",
            )


def lock_not_written(view: View) -> Iterator[Finding]:
    """A door with a controller, and no lock that it could work: a line was left out, or one too
    many stands there."""
    for door_id in view.site.outcomes:
        door = view.plan.doors[door_id]
        if view.has(door, "controller") and not any(view.has(door, s) for s in LOCK_SLOTS):
            yield Finding(
                "not-locked",
                door_id,
                Severity.INSECURE,
                f"{Power.MAINS}/{Mode.NORMAL}/{Event.NOBODY}",
                {"how": "unwritten", "freed": "unwritten"},
                "asked",
            )


def _one_of_two(view: View, gone: str, outcome: DoorOutcome) -> tuple[str, Severity]:
    """What a lock was there for that is missing beside another: to hold the door without power, or
    to help the other hold it (common practice, no source)."""
    stays = [not view.needs_power_to_lock(lock) for lock in outcome.locks]
    if view.part(gone).facts.get("energised") == "unlocks" and not any(stays):
        return "gone, no power", Severity.INSECURE
    return "gone of two", Severity.WEAK


def no_entry(view: View) -> Iterator[Finding]:
    """A right card or code does not open the door, or a key beside them."""
    for door, outcome in view.doors():
        yield from _no_entry_by_key(door, outcome)
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state is None or state.enter_with_right.can or not view.has(door, "controller"):
            continue
        column = outcome.at(Power.MAINS, Mode.NORMAL, Event.CREDENTIAL)
        if column is None or bool(outcome.chatter[column].any()):
            continue
        how = state.enter_with_right.by
        yield Finding(
            "no-entry",
            door.id,
            Severity.WEAK if how == ONE_LEAF else Severity.FAILS,
            f"{Power.MAINS}/{Mode.NORMAL}/{Event.CREDENTIAL}",
            {"how": how},
            "asked",
        )


def _no_entry_by_key(door: PlannedDoor, outcome: DoorOutcome) -> Iterator[Finding]:
    situation = Situation(Power.MAINS, Mode.NORMAL, Event.CREDENTIAL, KEY)
    column = outcome.column.get(situation)
    if column is None or not outcome.locks or bool(outcome.chatter[column].any()):
        return
    states = [lock.state[column, 0] for lock in outcome.locks]
    if any(state != LockState.UNLOCKED for state in states):
        unsure = all(state != LockState.LOCKED for state in states)
        figures = {"how": "marginal" if unsure else "nothing"}
        yield Finding("no-entry", door.id, Severity.FAILS, situation.key, figures, "asked")


def power_lost(view: View) -> Iterator[Finding]:
    """All power gone: not as the door's words ask. The same mistake is told once."""
    for door, _ in view.doors():
        told: set[str] = set()
        for power in LOST if view.battery_fitted(door.id) else (Power.ALL_LOST,):
            state = view.state(door.id, power, Mode.NORMAL)
            for found in differs("power-lost", door, state, door.door.power_lost) if state else ():
                if found.rule not in told:
                    told.add(found.rule)
                    yield found


def nobody_gets_in(view: View) -> Iterator[Finding]:
    """Without power every door stays locked, and of none does a key work from outside: nobody gets
    in to a dead supply, or to whoever is hurt. A door of which nothing is said may have a key."""
    keyless = []
    for door, _ in view.doors():
        state = view.state(door.id, Power.ALL_LOST, Mode.NORMAL)
        said = door.door.facts.get("key override")
        if state is None or state.stands_open.can or said not in ("none", "inside"):
            return
        keyless.append(door.id)
    if keyless and len(keyless) == len(view.plan.doors):
        figures: dict[str, float | str] = {"doors": ", ".join(keyless)}
        key = f"{Power.ALL_LOST}/{Mode.NORMAL}/{Event.CREDENTIAL}"
        yield Finding("nobody-gets-in", SITE, Severity.WEAK, key, figures, "practice")


def mains_lost(view: View) -> Iterator[Finding]:
    """On battery a door that has one no longer does what it does on mains. What comes alike of a
    fresh one and at its end is one mistake, and told once."""
    for door, _ in view.doors():
        mains = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if not view.battery_fitted(door.id) or mains is None or mains.stands_open.can:
            continue
        told: set[tuple[str, str]] = set()
        for power in ON_BATTERY:
            state = view.state(door.id, power, Mode.NORMAL)
            if state is None:
                continue
            ways = (state.stands_open.by, state.enter_with_right.by)
            if ways in told:
                continue
            told.add(ways)
            if state.stands_open.can:
                yield Finding(
                    "unlocks-on-battery",
                    door.id,
                    Severity.INSECURE,
                    f"{power}/{Mode.NORMAL}/{Event.NOBODY}",
                    {"how": state.stands_open.by, "power": power.value},
                    "asked",
                )
            elif mains.enter_with_right.can and not state.enter_with_right.can:
                yield Finding(
                    "no-entry",
                    door.id,
                    Severity.FAILS,
                    f"{power}/{Mode.NORMAL}/{Event.CREDENTIAL}",
                    {"how": state.enter_with_right.by},
                    "asked",
                )


def differs(rule: str, door: PlannedDoor, state: DoorState, duty: Duty) -> Iterator[Finding]:
    """Where a door in one power and mode does not do its duty; codes start with ``rule``."""
    situation = f"{state.power}/{state.mode}/{Event.NOBODY}"
    named = {"power": state.power.value, "mode": state.mode.value}
    enters = state.stands_open
    if duty.enter is Locking.LOCKED and enters.can:
        yield Finding(
            f"{rule}-unlocks", door.id, Severity.INSECURE, situation,
            {"how": enters.by, **named}, "asked",
        )  # fmt: skip
    if duty.enter is Locking.UNLOCKED and (not enters.can or enters.by in UNSURE):
        yield Finding(
            f"{rule}-stays-locked", door.id, Severity.DANGER, situation,
            {"how": enters.by, **named}, "asked",
        )  # fmt: skip
    if duty.leave is Locking.UNLOCKED and not state.leave.can and door.door.people_leave:
        found = Finding(
            f"{rule}-keeps-in", door.id, Severity.DANGER,
            f"{state.power}/{state.mode}/{Event.EXIT}", {"left": state.leave.by, **named}, "asked",
        )  # fmt: skip
        yield of_one_leaf(door, found)
    if duty.latch_stays and not state.latch_holds:
        yield Finding(
            f"{rule}-latch-free", door.id, Severity.DANGER, situation, dict(named), "latch"
        )


def of_one_leaf(door: PlannedDoor, finding: Finding) -> Finding:
    """``finding``, by a name of its own where one of two leaves lets people out: a danger where
    both are active, a question where nobody has said which of them people leave by."""
    if finding.figures.get("left") != ONE_LEAF:
        return finding
    found = replace(finding, rule="one-leaf-only")
    if "active leaf" in door.door.facts:
        return found
    path = f"doors.{door.id}.active leaf"
    return replace(found, severity=Severity.WEAK, provisional=(path,))


RULES: tuple[Rule, ...] = (
    Rule(("not-locked",), "asked", not_locked, Uses.FEED),
    Rule(("not-locked",), "asked", lock_not_there),
    Rule(("not-locked",), "asked", lock_not_written),
    Rule(("no-entry",), "asked", no_entry, Uses.DOOR),
    Rule(
        (
            "power-lost-unlocks",
            "power-lost-stays-locked",
            "power-lost-keeps-in",
            "power-lost-latch-free",
            "one-leaf-only",
        ),
        "asked",
        power_lost,
    ),
    Rule(("nobody-gets-in",), "practice", nobody_gets_in),
    Rule(("unlocks-on-battery", "no-entry"), "asked", mains_lost, Uses.FEED),
)
