"""Volts at locks: whether they surely pick up, hold, pull, and lock again."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from latchwork.behaviour import Case, DoorOutcome, Event, LockOutcome, LockState, Mode, Power
from latchwork.behaviour.situations import HELD_S, KEY
from latchwork.elements import Certainty
from latchwork.findings import Finding, Severity
from latchwork.rules.made_for import strange
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

ASKED = (Event.CREDENTIAL, Event.EXIT)
LASTING, ENDING = (Power.MAINS, Power.BATTERY), (Power.BATTERY_END,)
ORDINARY = (*LASTING, *ENDING)
NOT_FED_V = 0.5
"""A lock that sees no more than this is not fed: that is another mistake than too few volts (common
practice, no source)."""
SAME_V = 1e-6
"""Volts no further apart are the same, told of what comes first, whatever rounding says: what a
finding is called must not hang on the order of lines in the file."""


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
            if volts > NOT_FED_V and (best is None or volts < best[0] - SAME_V):
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
        if s.which == KEY:
            # Nobody holds a key turned for as long as a situation is held.
            continue
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


RULES: tuple[Rule, ...] = (
    Rule(("volts-low",), "part", volts_low, Uses.FEED),
    Rule(("no-relock",), "part", no_relock, Uses.FEED),
    Rule(("pull-low",), "pull", pull_low, Uses.FEED),
)
