"""The emergency release: in the lock's own power, both poles, where and as the rule set asks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from latchwork.behaviour import DoorOutcome, Event, LockOutcome, LockState, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.job.names import EXIT_SLOTS
from latchwork.plan import PlannedDevice, PlannedDoor
from latchwork.power.nets import Contacts, Nets, feeds
from latchwork.quantities import GUESSES
from latchwork.rules.rule import Rule
from latchwork.rules.sets import Limit
from latchwork.rules.view import View

WELDED = " welded"
NC = "contact NC"
ALONE = f"{Power.MAINS}/{Mode.NORMAL}/{Event.RELEASE_ALONE}"


def _released(view: View) -> Iterator[tuple[PlannedDoor, DoorOutcome, PlannedDevice]]:
    for door, outcome in view.doors():
        device = view.device(door, "release")
        if device is not None:
            yield door, outcome, device


def _left_locked(view: View, door: PlannedDoor, outcome: DoorOutcome) -> list[LockOutcome]:
    """The locks that the release's own contacts do not free."""
    column = outcome.at(Power.MAINS, Mode.NORMAL, Event.RELEASE_ALONE)
    return [
        lock
        for lock in view.ways(outcome)
        if column is not None
        and lock.state[column, 0] != LockState.UNLOCKED
        and not view.mechanical(door, lock)
    ]


def release_dead(view: View) -> Iterator[Finding]:
    """An emergency release that frees the lock only through electronics, or one of two, or none."""
    for door, outcome, _ in _released(view):
        left = _left_locked(view, door, outcome)
        alone = outcome.at(Power.MAINS, Mode.NORMAL, Event.RELEASE_ALONE)
        if alone is None:
            continue
        frees = any(k.state[alone, 0] == LockState.UNLOCKED for k in outcome.locks)
        for lock in left:
            works = view.frees(outcome, lock, Event.RELEASE)
            code = "release-frees-one" if frees else "release-dead"
            yield Finding(
                "release-signals" if works else code,
                lock.device,
                Severity.DANGER,
                ALONE,
                {"volts_v": float(lock.volts[alone, 0]), **view.freed([lock])},
                "egress",
            )


def one_pole(view: View) -> Iterator[Finding]:
    """A release that breaks one of the lock's two legs: a fault may still feed it by the other."""
    asked = view.limits.release_poles
    if asked is None or not asked.usable:
        return
    for door, outcome, device in _released(view):
        group = view.site.group_of(door.id)
        if group is None:
            continue
        left = {k.device for k in _left_locked(view, door, outcome)}
        nets = None
        for lock in outcome.locks:
            if lock.device in left or not view.needs_power_to_lock(lock):
                continue
            if nets is None:
                # In healthy idle: of a changeover only one throw is ever closed.
                nets = Nets(view.plan, group, Contacts.REST, door=door.id, without=(device.id,))
            a, b = (
                view.node(f"{lock.device}.{t.name}") for t in view.part(lock.device).terminals[:2]
            )
            sources = [n for f in feeds(group) for n in (f.plus, f.minus)]
            hang = [any(nets.joined(end, node) for node in sources) for end in (a, b)]
            if hang.count(True) == 1:
                yield Finding(
                    "release-one-pole",
                    device.id,
                    Severity.WEAK,
                    "",
                    {
                        "poles": 1.0,
                        "want": asked.least or 2.0,
                        "leg": "minus" if hang[1] else "plus",
                    },
                    asked.source,
                )
                break


def pole_welded(view: View) -> Iterator[Finding]:
    """One of the poles of a release, or of an exit device in the lock's own power, found welded:
    the other still frees the door, and nobody notices."""
    for door, outcome, device in _released(view):
        welded = _welded(view, device)
        # Where it frees the door no longer, that is told.
        if welded and not _left_locked(view, door, outcome):
            yield _pole_finding(device, ALONE, welded)
    for door, outcome in view.doors():
        for slot in EXIT_SLOTS:
            fitted = view.device(door, slot)
            if fitted is None or fitted.part.facts.get("poles", 1) == 1:
                continue
            welded = _welded(view, fitted)
            column = _alone(outcome, slot)
            held = [k for k in outcome.locks if not view.mechanical(door, k)]
            if not welded or column is None or not held:
                continue
            if all(k.state[column, 0] == LockState.UNLOCKED for k in held):
                yield _pole_finding(fitted, outcome.situations[column].key, welded)


