"""Volts at devices: more than their rating, too few to start, gone as a lock picks up."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from latchwork.behaviour import Case, DoorOutcome, Event, Mode, Power, SenseOutcome
from latchwork.findings import Finding, Severity
from latchwork.rules.lock_volts import ASKED, NOT_FED_V, ORDINARY
from latchwork.rules.made_for import ALWAYS_FED, strange
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

HAIR = 1e-3
"""No meter on a van tells so little more from the rating itself (common practice, no source)."""


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
                if rated is None or device in told or device in other:
                    continue
                if volts <= (1.0 + HAIR) * rated.high:
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


def starved(view: View) -> Iterator[Finding]:
    """A device loses its volts as a lock picks up, and starts again; or has too few to go on with
    nobody about, and answers nobody. Told by that of the two which comes first."""
    other = strange(view)
    told: set[str] = set()
    for door, nominal in view.doors():
        least = view.outcome(door.id, Case.LEAST_VOLTS)
        goes = {device_of(sense) for sense in nominal.powered if _runs_on_mains(nominal, sense)}
        for case, severity in ((nominal, Severity.FAILS), (least, Severity.WEAK)):
            for sense in case.powered if case else ():
                device = device_of(sense)
                if case is None or device in told or view.part(device).kind not in ALWAYS_FED:
                    continue
                code, column, moment = "restarts", _drops(case, sense), 0
                if column is None and device in goes and device not in other:
                    code, column, moment = "feed-low", _stops(case, sense), 1
                if column is None:
                    continue
                told.add(device)
                yield Finding(
                    code,
                    device,
                    severity,
                    case.situations[column].key,
                    {
                        "volts_v": float(sense.low_volts[column, moment]),
                        "need_v": sense.off_v,
                        "case": case.case.value,
                    },
                    "part",
                )


def _runs_on_mains(nominal: DoorOutcome, sense: SenseOutcome) -> bool:
    """Whether the device has what it needs on mains, at nominal: else it never starts, or is dead,
    and is told as that."""
    quiet = nominal.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
    return quiet is not None and bool(sense.on[quiet, 1])


def _stops(case: DoorOutcome, sense: SenseOutcome) -> int | None:
    """The first column, nobody about, in which the device has some volts and not enough: what sees
    none has a supply without a battery, or a fuse that blew."""
    for power in ORDINARY:
        quiet = case.at(power, Mode.NORMAL, Event.NOBODY)
        if quiet is None or sense.on[quiet, 1] or case.fuse_blown[:, quiet].any():
            continue
        if NOT_FED_V < sense.low_volts[quiet, 1] < sense.off_v:
            return quiet
    return None


def _drops(case: DoorOutcome, sense: SenseOutcome) -> int | None:
    """The first column in which somebody asks and the device, alive until then, dies of it; where a
    fuse blows that is told, and no thicker cable helps."""
    for n, s in enumerate(case.situations):
        if s.mode is not Mode.NORMAL or s.event not in ASKED or s.power not in ORDINARY:
            continue
        if case.fuse_blown[:, n].any():
            continue
        quiet = case.at(s.power, s.mode, Event.NOBODY)
        if quiet is not None and sense.on[quiet, 1] and sense.low_volts[n, 0] < sense.off_v:
            return n
    return None


def unpowered(view: View) -> Iterator[Finding]:
    """A device never has the volts to start, or was found dead with them."""
    other = strange(view)
    found = {s.device: s.state for s in view.site.wiring.states}
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
            volts = float(sense.low_volts[quiet, 1])
            figures: dict[str, float | str] = {"volts_v": volts, "need_v": sense.on_v}
            if volts >= sense.on_v and device in found:
                figures |= {"also": "found", "freed": "found", "state": found[device]}
            key = nominal.situations[quiet].key
            yield Finding("unpowered", device, Severity.FAILS, key, figures, "part")


RULES: tuple[Rule, ...] = (
    Rule(("volts-high",), "part", volts_high, Uses.FEED),
    Rule(("restarts", "feed-low"), "part", starved, Uses.DOOR),
    Rule(("unpowered",), "part", unpowered, Uses.DOOR),
)
