"""Volts, amperes and kinds of current."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from latchwork.behaviour import Case, DoorOutcome, Event, LockOutcome, Mode, Power
from latchwork.elements import Fuse, Source
from latchwork.findings import Finding, Severity
from latchwork.rules.rule import Rule, View

MARGIN = 1.25
"""Limit over highest load (common practice, no source)."""
ASKED = (Event.CREDENTIAL, Event.EXIT)


def worst_volts(lock: LockOutcome, outcome: DoorOutcome) -> tuple[float, int] | None:
    """The least volts at the lock where it must be energised, and in which column.

    For a lock that current draws back that is as a grant begins; for one that current holds, at
    rest. Only columns in which it is energised in the ordinary run of things.
    """
    best: tuple[float, int] | None = None
    for n, s in enumerate(outcome.situations):
        if s.mode is not Mode.NORMAL or s.power not in (
            Power.MAINS,
            Power.BATTERY,
            Power.BATTERY_END,
        ):
            continue
        if lock.unlocks_energised is (s.event in ASKED) and s.event in (*ASKED, Event.NOBODY):
            volts = float(lock.volts[n, 0 if lock.unlocks_energised else 1])
            if volts > 0.5 and (best is None or volts < best[0]):
                best = volts, n
    return best


def volts_low(view: View) -> Iterator[Finding]:
    """Too few volts at the lock: at nominal figures it fails, at the worst case it is weak."""
    for door, nominal in view.doors():
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        for lock in nominal.locks:
            need = lock.picks_v if lock.unlocks_energised else lock.holds_v
            for case, severity in ((nominal, Severity.FAILS), (least, Severity.WEAK)):
                found = case and worst_volts(view.lock_named(case, lock.device), case)
                if not case or found is None or found[0] >= need:
                    continue
                yield Finding(
                    "volts-low",
                    lock.device,
                    severity,
                    case.situations[found[1]].key,
                    {
                        "volts_v": found[0],
                        "need_v": need,
                        "case": case.case.value,
                        "does": "pick up" if lock.unlocks_energised else "hold",
                    },
                    "part",
                )
                break


def volts_high(view: View) -> Iterator[Finding]:
    """More volts at the lock than its rating, while it is energised for long."""
    for door, nominal in view.doors():
        most = view.outcome(door.id, Case.MOST_VOLTS)
        for lock in nominal.locks:
            part = view.plan.devices[lock.device].part
            rated = part.figures.get("rated_high_v")
            if rated is None:
                continue
            for case, severity in ((nominal, Severity.FAILS), (most, Severity.WEAK)):
                if case is None:
                    continue
                seen = view.lock_named(case, lock.device).volts
                moments = seen if not lock.unlocks_energised else seen[:, :1]
                if moments.size == 0 or float(moments.max()) <= rated.high:
                    continue
                column = int(np.argmax(moments.max(axis=1)))
                yield Finding(
                    "volts-high",
                    lock.device,
                    severity,
                    case.situations[column].key,
                    {
                        "volts_v": float(moments.max()),
                        "most_v": rated.high,
                        "case": case.case.value,
                    },
                    "part",
                )
                break


def restarts(view: View) -> Iterator[Finding]:
    """A device loses its volts as a lock picks up, and starts again."""
    for door, nominal in view.doors():
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        for case, severity in ((nominal, Severity.FAILS), (least, Severity.WEAK)):
            found = False
            for sense in case.powered if case else ():
                for n, s in enumerate(case.situations if case else ()):
                    if (
                        case is None
                        or s.mode is not Mode.NORMAL
                        or s.event not in ASKED
                        or s.power not in (Power.MAINS, Power.BATTERY, Power.BATTERY_END)
                    ):
                        continue
                    quiet = case.at(s.power, s.mode, Event.NOBODY)
                    if quiet is None or not sense.on[quiet, 1]:
                        continue
                    low = float(sense.low_volts[n, 0])
                    if low < sense.off_v:
                        yield Finding(
                            "restarts",
                            sense.flag.rsplit(".", 1)[0],
                            severity,
                            s.key,
                            {"volts_v": low, "need_v": sense.off_v, "case": case.case.value},
                            "part",
                        )
                        found = True
                        break
            if found:
                break


def unpowered(view: View) -> Iterator[Finding]:
    """A device never has the volts to start."""
    for _, nominal in view.doors():
        quiet = nominal.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
        for sense in nominal.powered:
            if quiet is not None and not sense.on[quiet, 1] and not sense.on[quiet, 0]:
                yield Finding(
                    "unpowered",
                    sense.flag.rsplit(".", 1)[0],
                    Severity.FAILS,
                    nominal.situations[quiet].key,
                    {"volts_v": float(sense.low_volts[quiet, 1]), "need_v": sense.on_v},
                    "part",
                )


def chatter(view: View) -> Iterator[Finding]:
    """Contacts that never come to rest."""
    for door, nominal in view.doors():
        columns = np.flatnonzero(nominal.chatter.any(axis=1))
        if len(columns):
            first = nominal.situations[int(columns[0])]
            yield Finding(
                "chatter",
                door.id,
                Severity.FAILS,
                first.key,
                {"situations": float(len(columns))},
                "model",
            )


def unsolved(view: View) -> Iterator[Finding]:
    """Situations the solver could not bring to rest: told, never dropped."""
    for door, nominal in view.doors():
        columns = np.flatnonzero(~nominal.solved.all(axis=1))
        if len(columns):
            yield Finding(
                "unsolved",
                door.id,
                Severity.WEAK,
                nominal.situations[int(columns[0])].key,
                {"situations": float(len(columns))},
                "model",
            )


def supply_overload(view: View) -> Iterator[Finding]:
    """A supply asked for more than its limit, or with less than the usual margin."""
    for load in view.loads:
        if load.limit_a is None or load.margin is None or load.margin >= MARGIN:
            continue
        yield Finding(
            "supply-overload",
            load.id,
            Severity.FAILS if load.most_a + load.charge_a > load.limit_a else Severity.WEAK,
            load.most_when,
            {
                "load_a": load.most_a,
                "charge_a": load.charge_a,
                "limit_a": load.limit_a,
                "margin": load.margin,
                "want": MARGIN,
            },
            "practice",
        )


def fuse_overload(view: View) -> Iterator[Finding]:
    """A fuse that blows, or carries more than its rating for long."""
    ratings = {
        f"{d.id}.{e.name}": e
        for d in view.plan.devices.values()
        for e in d.part.elements
        if isinstance(e, Fuse)
    }
    told: set[str] = set()
    for _, nominal in view.doors():
        for n, name in enumerate(nominal.fuse_names):
            fuse = ratings.get(name)
            if fuse is None or name in told:
                continue
            blown = nominal.fuse_blown[n].any(axis=1)
            over = nominal.fuse_a[n].max(axis=1) > fuse.rating_a
            columns = np.flatnonzero(blown if blown.any() else over)
            if len(columns) == 0:
                continue
            told.add(name)
            column = int(columns[0])
            yield Finding(
                "fuse-blows" if blown.any() else "fuse-overload",
                name,
                Severity.FAILS if blown.any() else Severity.WEAK,
                nominal.situations[column].key,
                {"current_a": float(nominal.fuse_a[n].max()), "rating_a": fuse.rating_a},
                "part",
            )


def wrong_current(view: View) -> Iterator[Finding]:
    """An AC part on direct current, or the reverse."""
    for group in view.site.groups:
        kinds = {
            "ac" if e.what.alternating else "dc"
            for e in group.things.elements
            if isinstance(e.what, Source)
        }
        if len(kinds) != 1:
            continue
        fed = kinds.pop()
        for device_id in dict.fromkeys(e.device for e in group.things.elements):
            device = view.plan.devices[device_id]
            made = device.part.facts.get("current_kind")
            if made in ("ac", "dc") and made != fed and device_id not in group.supplies:
                yield Finding(
                    "wrong-current",
                    device_id,
                    Severity.FAILS,
                    "",
                    {"made": str(made), "fed": fed},
                    "part",
                )


RULES: tuple[Rule, ...] = (
    Rule("volts-low", "part", volts_low),
    Rule("volts-high", "part", volts_high),
    Rule("restarts", "part", restarts),
    Rule("unpowered", "part", unpowered),
    Rule("chatter", "model", chatter),
    Rule("unsolved", "model", unsolved),
    Rule("supply-overload", "practice", supply_overload),
    Rule("fuse-overload", "part", fuse_overload),
    Rule("wrong-current", "part", wrong_current),
)