def _alone(outcome: DoorOutcome, slot: str) -> int | None:
    """The situation in which an exit device is worked and nothing but its own contacts moves; where
    it is the only one it has no name there."""
    usual = Power.MAINS, Mode.NORMAL, Event.EXIT_ALONE
    named = outcome.at(*usual, slot)
    return named if named is not None else outcome.at(*usual)


def _welded(view: View, device: PlannedDevice) -> list[str]:
    """The poles that stay closed. One that closes as the device is worked and is welded keeps the
    other throw of its blade open: everybody notices the door, and that is told."""
    return sorted(
        state.state.removesuffix(WELDED)
        for state in view.site.wiring.states
        if state.device == device.id and NC in state.state and state.state.endswith(WELDED)
    )


def _pole_finding(device: PlannedDevice, key: str, welded: Sequence[str]) -> Finding:
    figures = {"what": ", ".join(welded)}
    return Finding("release-pole-welded", device.id, Severity.WEAK, key, figures, "practice")


def places(view: View) -> Iterator[Finding]:
    """Height, distance and sign of the release, where the rule set asks."""
    limits = view.limits
    for door, _, device in _released(view):
        missing = []
        for word, limit, code in (
            ("release height", limits.release_height_m, "release-height"),
            ("release distance", limits.release_distance_m, "release-distance"),
        ):
            if limit is None or not limit.usable:
                continue
            if view.fact_m(door, word) is None:
                missing.append(word)
            else:
                yield from _measure(view, door, device.id, word, limit, code)
        if limits.release_sign is not None:
            words, source = limits.release_sign
            sign = door.door.facts.get("sign")
            if sign is None:
                missing.append("sign")
            elif words.casefold() not in str(sign).casefold():
                yield Finding(
                    "release-sign", device.id, Severity.WEAK, "",
                    {"sign": str(sign), "want": words}, source,
                )  # fmt: skip
        if missing:
            yield Finding(
                "release-unsaid", device.id, Severity.NOTE, "", {"what": ", ".join(missing)},
                "us-egress",
            )  # fmt: skip


def _measure(
    view: View, door: PlannedDoor, subject: str, word: str, limit: Limit, code: str
) -> Iterator[Finding]:
    fact = view.fact_m(door, word)
    broken = limit.broken_by(fact.low, fact.high) if fact is not None else None
    if fact is None or broken is None:
        return
    guess = (f"doors.{door.id}.{word}",) if fact.certainty in GUESSES else ()
    side = "least" if limit.least is not None and broken == limit.least else "most"
    unit = code.rpartition("-")[2]
    ending = {"height": "near_m", "distance": "near_m", "fast": "s", "force": "n"}[unit]
    yield Finding(
        code,
        subject,
        Severity.WEAK,
        "",
        {f"is_{ending}": fact.value, f"limit_{ending}": broken, "side": side},
        limit.source,
        guess,
    )


def hold(view: View) -> Iterator[Finding]:
    """A release that springs back at once, where the rule set asks it to hold for a time."""
    limit = view.limits.release_hold_s
    if limit is None or not limit.usable or limit.least is None:
        return
    for _door, outcome, device in _released(view):
        springs = device.part.facts.get("resets") == "spring"
        if springs and any(view.needs_power_to_lock(k) for k in outcome.locks):
            yield Finding(
                "release-hold", device.id, Severity.WEAK, "", {"hold_s": limit.least}, limit.source
            )


def closing(view: View) -> Iterator[Finding]:
    """A closer that is too quick or too strong, where the rule set asks."""
    limits = view.limits
    for door, _ in view.doors():
        for word, limit, code in (
            ("closer speed", limits.closer_s, "closer-fast"),
            ("closing force", limits.opening_n, "opening-force"),
        ):
            # The force is asked of doors between rooms only.
            if limit is not None and (code == "closer-fast" or door.door.outside == "inside"):
                yield from _measure(view, door, door.id, word, limit, code)


RULES: tuple[Rule, ...] = (
    Rule(("release-dead", "release-signals", "release-frees-one"), "egress", release_dead),
    Rule(("release-one-pole",), "practice", one_pole),
    Rule(("release-pole-welded",), "practice", pole_welded),
    Rule(
        ("release-height", "release-distance", "release-sign", "release-unsaid"),
        "us-egress",
        places,
    ),
    Rule(("release-hold",), "us-egress", hold),
    Rule(("closer-fast", "opening-force"), "ada", closing),
)
