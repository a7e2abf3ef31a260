"""Volts at locks and devices: too few, too many, the wrong kind."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import numpy as np

from latchwork.behaviour import (
    Case,
    DoorOutcome,
    Event,
    LockOutcome,
    LockState,
    Mode,
    Power,
    SenseOutcome,
)
from latchwork.behaviour.situations import HELD_S
from latchwork.elements import Certainty, Source
from latchwork.findings import Finding, Severity
from latchwork.parts.model import Part
from latchwork.rules.nets import Contacts, feeds
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

ASKED = (Event.CREDENTIAL, Event.EXIT)
LASTING, ENDING = (Power.MAINS, Power.BATTERY), (Power.BATTERY_END,)
ORDINARY = (*LASTING, *ENDING)
ALWAYS_FED = ("controller", "reader", "radio", "exit sensor", "delay module", "motor")
"""Kinds that are fed all the time; a bell is fed only while it rings."""
MISMATCH_HIGH, MISMATCH_LOW = 1.5, 0.75
"""Shares of a rating past which volts are not a drop or a float but another voltage (common
practice, no source)."""


def worst_volts(
    lock: LockOutcome, outcome: DoorOutcome, powers: Collection[Power] | None = None
) -> tuple[float, int] | None:
    """The least volts at the lock where it must be energised, and in which column.

    For a lock that current draws back that is as a grant begins; for one that current holds, at
    rest. Only columns in which it is energised in the ordinary run of things, or on ``powers``.
    """
    best: tuple[float, int] | None = None
    powers = ORDINARY if powers is None else powers
    for n, s in enumerate(outcome.situations):
        if s.mode is not Mode.NORMAL or s.power not in powers:
            continue
        if lock.unlocks_energised is (s.event in ASKED) and s.event in (*ASKED, Event.NOBODY):
            moment = 0 if lock.unlocks_energised else 1
            # What never rests has no volts of its own: then the most that it gets.
            rows = lock.high_volts if outcome.chatter[n, moment] else lock.volts
            volts = float(rows[n, moment])
            if volts > 0.5 and (best is None or volts < best[0]):
                best = volts, n
    return best


def least_volts(device: str, cases: Mapping[Case, DoorOutcome]) -> tuple[float, str] | None:
    """The least volts at a lock where it must be energised, and in which situation.

    At the worst case a controller may die before the lock draws anything: then the nominal figures
    tell more.
    """
    best: tuple[float, str] | None = None
    for case in (Case.LEAST_VOLTS, Case.NOMINAL):
        outcome = cases.get(case)
        lock = outcome and next((k for k in outcome.locks if k.device == device), None)
        found = worst_volts(lock, outcome) if outcome and lock else None
        if outcome and found and (best is None or found[0] < best[0]):
            best = found[0], outcome.situations[found[1]].key
    return best


def need(lock: LockOutcome) -> tuple[float, str]:
    """Volts from which a lock surely does what current is to make it do, and what that is.

    What current holds lets go at every grant and in every outage, and then has to pick up again.
    """
    if lock.unlocks_energised or lock.picks_v > lock.holds_v:
        return lock.picks_v, "pick up"
    return lock.holds_v, "hold"


def mismatched(view: View) -> dict[str, tuple[float, float]]:
    """Devices on quite another voltage than theirs: id -> volts made for, volts fed with."""
    return view.kept("mismatched", lambda: _mismatched(view))


def _mismatched(view: View) -> dict[str, tuple[float, float]]:
    out: dict[str, tuple[float, float]] = {}
    for group in view.site.groups:
        nets = view.nets(group, Contacts.ALL)
        sources = [f for f in feeds(group) if f.device in view.plan.supplies]
        for device in dict.fromkeys(e.device for e in group.things.elements):
            part = view.part(device)
            low, high = part.figures.get("rated_low_v"), part.figures.get("rated_high_v")
            own = next((t.name for t in part.terminals if t.name in ("+", "A1")), None)
            if device in view.plan.supplies or low is None or high is None or own is None:
                continue
            plus = view.node(f"{device}.{own}")
            given = [_volts(view.part(f.device)) for f in sources if nets.joined(plus, f.plus)]
            if given and all(
                v > MISMATCH_HIGH * high.value or v < MISMATCH_LOW * low.value for v in given
            ):
                made = part.figures.get("nominal_v", low)
                out[device] = made.value, given[0]
    return out


def _volts(part: Part) -> float:
    names = ("output_v", "nominal_v", "battery_block_v")
    return next(part.figures[name].value for name in names if name in part.figures)


def strange(view: View) -> frozenset[str]:
    """Devices on another voltage or kind of current than theirs: told once, as that."""
    return view.kept(
        "strange",
        lambda: frozenset(mismatched(view)) | {device for device, _, _ in _wrong_kind(view)},
    )


def wrong_voltage(view: View) -> Iterator[Finding]:
    """A part made for, or linked for, quite another voltage than it is fed with."""
    for device, (made, fed) in mismatched(view).items():
        group = view.group_with(device)
        ports = group is not None and all(view.part(s).kind == "poe port" for s in group.supplies)
        code, source = ("port-feeds-lock", "poe") if ports else ("wrong-voltage", "part")
        yield Finding(code, device, Severity.FAILS, "", {"made_v": made, "fed_v": fed}, source)


def volts_low(view: View) -> Iterator[Finding]:
    """Too few volts at the lock: at nominal figures it fails, at the worst case it is weak."""
    other = strange(view)
    for door, nominal in view.doors():
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        for lock in nominal.locks:
            need_v, does = need(lock)
            for case, severity in ((nominal, Severity.FAILS), (least, Severity.WEAK)):
                if case is None or lock.device in other:
                    continue
                found = worst_volts(view.lock_named(case, lock.device), case)
                if found is None or found[0] >= need_v:
                    continue
                yield Finding(
                    "volts-low",
                    lock.device,
                    severity,
                    case.situations[found[1]].key,
                    {
                        "volts_v": found[0],
                        "need_v": need_v,
                        "case": case.case.value,
                        "does": does,
                    },
                    "part",
                )
                break


def no_relock(view: View) -> Iterator[Finding]:
    """A lock that current holds does not surely lock again after a grant, though it would have the
    volts at rest: its coil takes more as it picks up."""
    for door, nominal in view.doors():
        controller = view.device(door, "controller")
        relay_s = controller.part.figures.get("relay_s") if controller is not None else None
        if relay_s is None or relay_s.high >= HELD_S:
            continue
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        for lock in filter(view.needs_power_to_lock, nominal.locks):
            for case, severity in ((nominal, Severity.INSECURE), (least, Severity.WEAK)):
                own = view.lock_named(case, lock.device) if case is not None else None
                if case is None or own is None or _too_low(own, case):
                    break
                column = _left_open(own, case)
                if column is not None:
                    key = case.situations[column].key
                    figures: dict[str, float | str] = {"case": case.case.value}
                    yield Finding("no-relock", lock.device, severity, key, figures, "part")
                    break


def _too_low(lock: LockOutcome, outcome: DoorOutcome) -> bool:
    found = worst_volts(lock, outcome)
    return found is not None and found[0] < need(lock)[0]


def _left_open(lock: LockOutcome, outcome: DoorOutcome) -> int | None:
    """The first column in which a grant is over and the lock, locked before it, is not."""
    for n, s in enumerate(outcome.situations):
        if s.mode is Mode.NORMAL and s.power in ORDINARY and s.event is Event.CREDENTIAL:
            quiet = outcome.at(s.power, s.mode, Event.NOBODY)
            was = quiet is not None and lock.state[quiet, 1] == LockState.LOCKED
            granted = lock.state[n, 0] == LockState.UNLOCKED
            if was and granted and lock.state[n, 1] != LockState.LOCKED:
                return n
    return None


def pull_low(view: View) -> Iterator[Finding]:
    """A magnet that surely holds, but below its rated range: less pull than its data sheet says.

    The pull of a magnet below saturation goes with the square of its current (Maxwell's
    F = B²A/2μ0 with B in proportion to the current). On mains or a fresh battery it is weak; only
    as a battery ends, with a 12 V battery at 10.5 V, it is ordinary, and a note.
    """
    other = strange(view)
    for door, nominal in view.doors():
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        for lock in nominal.locks:
            part = view.part(lock.device)
            low, made = part.figures.get("rated_low_v"), part.figures.get("nominal_v")
            if part.kind != "magnet" or lock.device in other or low is None or made is None:
                continue
            if part.figures["surely_hold_v"].certainty is not Certainty.CATALOGUE:
                # Its data sheet says from where it holds: that is its range.
                continue
            for powers, severity in ((LASTING, Severity.WEAK), (ENDING, Severity.NOTE)):
                found = least and worst_volts(
                    view.lock_named(least, lock.device), least, powers=powers
                )
                if not least or not found or not lock.holds_v <= found[0] < low.value:
                    continue
                yield Finding(
                    "pull-low",
                    lock.device,
                    severity,
                    least.situations[found[1]].key,
                    {
                        "volts_v": found[0],
                        "rated_v": low.value,
                        "pull_share": (found[0] / made.value) ** 2,
                        "case": least.case.value,
                    },
                    "pull",
                )
                break


def volts_high(view: View) -> Iterator[Finding]:
    """More volts than the rating of a lock while it is energised for long, or of a device."""
    other = strange(view)
    told: set[str] = set()
    for door, nominal in view.doors():
        most = view.outcome(door.id, Case.MOST_VOLTS)
        for case, severity in ((nominal, Severity.FAILS), (most, Severity.WEAK)):
            if case is None:
                continue
            for device, volts, column in _highest(case):
                rated = view.part(device).figures.get("rated_high_v")
                if rated is None or volts <= rated.high or device in told or device in other:
                    continue
                told.add(device)
                yield Finding(
                    "volts-high",
                    device,
                    severity,
                    case.situations[column].key,
                    {"volts_v": volts, "most_v": rated.high, "case": case.case.value},
                    "part",
                )


def _highest(case: DoorOutcome) -> Iterator[tuple[str, float, int]]:
    """Every lock and device with the most volts it sees, and in which column."""
    for lock in case.locks:
        seen = lock.volts if not lock.unlocks_energised else lock.volts[:, :1]
        if seen.size:
            yield lock.device, float(seen.max()), int(np.argmax(seen.max(axis=1)))
    for sense in case.powered:
        if sense.low_volts.size:
            low = sense.low_volts
            yield device_of(sense), float(low.max()), int(np.argmax(low.max(axis=1)))


def device_of(sense: SenseOutcome) -> str:
    """The device whose feed a sense watches."""
    return sense.flag.rsplit(".", 1)[0]


def restarts(view: View) -> Iterator[Finding]:
    """A device loses its volts as a lock picks up, and starts again."""
    for door, nominal in view.doors():
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        told: set[str] = set()
        for case, severity in ((nominal, Severity.FAILS), (least, Severity.WEAK)):
            for sense in case.powered if case else ():
                device = device_of(sense)
                if case is None or device in told or view.part(device).kind not in ALWAYS_FED:
                    continue
                column = _drops(case, sense)
                if column is None:
                    continue
                told.add(device)
                yield Finding(
                    "restarts",
                    device,
                    severity,
                    case.situations[column].key,
                    {
                        "volts_v": float(sense.low_volts[column, 0]),
                        "need_v": sense.off_v,
                        "case": case.case.value,
                    },
                    "part",
                )


def _drops(case: DoorOutcome, sense: SenseOutcome) -> int | None:
    """The first column in which somebody asks and the device, alive until then, dies of it."""
    for n, s in enumerate(case.situations):
        if s.mode is not Mode.NORMAL or s.event not in ASKED or s.power not in ORDINARY:
            continue
        quiet = case.at(s.power, s.mode, Event.NOBODY)
        if quiet is not None and sense.on[quiet, 1] and sense.low_volts[n, 0] < sense.off_v:
            return n
    return None


def unpowered(view: View) -> Iterator[Finding]:
    """A device never has the volts to start."""
    other = strange(view)
    told: set[str] = set()
    for _, nominal in view.doors():
        quiet = nominal.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
        for sense in nominal.powered:
            device = device_of(sense)
            if quiet is None or sense.on[quiet].any() or device in told or device in other:
                continue
            if view.part(device).kind not in ALWAYS_FED or view.reversed_feed(device):
                continue
            told.add(device)
            yield Finding(
                "unpowered",
                device,
                Severity.FAILS,
                nominal.situations[quiet].key,
                {"volts_v": float(sense.low_volts[quiet, 1]), "need_v": sense.on_v},
                "part",
            )


def wrong_current(view: View) -> Iterator[Finding]:
    """An AC part on direct current, or the reverse."""
    for device, made, fed in _wrong_kind(view):
        figures = {"made": made, "fed": fed}
        yield Finding("wrong-current", device, Severity.FAILS, "", figures, "part")


def _wrong_kind(view: View) -> Iterator[tuple[str, str, str]]:
    """Device, the kind of current it is made for, the kind it is fed with."""
    for group in view.site.groups:
        kinds = {
            "ac" if e.what.alternating else "dc"
            for e in group.things.elements
            if isinstance(e.what, Source)
        }
        for device in dict.fromkeys(e.device for e in group.things.elements):
            made = made_for(view.part(device))
            fed = next(iter(kinds)) if len(kinds) == 1 else _fed_with(view, device)
            if kinds and made and made != fed and device not in group.supplies:
                yield device, made, fed


def _fed_with(view: View, device: str) -> str:
    """The kind of current a device's own terminals are on, where the group has both."""
    names = (t.name for t in view.part(device).terminals)
    own = next((name for name in names if name in ("+", "A1")), "")
    return "ac" if view.alternating(view.node(f"{device}.{own}")) else "dc"


def made_for(part: Part) -> str:
    """The one kind of current a part is made for; "" where it takes both, or none of its own."""
    kind = str(part.facts.get("current_kind", ""))
    if kind in ("ac", "dc"):
        return kind
    return "dc" if part.kind in ALWAYS_FED else ""


RULES: tuple[Rule, ...] = (
    Rule(("wrong-voltage", "port-feeds-lock"), "part", wrong_voltage, Uses.FEED),
    Rule(("volts-low",), "part", volts_low, Uses.FEED),
    Rule(("no-relock",), "part", no_relock, Uses.FEED),
    Rule(("pull-low",), "pull", pull_low, Uses.FEED),
    Rule(("volts-high",), "part", volts_high, Uses.FEED),
    Rule(("restarts",), "part", restarts, Uses.DOOR),
    Rule(("unpowered",), "part", unpowered, Uses.DOOR),
    Rule(("wrong-current",), "part", wrong_current),
)
