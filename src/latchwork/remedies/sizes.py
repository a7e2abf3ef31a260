"""What of a job has a size: runs by their cores, supplies by their limit and by their battery."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from latchwork.elements import Certainty
from latchwork.findings import Finding
from latchwork.remedies.bench import Bench
from latchwork.remedies.candidate import Candidate
from latchwork.remedies.moves.cables import RunText, keeps_found, runs_of, shared_cables, sizes
from latchwork.remedies.moves.supplies import batteries, limits, ratings
from latchwork.remedies.scene import Scene

RUN, LIMIT, BATTERY = "run", "limit", "battery"
CHARGING = "supply-overload"
"""What a bigger battery makes worse."""
UNPROTECTED = "fuse-over-cable"
"""What a higher limit makes worse."""
STARVED = frozenset(
    {
        "no-entry",
        "volts-low",
        "no-relock",
        "pull-low",
        "restarts",
        "feed-low",
        "unpowered",
        "chatter",
    }
)
"""What too few volts do at a door: where the largest cores leave one of these that makes the door
fail, they are bought in vain for another that is no graver."""
MARGIN = "standby-margin"
SHORT_OF = frozenset({"pull-low", MARGIN})
"""What is told of as a note, and is too small for something that is yet to be bought."""
MEASURED = "loop-resistance"
"""What was read of cores that are there: others have no reading, which is no cure."""
NEVER_TELL = {BATTERY: {CHARGING, UNPROTECTED}, LIMIT: {UNPROTECTED, MARGIN}}
"""By kind of size: the rules whose findings do not tell that it is too small."""


@dataclass(frozen=True)
class Size:
    """Something that has a size. ``options`` are its sizes as written, smallest first; ``owners``
    the doors and supplies whose findings tell whether it is big enough; ``now`` as the job has it.
    """

    kind: str
    id: str
    owners: frozenset[str]
    now: str
    options: tuple[str, ...]
    candidates: tuple[Candidate, ...] = field(repr=False)
    length_m: float = 0.0

    def told_by(self, finding: Finding) -> bool:
        """Whether a finding may tell that it is too small."""
        return _head(finding) in self.owners and finding.rule not in NEVER_TELL.get(self.kind, ())


def every_size(scene: Scene) -> Iterable[Size]:
    """Everything in a job that may be had in several sizes: runs, then limits and batteries."""
    planned = scene.site.plan
    unknown = {
        cable.door
        for cable in planned.cables.values()
        if cable.length_m.certainty is Certainty.UNKNOWN
    }
    # How thick cores must be hangs on every length of a door: none may be unknown.
    for door in (name for name in planned.doors if name not in unknown):
        for run in runs_of(scene, door):
            yield from _of_run(scene, run, frozenset({door}))
    for run in shared_cables(scene):
        users = {c.door for c in scene.wiring.conductors if c.cable == run.leg}
        yield from _of_run(scene, run, frozenset(users | {run.leg}))
    for supply in planned.supplies:
        owners = frozenset({supply, *_doors_on(scene, supply)})
        part = planned.devices[supply].part
        offers = list(limits(scene, supply))
        if offers and "limit_a" in part.figures:
            amps = part.figures["limit_a"].value
            yield _size(LIMIT, supply, owners, "{:.1f} A", amps, offers)
        rated = list(ratings(scene, supply))
        if rated:
            figures = part.figures
            now_va = figures["limit_a"].value * figures["nominal_v"].value
            yield _size(LIMIT, supply, owners, "{:g} VA", round(now_va, 6), rated)
        battery = planned.supplies[supply].battery_ah
        if planned.supplies[supply].battery_blocks and battery is not None:
            yield _size(
                BATTERY, supply, owners, "{:g} Ah", battery.value, list(batteries(scene, supply))
            )


def _size(
    kind: str,
    name: str,
    owners: frozenset[str],
    unit: str,
    now: float,
    offers: list[tuple[float, Candidate]],
) -> Size:
    """``unit`` writes a size; ``now`` is the job's, among the ``offers`` or not."""
    pairs = _with_now(offers, now)
    options = tuple(unit.format(value) for value, _ in pairs)
    return Size(kind, name, owners, unit.format(now), options, tuple(c for _, c in pairs))


def _with_now(pairs: list[tuple[float, Candidate]], now: float) -> list[tuple[float, Candidate]]:
    """The sizes there are, and the one that the job has."""
    if all(abs(value - now) > 1e-9 for value, _ in pairs):
        pairs.append((now, Candidate(())))
    return sorted(pairs, key=lambda pair: pair[0])


def _of_run(scene: Scene, run: RunText, owners: frozenset[str]) -> Iterable[Size]:
    """A run whose cores have a size of their own."""
    options = sizes(run.cable)
    name = f"{run.door}.{run.leg}" if run.door else run.leg
    cable = scene.site.plan.cables.get(name)
    if cable is None or run.cable.split(" x ")[0] != options[0].split(" x ")[0]:
        return
    now = next((o for o in options if scene.catalogue.cable(o).name == cable.type.name), "")
    if not now:
        return
    options = [option for option in options if keeps_found(scene, run, option)]
    candidates = [run.with_cable(option) for option in options]
    if _cores_named(scene, run.door):
        # Thin cores have other colours: a row that names one leaves no choice.
        bench = Bench(scene)
        pairs = list(zip(options, candidates, strict=True))
        pairs = [(o, c) for o, c in pairs if o == now or bench.lay(c) is not None]
        options, candidates = [o for o, _ in pairs], [c for _, c in pairs]
    yield Size(RUN, name, owners, now, tuple(options), tuple(candidates), cable.length_m.value)


def _cores_named(scene: Scene, door: str) -> bool:
    """Whether rows or deviations may name cores of a door's runs, or of shared cables."""
    paths = [f"doors.{door}.wiring", f"doors.{door}.found"] if door else []
    return not door or any(scene.said(path) is not None for path in (*paths, "wiring", "found"))


def _doors_on(scene: Scene, supply: str) -> set[str]:
    return {d for g in scene.site.groups if supply in g.supplies for d in g.doors}


def _head(finding: Finding) -> str:
    return finding.subject.split(".")[0]
