"""What a door does, against what its own words ask: entering, leaving, the latch.

Outcomes are judged, not habits. Sources: the door's own words ("asked"), and that people must be
able to leave ("egress").
"""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import DoorState, Event, LockState, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.job.model import Duty, Locking
from latchwork.plan import PlannedDoor
from latchwork.rules.rule import Rule, View

OWN_MODES = (Mode.TAMPER, Mode.LOCKED_OUT, Mode.TIMED_UNLOCK)
LOST = (Power.ALL_LOST, Power.NO_BATTERY)
ON_BATTERY = (Power.BATTERY, Power.BATTERY_END)


def not_locked(view: View) -> Iterator[Finding]:
    """On mains, nobody about, the door is not locked."""
    for door, _ in view.doors():
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state and state.enter_without_right.can and state.enter_without_right.by != "chatter":
            yield Finding(
                "not-locked",
                door.id,
                Severity.INSECURE,
                f"{Power.MAINS}/{Mode.NORMAL}/{Event.NOBODY}",
                {"how": state.enter_without_right.by},
                "asked",
            )


def no_entry(view: View) -> Iterator[Finding]:
    """A right card or code does not open the door."""
    for door, outcome in view.doors():
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state is None or state.enter_with_right.can or not view.has(door, "controller"):
            continue
        column = outcome.at(Power.MAINS, Mode.NORMAL, Event.CREDENTIAL)
        if column is None or bool(outcome.chatter[column].any()):
            continue
        yield Finding(
            "no-entry",
            door.id,
            Severity.FAILS,
            f"{Power.MAINS}/{Mode.NORMAL}/{Event.CREDENTIAL}",
            {"how": state.enter_with_right.by},
            "asked",
        )


def no_way_out(view: View) -> Iterator[Finding]:
    """On mains, in normal, people cannot leave by one ordinary action."""
    for door, _ in view.doors():
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state is not None and not state.leave.can:
            yield _way_out("no-way-out", door, state, Event.EXIT, state.leave.by)


def exit_dies(view: View) -> Iterator[Finding]:
    """Leaving works in normal and stops in a mode of the controller or on other power."""
    for door, _ in view.doors():
        normal = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if normal is None or not normal.leave.can:
            continue
        for state in view.site.states[door.id]:
            if state.leave.can or (state.power, state.mode) == (Power.MAINS, Mode.NORMAL):
                continue
            if state.mode is Mode.NORMAL or (
                state.power is Power.MAINS and state.mode in OWN_MODES
            ):
                yield _way_out("exit-dies", door, state, Event.EXIT, state.leave.by)


def exit_dies_in_fire(view: View) -> Iterator[Finding]:
    """Leaving works in normal and not in a fire alarm, with the panel lost, or after reset."""
    for door, _ in view.doors():
        normal = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if normal is None or not normal.leave.can:
            continue
        for mode in (Mode.FIRE_ALARM, Mode.PANEL_LOST, Mode.FIRE_RESET):
            state = view.state(door.id, Power.MAINS, mode)
            if state is not None and not state.leave.can:
                yield _way_out("exit-dies", door, state, Event.EXIT, state.leave.by)


def exit_dies_with_unit(view: View) -> Iterator[Finding]:
    """Leaving hangs on the unit outside."""
    for door, _ in view.doors():
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state is not None and state.leave.can and not state.leave_unit_dead.can:
            yield _way_out("exit-dies-with-unit", door, state, Event.DEAD, state.leave_unit_dead.by)


def _way_out(rule: str, door: PlannedDoor, state: DoorState, event: Event, by: str) -> Finding:
    """``by``: what is left ("release only" blocks the exit, the rest traps)."""
    where = f" ({state.which})" if state.which else ""
    return Finding(
        rule,
        door.id,
        Severity.DANGER,
        f"{state.power}/{state.mode}/{event}{where}",
        {"left": by, "power": state.power.value, "mode": state.mode.value},
        "egress",
    )


