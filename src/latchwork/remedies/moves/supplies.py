"""Supplies: one that gives more, a battery, another fuse, another output."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import count

from latchwork.findings import Finding
from latchwork.job.changes import Change, NoSuchPlace, put
from latchwork.parts import BATTERY_FUSE, Part
from latchwork.power.battery import BLOCKS_AH
from latchwork.quantities import CURRENT, QuantityError, parse
from latchwork.remedies.candidate import NOTHING, Candidate, to_drop, to_put, to_repair
from latchwork.remedies.scene import Scene
from latchwork.rules import View
from latchwork.rules.made_for import mismatched

SIZE = frozenset({"limit_a", "fold_a", "battery_fuse_a"})
"""Figures in which a supply differs from the next larger one of its make."""
RATINGS_VA = (8.0, 12.0, 16.0, 24.0, 40.0, 60.0)
BLOCK_V = 12.0
FUSES_A = (0.25, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0)
"""Sizes that can be had (common practice, no source)."""


def supplies_at(scene: Scene, finding: Finding) -> tuple[str, ...]:
    """The supply a finding is about, or those of its door."""
    head = finding.subject.split(".")[0]
    if head in scene.site.plan.supplies:
        return (head,)
    door = scene.door_of(finding.subject)
    return scene.supplies_of(door) if door else ()


def limits(scene: Scene, supply: str) -> Iterator[tuple[float, Candidate]]:
    """Every limit that the catalogue has a supply of this make for, smallest first: a limit is a
    property of what one buys, so the part changes, and what was said of its limit goes."""
    use = scene.site.plan.job.supplies[supply].use
    now = scene.catalogue.find(use.part, "supply")
    if now.kind.word("limit") is None:
        return
    plain = now.resolve()
    found: dict[float, Candidate] = {}
    for spec, part in ((now, plain), *scene.specs("supply")):
        if part.kind == plain.kind and _alike(part, plain):
            found.setdefault(part.figures["limit_a"].value, _other_size(scene, supply, spec.name))
    yield from sorted(found.items(), key=lambda each: each[0])


def _alike(part: Part, now: Part) -> bool:
    """Whether a supply differs from another in what it gives alone, and in outputs it has more."""
    had = {t.name for t in now.terminals}
    if not had <= {t.name for t in part.terminals}:
        return False
    figures, others = _ranges(now), _ranges(part)
    return all(others.get(name) == each for name, each in figures.items()) and all(
        part.facts.get(name) == fact for name, fact in now.facts.items() if name != "outputs"
    )


def _ranges(part: Part) -> dict[str, tuple[float, float]]:
    return {name: (f.low, f.high) for name, f in part.figures.items() if name not in SIZE}


def _other_size(scene: Scene, supply: str, name: str) -> Candidate:
    """Another part for a supply, with all that the job says of it but its limit."""
    path = f"supplies.{supply}"
    if not isinstance(scene.said(path), Mapping):
        return to_put(path, name)
    made = to_put(f"{path}.part", name) if scene.said(f"{path}.part") != name else NOTHING
    return made if scene.said(f"{path}.limit") is None else made + to_drop(f"{path}.limit")


def ratings(scene: Scene, supply: str) -> Iterator[tuple[float, Candidate]]:
    """Every rating that a transformer may have, by volt-amperes, smallest first."""
    if scene.site.plan.devices[supply].part.kind == "transformer":
        for rating in RATINGS_VA:
            name = scene.site.plan.job.supplies[supply].use.part
            yield rating, _said(name, supply, "rating", f"{rating:g} VA")


def _said(part: str, supply: str, word: str, value: str) -> Candidate:
    """A word of a supply, also where only its part's name stands."""

    def make(text: str) -> Change:
        try:
            return put(text, f"supplies.{supply}.{word}", value)
        except NoSuchPlace:
            return put(text, f"supplies.{supply}", {"part": part, word: value})

    return Candidate((make,))


