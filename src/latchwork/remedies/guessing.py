"""What a job only guesses or does not know, and what is found if it is one thing or the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from latchwork.behaviour import behave_all
from latchwork.elements import exactly
from latchwork.findings import Finding, Severity
from latchwork.job import Fact, JobErrors, Run, read_job_text
from latchwork.job.changes import NoSuchPlace, Value, apply, put
from latchwork.job.doors import DOOR
from latchwork.job.facts import SITE
from latchwork.job.fields import Field
from latchwork.job.values import Choice, OrNone, YesNo
from latchwork.parts import CableType, PartsErrors
from latchwork.plan import plan
from latchwork.plan.cables import LENGTH_UNKNOWN
from latchwork.quantities import FOOT_M, GUESSES, System
from latchwork.remedies.scene import Scene
from latchwork.rules import judge
from latchwork.wiring import Wiring, wire

Progress = Callable[[int, int], None]
"""Called with how many of how many doubts are tried."""

UNKNOWN = "unknown"
ASSUMED = "assumed"
"""What is said of a figure that nobody has written."""
CATALOGUE = "catalogue."
"""Where the path of a figure begins that the job takes from the catalogue."""
UNSAID = frozenset({"installer-code-unsaid", "exit-sensor-unsaid"})
"""Rules that ask for a word nobody has written."""
RATED = "30 min"
"""What a fire rating that nobody knows may be, besides none."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something guessed or unknown. ``said`` is what the file says; ``tries`` are what it may turn
    out to be: as people read it, and as it would be written at ``path``, or as the catalogue would
    have the cable whose resistance it only assumes.
    """

    path: str
    said: str
    doors: frozenset[str]
    tries: tuple[tuple[str, Value | CableType], ...]

    @property
    def of_catalogue(self) -> bool:
        """Whether the catalogue assumes it: one has to measure, and cannot simply look."""
        return self.path.startswith(CATALOGUE)


@dataclass(frozen=True, slots=True)
class Hanging:
    """A finding at "weak" or worse that comes with some of the tries and not with others."""

    finding: Finding
    at: tuple[str, ...]
    """The tries with which it is found."""


@dataclass(frozen=True, slots=True)
class Settled:
    """What one answer would settle."""

    doubt: Doubt
    hanging: tuple[Hanging, ...]


def doubts(scene: Scene) -> tuple[Doubt, ...]:
    """Everything the job guesses or does not know, in the order of the file; what is usual once."""
    found: dict[str, Doubt] = {}
    all_ = (_lengths, _figures, _words, _unsaid, _resistances)
    for doubt in (doubt for some in all_ for doubt in some(scene)):
        there = found.get(doubt.path)
        if there is not None:
            doors = there.doors | doubt.doors
            doubt = Doubt(doubt.path, doubt.said, doors, doubt.tries)
        found[doubt.path] = doubt
    return tuple(found.values())


def settled(scene: Scene, progress: Progress | None = None) -> tuple[Settled, ...]:
    """What each doubt settles, the one that settles most first, what has to be measured behind
    what one can look at. Each is tried one way and the other through the whole model, all else as
    it is."""
    every = doubts(scene)
    out = []
    for number, doubt in enumerate(every):
        if progress is not None:
            progress(number, len(every))
        out.append(Settled(doubt, _hanging(scene, doubt)))
    return tuple(sorted(out, key=_rank))


def _rank(one: Settled) -> tuple[bool, bool, int, int, str]:
    worst = min((h.finding.severity for h in one.hanging), default=Severity.NOTE)
    doubt = one.doubt
    return not one.hanging, doubt.of_catalogue, -len(one.hanging), int(worst), doubt.path


def _hanging(scene: Scene, doubt: Doubt) -> tuple[Hanging, ...]:
    tried = [(name, _wired(scene, doubt.path, value)) for name, value in doubt.tries]
    able = [(name, wiring) for name, wiring in tried if wiring is not None]
    if len(able) < 2:
        return ()
    doors = _with_neighbours(scene, doubt.doors)
    sites = behave_all([wiring for _, wiring in able], doors=[doors] * len(able))
    found: dict[tuple[str, str], tuple[Finding, list[str]]] = {}
    for (name, _), site in zip(able, sites, strict=True):
        told = set()
        for finding in judge(site):
            key = finding.rule, finding.subject
            if finding.severity <= Severity.WEAK and key not in told:
                told.add(key)
                found.setdefault(key, (finding, []))[1].append(name)
    return tuple(
        Hanging(finding, tuple(names))
        for finding, names in found.values()
        if len(names) < len(able)
    )


def _wired(scene: Scene, path: str, value: Value | CableType) -> Wiring | None:
    """The wiring with ``value`` at ``path``, or with that cable; None where that makes no job."""
    if isinstance(value, CableType):
        return wire(plan(scene.site.plan.job, scene.catalogue.with_fixed((), {value.name: value})))
    try:
        text, _ = apply(scene.text, put(scene.text, path, value))
        return wire(plan(read_job_text(text, scene.file), scene.catalogue))
    except (NoSuchPlace, JobErrors, PartsErrors):
        return None


def _with_neighbours(scene: Scene, doors: frozenset[str]) -> frozenset[str]:
    """Doors with all that hang on the same supplies; every door where none is named."""
    every = frozenset(scene.site.plan.doors)
    if not doors:
        return every
    groups = (scene.site.group_of(door) for door in doors)
    return frozenset(d for g in groups if g is not None for d in g.doors) | (doors & every)


def _place(scene: Scene, door: str, key: str) -> tuple[str, frozenset[str]]:
    """Where a key of a door is written, and which doors it concerns: its own, or usual."""
    if scene.said(f"doors.{door}.{key}") is None and scene.said(f"usual.{key}") is not None:
        return f"usual.{key}", frozenset({door})
    return f"doors.{door}.{key}", frozenset({door})


def _lengths(scene: Scene) -> Iterator[Doubt]:
    """Lengths of runs and cables."""
    job = scene.site.plan.job
    for name, run in job.cables.items():
        users = frozenset(c.door for c in scene.wiring.conductors if c.cable == name)
        yield from _length(scene, f"cables.{name}", run, users)
    for door in job.doors.values():
        for section, runs in (("runs", door.runs), ("cables", door.cables)):
            for name, run in runs.items():
                path, doors = _place(scene, door.id, f"{section}.{name}")
                yield from _length(scene, path, run, doors)


def _length(scene: Scene, path: str, run: Run, doors: frozenset[str]) -> Iterator[Doubt]:
    fact = run.length_m
    if fact is not None and fact.certainty not in GUESSES:
        return
    low, high = (
        (fact.low, fact.high) if fact is not None else (LENGTH_UNKNOWN.low, LENGTH_UNKNOWN.high)
    )
    said = fact.text if fact is not None else UNKNOWN
    us = System(scene.site.plan.job.site.units) is System.US
    names = [f"{m / FOOT_M:.4g} ft" if us else f"{m:.4g} m" for m in (low, high)]
    if isinstance(scene.said(path), Mapping):
        yield Doubt(f"{path}.length", said, doors, tuple((name, name) for name in names))
    else:
        tries = tuple((name, f"{name} of {run.cable}") for name in names)
        yield Doubt(path, said, doors, tries)


def _figures(scene: Scene) -> Iterator[Doubt]:
    """Figures of parts, joints and doors."""
    job = scene.site.plan.job
    for supply in job.supplies.values():
        doors = _users(scene, supply.id)
        yield from _guesses(f"supplies.{supply.id}", supply.use.figures, doors)
        if supply.battery is not None and isinstance(
            scene.said(f"supplies.{supply.id}.battery"), Mapping
        ):
            yield from _guesses(f"supplies.{supply.id}.battery", supply.battery.figures, doors)
    for name, use in job.devices.items():
        yield from _guesses(f"devices.{name}", use.figures, _users(scene, name))
    for door in job.doors.values():
        own = frozenset({door.id})
        for slot, use in door.devices.items():
            for word, fact in use.figures.items():
                path, doors = _place(scene, door.id, f"{slot}.{word}")
                yield from _guesses(path.rpartition(".")[0], {word: fact}, doors)
        facts = {k: v for k, v in door.facts.items() if isinstance(v, Fact)}
        for word, fact in facts.items():
            path, doors = _place(scene, door.id, word)
            yield from _guesses(path.rpartition(".")[0], {word: fact}, doors)
        for name, joint in door.joints.items():
            if joint.ohm is not None:
                yield from _guesses(
                    f"doors.{door.id}.joints.{name}", {"resistance": joint.ohm}, own
                )


def _guesses(above: str, figures: Mapping[str, Fact], doors: frozenset[str]) -> Iterator[Doubt]:
    for word, fact in figures.items():
        if fact.certainty in GUESSES:
            names = [f"{value:g} {fact.unit}" for value in (fact.low, fact.high)]
            yield Doubt(f"{above}.{word}", fact.text, doors, tuple((name, name) for name in names))


def _users(scene: Scene, device: str) -> frozenset[str]:
    return frozenset(
        door
        for group in scene.site.groups
        if device in group.supplies or device in {e.device for e in group.things.elements}
        for door in group.doors
    )


def _words(scene: Scene) -> Iterator[Doubt]:
    """Facts that nobody knows yet: lengths have been asked for."""
    job = scene.site.plan.job
    for path in job.unknown:
        section, _, key = path.partition(".")
        if not path.endswith(".length") and section != "doors":
            field = SITE.get(key) if section == "site" else None
            yield Doubt(path, UNKNOWN, frozenset(), tuple(_choices(field)))
    for door in job.doors.values():
        for path in door.unknown:
            key = path.removeprefix(f"doors.{door.id}.")
            if path.endswith(".length"):
                continue
            place, doors = _place(scene, door.id, key)
            yield Doubt(place, UNKNOWN, doors, tuple(_choices(DOOR.get(key))))


def _unsaid(scene: Scene) -> Iterator[Doubt]:
    """What the file does not speak of at all, and a rule asks."""
    for finding in judge(scene.site):
        if finding.rule in UNSAID:
            doors = frozenset({scene.door_of(finding.subject)} - {""})
            for path in finding.provisional:
                key = path.rpartition(".")[2]
                yield Doubt(path, UNKNOWN, doors, tuple(_choices(DOOR.get(key))))


def _resistances(scene: Scene) -> Iterator[Doubt]:
    """What a core of a cable reads, where the catalogue only assumes it and a finding used it."""
    found = (f for f in judge(scene.site) if f.severity <= Severity.WEAK)
    named = {path for finding in found for path in finding.provisional}
    for cable in scene.site.plan.cables.values():
        kind = cable.type
        per_m, path = kind.ohm_per_m, CATALOGUE + kind.name
        if path in named and scene.site.plan.provenance[f"{cable.id}.ohm_per_m"].path == path:
            ends = [replace(kind, ohm_per_m=exactly(ohm)) for ohm in (per_m.low, per_m.high)]
            names = [f"{end.ohm_per_m.value * 1000.0:.3g} Ω/km" for end in ends]
            users = {c.door for c in scene.wiring.conductors if c.cable == cable.id}
            yield Doubt(path, ASSUMED, frozenset(users), tuple(zip(names, ends, strict=True)))


def _choices(field: Field | None) -> Iterable[tuple[str, Value]]:
    """What a fact may turn out to be, where that is one of a few words."""
    if field is None:
        return
    kind = field.kind
    if field.name == "fire rating":
        yield from (("none", "none"), (RATED, RATED))
        return
    if isinstance(kind, OrNone):
        yield "none", "none"
        kind = kind.kind
    words = ("yes", "no") if isinstance(kind, YesNo) else ()
    for word in tuple(kind.words) if isinstance(kind, Choice) else words:
        yield word, word