def release_signals(view: View) -> Iterator[Finding]:
    """An emergency release that frees the lock only through electronics, or not at all."""
    for door, outcome in view.doors():
        if not view.has(door, "release"):
            continue
        pulled = outcome.at(Power.MAINS, Mode.NORMAL, Event.RELEASE)
        alone = outcome.at(Power.MAINS, Mode.NORMAL, Event.RELEASE_ALONE)
        if pulled is None or alone is None:
            continue
        for lock in outcome.locks:
            if lock.unlocks_energised and lock.lever_frees:
                continue
            if lock.state[alone, 0] == LockState.UNLOCKED:
                continue
            works = lock.state[pulled, 0] == LockState.UNLOCKED
            yield Finding(
                "release-signals" if works else "release-dead",
                lock.device,
                Severity.DANGER,
                f"{Power.MAINS}/{Mode.NORMAL}/{Event.RELEASE_ALONE}",
                {"volts_v": float(lock.volts[alone, 0])},
                "egress",
            )


def power_lost(view: View) -> Iterator[Finding]:
    """All power gone: not as the door's words ask."""
    for door, _ in view.doors():
        for power in LOST if view.battery_fitted(door.id) else (Power.ALL_LOST,):
            state = view.state(door.id, power, Mode.NORMAL)
            if state is not None:
                yield from _differs("power-lost", door, state, door.door.power_lost)


def mains_lost(view: View) -> Iterator[Finding]:
    """On battery a door that has one no longer does what it does on mains."""
    for door, _ in view.doors():
        if not view.battery_fitted(door.id):
            continue
        mains = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if mains is None or mains.enter_without_right.can:
            continue
        for power in ON_BATTERY:
            state = view.state(door.id, power, Mode.NORMAL)
            if state is None:
                continue
            if state.enter_without_right.can:
                yield Finding(
                    "unlocks-on-battery",
                    door.id,
                    Severity.INSECURE,
                    f"{power}/{Mode.NORMAL}/{Event.NOBODY}",
                    {"how": state.enter_without_right.by, "power": power.value},
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


def fire(view: View) -> Iterator[Finding]:
    """In a fire alarm, or with the panel lost: not as the door's words ask."""
    for door, _ in view.doors():
        for mode in (Mode.FIRE_ALARM, Mode.PANEL_LOST):
            state = view.state(door.id, Power.MAINS, mode)
            if state is not None:
                yield from _differs("fire-alarm", door, state, door.door.fire_alarm)


def _differs(rule: str, door: PlannedDoor, state: DoorState, duty: Duty) -> Iterator[Finding]:
    situation = f"{state.power}/{state.mode}/{Event.NOBODY}"
    named = {"power": state.power.value, "mode": state.mode.value}
    enters = state.enter_without_right
    if duty.enter is Locking.LOCKED and enters.can:
        yield Finding(
            f"{rule}-unlocks", door.id, Severity.INSECURE, situation,
            {"how": enters.by, **named}, "asked",
        )  # fmt: skip
    if duty.enter is Locking.UNLOCKED and (not enters.can or enters.by in ("marginal", "chatter")):
        yield Finding(
            f"{rule}-stays-locked", door.id, Severity.DANGER, situation,
            {"how": enters.by, **named}, "asked",
        )  # fmt: skip
    if duty.leave is Locking.UNLOCKED and not state.leave.can:
        yield Finding(
            f"{rule}-keeps-in", door.id, Severity.DANGER,
            f"{state.power}/{state.mode}/{Event.EXIT}", {"left": state.leave.by, **named}, "asked",
        )  # fmt: skip
    if duty.latch_stays and not state.latch_holds:
        yield Finding(
            f"{rule}-latch-free", door.id, Severity.DANGER, situation, dict(named), "latch"
        )


RULES: tuple[Rule, ...] = (
    Rule("not-locked", "asked", not_locked),
    Rule("no-entry", "asked", no_entry),
    Rule("no-way-out", "egress", no_way_out),
    Rule("exit-dies", "egress", exit_dies),
    Rule("exit-dies", "egress", exit_dies_in_fire),
    Rule("exit-dies-with-unit", "egress", exit_dies_with_unit),
    Rule("release-signals", "egress", release_signals),
    Rule("power-lost", "asked", power_lost),
    Rule("unlocks-on-battery", "asked", mains_lost),
    Rule("fire-alarm", "asked", fire),
)