def higher_limit(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The next larger supplies of the catalogue."""
    for supply in supplies_at(scene, finding):
        now = scene.site.plan.devices[supply].part.figures.get("limit_a")
        for limit, candidate in limits(scene, supply):
            if now is not None and limit > now.value:
                yield candidate


def higher_rating(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A transformer of more volt-amperes, as small as will do."""
    for supply in supplies_at(scene, finding):
        figures = scene.site.plan.devices[supply].part.figures
        for rating, candidate in ratings(scene, supply):
            if rating > figures["rated_va"].value:
                yield candidate


def stronger_port(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A port of a higher class; not for what must leave the port, made for other volts."""
    strange = mismatched(View(scene.site))
    for supply in supplies_at(scene, finding):
        kind = scene.site.plan.devices[supply].part.kind
        group = next(g for g in scene.site.groups if supply in g.supplies)
        if any(e.device in strange for e in group.things.elements):
            continue
        for spec, part in scene.specs("supply"):
            if part.kind == kind:
                yield to_put(f"supplies.{supply}.part", spec.name)
                yield to_put(f"supplies.{supply}", spec.name)


def batteries(scene: Scene, supply: str) -> Iterator[tuple[float, Candidate]]:
    """Every battery that a supply may have, by amp-hours, smallest first."""
    part = scene.site.plan.devices[supply].part
    nominal = part.figures.get("nominal_v")
    if nominal is None or part.kind not in ("supply", "timed supply"):
        return
    blocks = round(nominal.value / BLOCK_V)
    name = scene.site.plan.job.supplies[supply].use.part
    for ah in BLOCKS_AH:
        yield float(ah), _said(name, supply, "battery", f"{blocks} x {BLOCK_V:g} V {ah} Ah")


def bigger_battery(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A battery, or one of more amp-hours: first those that have the margin besides, as nobody buys
    one that the power sheet finds too small. One with little charge left is charged, or another of
    its size fitted, before a larger one is bought."""
    wanted_ah = float(finding.figures.get("plain_ah", 0.0))
    for supply in supplies_at(scene, finding):
        left = f"supplies.{supply}.battery charge left"
        if scene.said(left) is not None:
            yield to_repair(left)
        planned = scene.site.plan.supplies[supply]
        now = planned.battery_ah.value if planned.battery_blocks and planned.battery_ah else 0.0
        larger = [each for each in batteries(scene, supply) if each[0] > now]
        for _, candidate in sorted(larger, key=lambda each: each[0] < wanted_ah):
            yield candidate


def smaller_battery(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A battery that takes less to charge, as large as will do; only where hours are asked that
    tell whether it will."""
    if scene.site.plan.job.site.standby_h is None:
        return
    for supply in supplies_at(scene, finding):
        now = scene.site.plan.supplies[supply].battery_ah
        for ah, candidate in reversed(list(batteries(scene, supply))):
            if now is not None and ah < now.value:
                yield candidate


def other_battery(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A battery of the supply's own volts, of as many amp-hours or more."""
    for supply in supplies_at(scene, finding):
        now = scene.site.plan.supplies[supply].battery_ah
        for ah, candidate in batteries(scene, supply):
            if now is None or ah >= now.value:
                yield candidate


def bigger_fuse(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A bigger fuse at the output or the battery, as small as will do."""
    supply, dot, own = finding.subject.partition(".")
    if dot and own == BATTERY_FUSE:
        now = scene.site.plan.devices[supply].part.figures["battery_fuse_a"].value
        for amps in FUSES_A:
            if amps > now:
                yield to_put(f"supplies.{supply}.{own}", _shown(amps))
        return
    supply, _, fuse = finding.subject.partition(".fuse ")
    path = f"supplies.{supply}.outputs.{fuse}"
    written = scene.said(path)
    if not isinstance(written, dict):
        return
    kind = "polymer fuse" if "polymer fuse" in written else "fuse"
    now = _amps(str(written.get(kind, "")))
    for amps in FUSES_A:
        if amps > now:
            yield to_put(f"{path}.{kind}", _shown(amps))


def smaller_fuse(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A smaller fuse at an output, as large as will do, or a supply that gives less."""
    by = str(finding.figures.get("by", ""))
    supply, dot, fuse = by.partition(".fuse ")
    if dot:
        path = f"supplies.{supply}.outputs.{fuse}"
        written = scene.said(path)
        if isinstance(written, dict):
            kind = "polymer fuse" if "polymer fuse" in written else "fuse"
            now = _amps(str(written.get(kind, "")))
            for amps in reversed([a for a in FUSES_A if a < now]):
                yield to_put(f"{path}.{kind}", _shown(amps))
        return
    supply = by.rpartition(" ")[2]
    if supply in scene.site.plan.supplies:
        now = scene.site.plan.devices[supply].part.figures["limit_a"].value
        for limit, candidate in reversed(list(limits(scene, supply))):
            if limit < now:
                yield candidate


def _shown(amps: float) -> str:
    return f"{amps:g} A" if amps != int(amps) else f"{amps:.1f} A"


def other_feed(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another supply or output for the door, or for the device that has one of its own."""
    door = scene.door_of(finding.subject)
    if not door:
        return
    for slot, use in scene.site.plan.job.doors[door].devices.items():
        if "supply" in use.settings:
            yield to_drop(f"doors.{door}.{slot}.supply")
    now = [_made(scene, name) for name in scene.supplies_of(door)]
    for supply in scene.site.plan.supplies.values():
        if (
            finding.rule not in ("wrong-voltage", "port-feeds-lock")
            and now
            and _made(scene, supply.id) not in now
        ):
            continue
        outputs = [f"{supply.id} out {o}" for o in supply.outputs if o != "+"]
        for feed in outputs or [supply.id]:
            yield to_put(f"doors.{door}.supply", feed)


def other_current(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A supply of the other kind of current for as many volts, where the one before it stood; not
    for one with a battery, which no transformer charges."""
    for supply in supplies_at(scene, finding):
        if scene.site.plan.supplies[supply].battery_blocks:
            continue
        volts, kind = _made(scene, supply)
        written = scene.said(f"supplies.{supply}")
        place = written.get("place") if isinstance(written, Mapping) else None
        for spec, part in scene.specs("supply"):
            figure = part.figures.get("nominal_v")
            other = str(part.facts.get("current_kind")) != kind
            if figure is not None and figure.value == volts and other:
                new = spec.name if place is None else {"part": spec.name, "place": place}
                yield to_put(f"supplies.{supply}", new)


def own_supply(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A supply of its own for a lock, of the lock's volts: one that is there, or one bought for it,
    with a battery where the site asks for hours."""
    door, slot = scene.door_of(finding.subject), scene.slot_of(finding.subject)
    if not door or slot not in scene.locks(door):
        return
    plan = scene.site.plan
    made_v = float(finding.figures["made_v"])
    path = f"doors.{door}.{slot}"
    written = scene.said(path)
    lock = (
        written
        if isinstance(written, Mapping)
        else {"part": plan.job.doors[door].devices[slot].part}
    )
    for supply in plan.supplies:
        if _made(scene, supply) == (made_v, "dc"):
            yield to_put(path, {**lock, "supply": supply})
    new = next(name for n in count(1) if (name := f"S{n}") not in {*plan.devices, *plan.doors})
    feed = to_put(path, {**lock, "supply": new})
    name, blocks = f"supply {made_v:g} V", round(made_v / BLOCK_V)
    for ah in BLOCKS_AH if plan.job.site.standby_h is not None and blocks else ():
        battery = f"{blocks} x {BLOCK_V:g} V {ah} Ah"
        yield to_put(f"supplies.{new}", {"part": name, "battery": battery}) + feed
    yield to_put(f"supplies.{new}", name) + feed


def _made(scene: Scene, supply: str) -> tuple[float, str]:
    """The volts and the kind of current of a supply."""
    part = scene.site.plan.devices[supply].part
    volts = part.figures.get("nominal_v")
    return (volts.value if volts else 0.0), str(part.facts.get("current_kind"))


def returns_alone(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A supply that comes back by itself after a flat battery."""
    for supply in supplies_at(scene, finding):
        if scene.said(f"supplies.{supply}.returns by itself") is not None:
            yield to_drop(f"supplies.{supply}.returns by itself")
        if scene.said(f"supplies.{supply}.folds back to") is not None:
            yield to_drop(f"supplies.{supply}.folds back to")
        together = NOTHING
        for word in ("returns by itself", "folds back to"):
            if scene.said(f"supplies.{supply}.{word}") is not None:
                together += to_drop(f"supplies.{supply}.{word}")
        if len(together.makes) > 1:
            yield together


def tells_of_its_fault(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A supply that tells that it gives nothing before its battery is flat."""
    for supply in supplies_at(scene, finding):
        planned = scene.site.plan.supplies[supply]
        facts = scene.site.plan.devices[supply].part.facts
        if planned.battery_blocks and facts.get("tells_of_its_fault") is not True:
            name = scene.site.plan.job.supplies[supply].use.part
            yield _said(name, supply, "tells of its fault", "yes")


def inside(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The supply on the secure side."""
    for supply in supplies_at(scene, finding):
        yield to_drop(f"supplies.{supply}.place")
        yield to_put(f"supplies.{supply}.place", "inside")


def _amps(text: str) -> float:
    try:
        found = parse(text, CURRENT)
    except QuantityError:
        return 0.0
    return found.value if found is not None else 0.0
