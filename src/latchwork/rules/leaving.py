"""People inside must be able to leave: by one action, without key, card or code, whatever dies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from latchwork.behaviour import DoorOutcome, DoorState, Event, LockOutcome, LockState, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.job.model import Locking, OutBy
from latchwork.job.names import EXIT_SLOTS
from latchwork.parts import sees_who_comes
from latchwork.plan import PlannedDoor
from latchwork.plan.places import OUTSIDE
from latchwork.rules.promises import of_one_leaf
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

OWN_MODES = (Mode.TAMPER, Mode.LOCKED_OUT, Mode.TIMED_UNLOCK)
FIRE_MODES = (Mode.FIRE_ALARM, Mode.PANEL_LOST, Mode.FIRE_RESET)
GONE = (Power.ALL_LOST, Power.NO_BATTERY)
POWERS = (*GONE, Power.BATTERY, Power.BATTERY_END, Power.RETURNS)


def used(view: View) -> Iterator[tuple[PlannedDoor, DoorOutcome, DoorState]]:
    """Doors that people leave by, with their state on mains and in normal."""
    for door, outcome in view.doors():
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state is not None and door.door.people_leave:
            yield door, outcome, state


def no_way_out(view: View) -> Iterator[Finding]:
    """On mains, in normal, people cannot leave by one ordinary action."""
    for door, outcome, state in used(view):
        if state.leave.can:
            continue
        if held := _held_beside_lever(view, door, outcome):
            yield from _held(view, door, state, held)
        elif door.door.out_by is not OutBy.NOTHING and not any(
            view.mechanical(door, lock) for lock in view.ways(outcome)
        ):
            yield _told(
                door, outcome,
                Finding("bar-frees-none", door.id, Severity.DANGER, _key(state, Event.EXIT),
                        {"bar": door.door.out_by.value, "left": state.leave.by,
                         **_freed(view, door, outcome)}, "egress"),
            )  # fmt: skip
        elif _by_right(view, door, state):
            yield _told(
                door, outcome,
                Finding("exit-needs-key", door.id, Severity.DANGER, _key(state, Event.CREDENTIAL),
                        {"way": "card or code", **_decided(door)}, "egress"),
            )  # fmt: skip
        else:
            found = way_out("no-way-out", door, state, Event.EXIT)
            found = replace(found, figures={**found.figures, **_decided(door)})
            yield _told(door, outcome, found)


def exit_needs_key(view: View) -> Iterator[Finding]:
    """The only way out is a switch worked with a key."""
    for door, outcome, state in used(view):
        if (
            not state.leave.can
            or _mechanical(view, door, outcome)
            or state.leave.by == "not locked"
        ):
            continue
        kinds = {view.plan.devices[d].part.kind for d in _ways(view, door, outcome)}
        if kinds == {"key switch"}:
            yield Finding(
                "exit-needs-key",
                door.id,
                Severity.DANGER,
                _key(state, Event.EXIT),
                {"way": "key", **_decided(door)},
                "egress",
            )


def kept_in(door: PlannedDoor) -> bool:
    """Whether the file says that somebody may be kept in."""
    who = str(door.door.facts.get("may be kept in", ""))
    return who.casefold() not in ("", "nobody", "none", "no")


def _decided(door: PlannedDoor) -> dict[str, float | str]:
    """What a finding says where somebody decided that not all leave by themselves."""
    return {"freed": "kept in"} if kept_in(door) else {}


def two_actions(view: View) -> Iterator[Finding]:
    """A lever or bar that frees one lock of two: leaving takes a second action.

    A panic bar must open the door itself, whatever button hangs beside it: be it that it frees
    another lock, or the latch alone. So must one with a switch, or a lever: the switch is there to
    free what the latch does not, and a sensor that sees who comes does not stand in for it.
    """
    for door, outcome, state in used(view):
        if state.leave.can and (stays := _held_at_switch(view, door, outcome)):
            yield from _held(view, door, state, stays)
            continue
        pushed = door.door.out_by is OutBy.PANIC_BAR
        held = (_held_at_lever if pushed else _held_beside_lever)(view, door, outcome)
        if not state.leave.can or not held:
            continue
        one_action = False
        for slot, device in door.devices.items():
            if slot not in EXIT_SLOTS:
                continue
            part = view.plan.devices[device].part
            # A sensor sees who comes, and pushing a bar or lever works its switch as well.
            by_itself = sees_who_comes(part) or part.kind in ("bar", "lever")
            if by_itself or not pushed:
                one_action |= _frees_all(view, door, outcome, slot, mechanical=by_itself)
        if not one_action:
            yield from _held(view, door, state, held)


def exit_request_dead(view: View) -> Iterator[Finding]:
    """An exit button or sensor that frees nothing, though people leave another way, or nobody by
    this door."""
    troubles = {(t.door, t.leg) for t in view.site.wiring.troubles}
    unjoined = {t.figures.get("device") for t in view.site.wiring.troubles}
    for door, outcome in view.doors():
        state = view.state(door.id, Power.MAINS, Mode.NORMAL)
        if state is None or (door.door.people_leave and not state.leave.can):
            continue
        # Where the card fails as well, or the leg has no other end, that is the one mistake.
        card = view.has(door, "controller") and not state.enter_with_right.can
        if card or (door.id, "exit") in troubles:
            continue
        by = state.leave.by if door.door.people_leave else "elsewhere"
        for slot in ("exit", "second exit"):
            if slot not in door.devices or door.devices[slot] in unjoined:
                continue
            column = _asking(door, outcome, slot)
            if column is None or bool(outcome.chatter[column].any()):
                continue
            if not any(k.state[column, 0] == LockState.UNLOCKED for k in outcome.locks):
                yield Finding(
                    "exit-request-dead",
                    door.devices[slot],
                    Severity.FAILS,
                    outcome.situations[column].key,
                    {"leave": by},
                    "practice",
                )


def exit_dies(view: View) -> Iterator[Finding]:
    """Leaving works in normal and stops in a mode of the controller, on other power or in a fire.

    What the door's own words ask of power and fire is told by those rules.
    """
    for door, outcome, normal in used(view):
        if not normal.leave.can:
            continue
        asked_power = door.door.power_lost.leave is Locking.UNLOCKED
        asked_fire = door.door.fire_alarm.leave is Locking.UNLOCKED
        stuck = [s for s in view.site.states[door.id] if not s.leave.can]
        told: set[str] = set()
        for power in POWERS:
            found = [s for s in stuck if s.power is power and s.mode is Mode.NORMAL]
            if found and not (asked_power and power in GONE) and found[0].leave.by not in told:
                # One power of a kind is enough: the others are the same mistake. Too few volts are
                # not: what cures them leaves the door as it is without any.
                told.add(found[0].leave.by)
                yield _told(door, outcome, _dies(view, door, outcome, found[0]))
        for state in stuck:
            one_lost = state.power is Power.ONE_LOST and state.mode is Mode.NORMAL
            own = state.power is Power.MAINS and state.mode in OWN_MODES
            fire = state.power is Power.MAINS and state.mode in FIRE_MODES
            if one_lost or own or (fire and not asked_fire):
                yield _told(door, outcome, _dies(view, door, outcome, state))


def _dies(view: View, door: PlannedDoor, outcome: DoorOutcome, state: DoorState) -> Finding:
    found = way_out("exit-dies", door, state, Event.EXIT)
    return replace(found, figures={**found.figures, **_freed(view, door, outcome)})


def _freed(view: View, door: PlannedDoor, outcome: DoorOutcome) -> dict[str, float | str]:
    return view.freed(k for k in view.ways(outcome) if not view.mechanical(door, k))


def exit_dies_with_unit(view: View) -> Iterator[Finding]:
    """Leaving hangs on the unit outside."""
    for door, outcome, state in used(view):
        if state.leave.can and not state.leave_unit_dead.can:
            found = way_out(
                "exit-dies-with-unit", door, state, Event.DEAD, state.leave_unit_dead.by
            )
            figures = {**found.figures, **_freed(view, door, outcome)}
            yield _told(door, outcome, replace(found, figures=figures))


def exit_dies_with_controller(view: View) -> Iterator[Finding]:
    """A lock that nothing frees but the controller: no release, no switch in its own power, or none
    that those inside reach."""
    for door, outcome, state in used(view):
        beyond = view.out_of_reach(door)
        if not state.leave.can or (view.has(door, "release") and "release" not in beyond):
            continue
        for lock in view.ways(outcome):
            alone = view.frees(outcome, lock, Event.EXIT_ALONE, beyond)
            if alone or view.mechanical(door, lock) or _rests_unlocked(outcome, lock):
                continue
            code = "no-release" if view.needs_power_to_lock(lock) else "exit-dies-with-controller"
            column = outcome.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
            volts = float(lock.volts[column, 1]) if column is not None else 0.0
            freed = view.freed([lock])
            if code == "no-release" and "release" in beyond:
                freed = {"freed": "other side"}
            yield _told(
                door, outcome,
                Finding(code, lock.device, Severity.DANGER, _key(state, Event.EXIT_ALONE),
                        {"volts_v": volts, **freed}, "egress"),
            )  # fmt: skip


def sensor_loses_power(view: View) -> Iterator[Finding]:
    """Where the rule set asks: an exit sensor that does not unlock when its own power fails."""
    source = view.limits.sensor_loses_power
    if source is None:
        return
    for door, outcome, state in used(view):
        if not state.leave.can or _mechanical(view, door, outcome):
            continue
        for slot in EXIT_SLOTS:
            device = view.device(door, slot)
            if device is None or device.part.kind != "exit sensor":
                continue
            if device.part.facts.get("relay") != "energised when idle":
                yield Finding("sensor-loses-power", device.id, Severity.WEAK, "", {}, source)


def way_out(
    rule: str, door: PlannedDoor, state: DoorState, event: Event, by: str | None = None
) -> Finding:
    """``by``: what is left ("release only" blocks the exit, the rest traps)."""
    figures = {
        "left": by or state.leave.by,
        "power": state.power.value,
        "mode": state.mode.value,
    }
    return Finding(rule, door.id, Severity.DANGER, _key(state, event), figures, "egress")


def _told(door: PlannedDoor, outcome: DoorOutcome, finding: Finding) -> Finding:
    """``finding``, or a note of it where a lever that nobody has spoken of would be the way out.

    The file not saying what frees the door from inside is a question, not a danger; nor is its not
    saying which of two leaves is active.
    """
    finding = of_one_leaf(door, finding)
    path = f"doors.{door.id}.out by"
    if path not in door.door.unknown:
        return finding
    severity = Severity.NOTE if all(k.lever_frees for k in outcome.locks) else finding.severity
    return replace(finding, severity=severity, provisional=(path,))


def _key(state: DoorState, event: Event) -> str:
    where = f" ({state.which})" if state.which else ""
    return f"{state.power}/{state.mode}/{event}{where}"


def _rests_unlocked(outcome: DoorOutcome, lock: LockOutcome) -> bool:
    column = outcome.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
    return column is not None and bool(lock.state[column, 1] == LockState.UNLOCKED)


def _mechanical(view: View, door: PlannedDoor, outcome: DoorOutcome) -> bool:
    """Whether lever or bar alone gets people out."""
    ways = view.ways(outcome)
    return all(view.mechanical(door, k) or _rests_unlocked(outcome, k) for k in ways)


def _held_beside_lever(view: View, door: PlannedDoor, outcome: DoorOutcome) -> list[LockOutcome]:
    """The locks that stay locked while the lever or bar frees another one beside them."""
    freed = any(view.mechanical(door, k) for k in view.ways(outcome))
    return _held_at_lever(view, door, outcome) if freed else []


def _held_at_lever(view: View, door: PlannedDoor, outcome: DoorOutcome) -> list[LockOutcome]:
    """The locks that stay locked as the lever or bar is worked."""
    ways = view.ways(outcome)
    return [k for k in ways if not view.mechanical(door, k) and not _rests_unlocked(outcome, k)]


def _held_at_switch(view: View, door: PlannedDoor, outcome: DoorOutcome) -> list[LockOutcome]:
    """The same where the lever or bar has a switch: that neither frees, on mains and in normal."""
    column = _asking(door, outcome, "bar") if "bar" in door.devices else None
    if column is None or door.door.out_by is OutBy.NOTHING:
        return []
    held = _held_at_lever(view, door, outcome)
    return [k for k in held if k.state[column, 0] != LockState.UNLOCKED]


def _asking(door: PlannedDoor, outcome: DoorOutcome, slot: str) -> int | None:
    """The column in which what is in an exit slot, and it alone, asks to leave."""
    which = slot if sum(s in EXIT_SLOTS for s in door.devices) > 1 else ""
    return outcome.at(Power.MAINS, Mode.NORMAL, Event.EXIT, which)


def _held(
    view: View, door: PlannedDoor, state: DoorState, held: list[LockOutcome]
) -> Iterator[Finding]:
    for lock in held:
        yield Finding(
            "bar-frees-one",
            lock.device,
            Severity.DANGER,
            _key(state, Event.EXIT),
            {"bar": door.door.out_by.value, **view.freed([lock])},
            "egress",
        )


def _frees_all(
    view: View, door: PlannedDoor, outcome: DoorOutcome, slot: str, *, mechanical: bool
) -> bool:
    column = _asking(door, outcome, slot)
    return (
        column is not None
        and slot not in view.out_of_reach(door)
        and all(
            k.state[column, 0] == LockState.UNLOCKED or (mechanical and view.mechanical(door, k))
            for k in view.ways(outcome)
        )
    )


def _ways(view: View, door: PlannedDoor, outcome: DoorOutcome) -> list[str]:
    """The devices that get people out, each on its own or with the lever."""
    return [
        device
        for slot, device in door.devices.items()
        if slot in EXIT_SLOTS and _frees_all(view, door, outcome, slot, mechanical=True)
    ]


def _by_right(view: View, door: PlannedDoor, state: DoorState) -> bool:
    """Whether a card or code shown inside is what opens the door for those who leave."""
    reader = view.device(door, "reader")
    return state.enter_with_right.can and reader is not None and reader.place not in OUTSIDE


RULES: tuple[Rule, ...] = (
    Rule(
        ("no-way-out", "exit-needs-key", "bar-frees-one", "bar-frees-none", "one-leaf-only"),
        "egress",
        no_way_out,
    ),
    Rule(("exit-request-dead",), "practice", exit_request_dead, Uses.DOOR),
    Rule(("exit-needs-key",), "egress", exit_needs_key),
    Rule(("bar-frees-one",), "egress", two_actions),
    Rule(("exit-dies", "one-leaf-only"), "egress", exit_dies, Uses.DOOR),
    Rule(("exit-dies-with-unit", "one-leaf-only"), "egress", exit_dies_with_unit),
    Rule(("no-release", "exit-dies-with-controller"), "egress", exit_dies_with_controller),
    Rule(("sensor-loses-power",), "us-egress", sensor_loses_power),
)
