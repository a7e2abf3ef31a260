"""Thicker cores, more cores, another kind of cable."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from latchwork.behaviour import Power
from latchwork.findings import Finding
from latchwork.remedies.candidate import NOTHING, Candidate, to_drop, to_put
from latchwork.remedies.moves.locks import like_lock
from latchwork.remedies.scene import Scene

METRIC_MM2 = (0.22, 0.5, 0.75, 1.0, 1.5, 2.5, 4)
GAUGES = (24, 22, 20, 18, 16, 14, 12)
"""Sizes of cores to choose from, thinnest first, up to the thickest that the catalogue has."""
CORES = (2, 3, 4, 6, 8, 10, 12)
OF_ITS_OWN = ("loop resistance", "core resistance", "resistance", "current limit")
"""What is said of one cable and of no other."""
_SIZED = re.compile(r"(\d+) x ([\d.]+) (mm²|AWG)(.*)")


@dataclass(frozen=True, slots=True)
class RunText:
    """A run as written: its length's text, and its cable's. ``path`` is where the cable stands
    ("" where it is usual), ``whole`` whether length and cable stand in one text; ``figures`` where
    it is said what this very cable has, which another has not."""

    door: str
    leg: str
    length: str
    cable: str
    path: str
    whole: bool
    figures: tuple[str, ...] = ()

    def with_cable(self, cable: str) -> Candidate:
        """The same run of another cable."""
        text = f"{self.length} of {cable}" if self.whole else cable
        return sum(map(to_drop, self.figures), to_put(self.path, text))

    def with_cores(self, cores: int) -> Candidate:
        """The same run with so many cores of the same size, where it has fewer."""
        match = _SIZED.fullmatch(self.cable)
        if match is None or int(match[1]) >= cores:
            return NOTHING
        return self.with_cable(f"{cores} x {match[2]} {match[3]}{match[4]}")


def runs_of(scene: Scene, door: str) -> list[RunText]:
    """The runs and own cables of a door."""
    found = []
    for section in ("runs", "cables"):
        planned = scene.site.plan.job.doors[door]
        names = planned.runs if section == "runs" else planned.cables
        for leg, run in names.items():
            own = scene.said(f"doors.{door}.{section}.{leg}")
            said = own if own is not None else scene.said(f"usual.{section}.{leg}")
            path = f"doors.{door}.{section}.{leg}"
            if isinstance(said, str):
                length = said.partition(" of ")[0]
                found.append(RunText(door, leg, length, run.cable, path, True))
            elif isinstance(own, dict):
                its = tuple(f"{path}.{word}" for word in OF_ITS_OWN if word in own)
                found.append(RunText(door, leg, "", run.cable, f"{path}.cable", False, its))
    return found


def shared_cables(scene: Scene) -> list[RunText]:
    """The cables of the site."""
    found = []
    for name, run in scene.site.plan.job.cables.items():
        said = scene.said(f"cables.{name}")
        if isinstance(said, str):
            length = said.partition(" of ")[0]
            found.append(RunText("", name, length, run.cable, f"cables.{name}", True))
        elif isinstance(said, dict):
            its = tuple(f"cables.{name}.{word}" for word in OF_ITS_OWN if word in said)
            found.append(RunText("", name, "", run.cable, f"cables.{name}.cable", False, its))
    return found


def sizes(cable: str, used: int = 0) -> list[str]:
    """The cable in every size with as many cores, thinnest first; a cable whose cores have no
    size of their own in all metric sizes with ``used`` cores."""
    match = _SIZED.fullmatch(cable)
    if match is not None and match[3] == "AWG":
        return [f"{match[1]} x {gauge} AWG{match[4]}" for gauge in GAUGES]
    cores = match[1] if match is not None else next((n for n in CORES if n >= used), CORES[-1])
    more = match[4] if match is not None else ""
    return [f"{cores} x {area} mm²{more}" for area in METRIC_MM2]


def thicker(cable: str, used: int = 0) -> list[str]:
    """The sizes above that of a cable."""
    match = _SIZED.fullmatch(cable)
    offers = sizes(cable, used)
    if match is None:
        return offers[1:]
    if match[3] == "AWG":
        return [o for o, gauge in zip(offers, GAUGES, strict=True) if gauge < float(match[2])]
    return [o for o, area in zip(offers, METRIC_MM2, strict=True) if area > float(match[2])]


def used_cores(scene: Scene, run: RunText) -> int:
    """How many cores of a run are wired."""
    name = f"{run.door}.{run.leg}" if run.door else run.leg
    return len({c.core for c in scene.wiring.conductors if c.cable == name})


def keeps_found(scene: Scene, run: RunText, cable: str) -> bool:
    """Whether what was found of a run's cores is found of the same ones in another cable. In a run
    wired as standard a colour is another core where they come in another order; by rows of its own
    each core keeps its colour."""
    found, rows = (scene.said(f"doors.{run.door}.{what}") for what in ("found", "wiring"))
    if not run.door or f"{run.leg} " not in str(found) or f"{run.leg} " in str(rows):
        return True
    now, then = (
        [core.name for core in scene.catalogue.cable(each).cores] for each in (run.cable, cable)
    )
    return now == then[: len(now)]


def _thicker(scene: Scene, run: RunText) -> list[str]:
    offers = thicker(run.cable, used_cores(scene, run))
    return [cable for cable in offers if keeps_found(scene, run, cable)]


def thicker_cores(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """One run thicker, each and by each size; then all that carry the lock's current."""
    runs = _concerned(scene, finding)
    offers = [_thicker(scene, run) for run in runs]
    deepest = max((len(offer) for offer in offers), default=0)
    for step in range(deepest):
        for run, offer in zip(runs, offers, strict=True):
            if step < len(offer):
                yield run.with_cable(offer[step])
    for step in range(deepest):
        together = NOTHING
        for run, offer in zip(runs, offers, strict=True):
            if offer:
                together += run.with_cable(offer[min(step, len(offer) - 1)])
        if len(together.makes) > 1:
            yield together


def reader_cores(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The reader's run thicker: what feeds it shifts its ground, and a line is not low any more."""
    door = scene.door_of(finding.subject)
    for run in runs_of(scene, door) if door else ():
        if run.leg == "reader":
            for cable in _thicker(scene, run):
                yield run.with_cable(cable)


def cores_for_battery(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Thicker cores for what stops as a battery ends and not before: it wants volts."""
    if finding.figures.get("power") == Power.BATTERY_END:
        yield from thicker_cores(scene, finding)


def lock_and_cores(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another lock of the same kind, on thicker cores."""
    door = scene.door_of(finding.subject)
    runs = [run for run in _concerned(scene, finding) if run.door == door][:1]
    for lock in like_lock(scene, finding):
        for run in runs:
            for cable in _thicker(scene, run):
                yield lock + run.with_cable(cable)


def named_cable(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The run that the finding names, thicker."""
    for run in _named(scene, finding):
        for cable in _thicker(scene, run):
            yield run.with_cable(cable)


def more_cores(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The runs of the door with more cores of the same size."""
    door = scene.door_of(finding.subject)
    runs = _named(scene, finding) or (runs_of(scene, door) if door else _users(scene, finding))
    for run in runs:
        match = _SIZED.fullmatch(run.cable)
        if match is None:
            continue
        for cores in CORES:
            if cores > int(match[1]):
                yield run.with_cable(f"{cores} x {match[2]} {match[3]}{match[4]}")


def plain_copper(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The same cable of copper."""
    for run in _named(scene, finding):
        yield run.with_cable(re.sub(r", *copper[- ]clad", "", run.cable))


def _users(scene: Scene, finding: Finding) -> list[RunText]:
    """The runs of all doors that a shared device serves."""
    doors = [d.id for d in scene.site.plan.doors.values() if finding.subject in d.devices.values()]
    return [run for door in doors for run in runs_of(scene, door)]


def _named(scene: Scene, finding: Finding) -> list[RunText]:
    subject = finding.subject
    door = scene.door_of(subject)
    for run in runs_of(scene, door) if door else shared_cables(scene):
        name = f"{door}.{run.leg}" if door else run.leg
        if subject == name or subject.startswith(f"{name}."):
            return [run]
    return []


def _concerned(scene: Scene, finding: Finding) -> list[RunText]:
    """The runs a lock's current goes through, the longest legs of the door first."""
    door = scene.door_of(finding.subject)
    if not door:
        return []
    runs = [r for r in runs_of(scene, door) if r.leg not in _SIGNALS]
    used = {c.cable for c in scene.wiring.conductors if c.door == door}
    shared = [r for r in shared_cables(scene) if r.leg in used]
    plan = scene.site.plan

    def length(run: RunText) -> float:
        return plan.cables[f"{run.door}.{run.leg}" if run.door else run.leg].length_m.value

    return sorted((*runs, *shared), key=length, reverse=True)


_SIGNALS = ("exit", "contact", "tamper", "reader", "bell", "radio")
