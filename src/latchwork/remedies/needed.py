"""What of a walk is needed once all of it is made: cores that were bought for a lock which gave way
to another one are taken back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from latchwork.behaviour import SiteOutcome, behave_all
from latchwork.findings import Finding, Severity
from latchwork.job import JobErrors, read_job_text
from latchwork.job.changes import Change, DoesNotFit, NoSuchPlace, Set, apply
from latchwork.parts import PartsErrors
from latchwork.plan import plan
from latchwork.remedies.bench import (
    fresh,
    gravest,
    merged,
    opens_unasked,
    part_names,
    shuts_people_in,
)
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy
from latchwork.rules import judge
from latchwork.wiring import Wiring, wire


@dataclass(frozen=True, slots=True)
class _Step:
    """A step of a walk with its Changes as they are once others are taken back."""

    of: Remedy
    changes: tuple[Change, ...]


def needed(start: Scene, end: Scene, steps: Sequence[Remedy]) -> tuple[Remedy, ...]:
    """The steps from one scene to the other without those that later ones make needless, the last
    of these first; told anew, if there are such. What was put right on site stays so."""
    kept = [_Step(step, step.changes) for step in steps]
    n = _needless(start, end, kept, len(kept))
    while n is not None:
        kept = _without(kept, n)
        n = _needless(start, end, kept, n)
    return tuple(steps) if len(kept) == len(steps) else tuple(_told(start, kept))


def _needless(start: Scene, end: Scene, kept: list[_Step], before: int) -> int | None:
    """The last step ahead of some without which nothing is found that is not found in the end."""
    some: dict[int, Wiring] = {}
    for n in range(min(before, len(kept) - 1)):
        if not kept[n].of.on_site:
            wiring = _wired(start, [c for step in _without(kept, n) for c in step.changes])
            if wiring is not None:
                some[n] = wiring
    sites = behave_all(list(some.values())) if some else ()
    good = [n for n, site in zip(some, sites, strict=True) if _as_good(site, end.site)]
    return max(good, default=None)


def _as_good(site: SiteOutcome, than: SiteOutcome) -> bool:
    had = gravest(judge(than))
    return (
        not shuts_people_in(than, site)
        and not opens_unasked(than, site)
        and all(f.severity > Severity.WEAK for f in fresh(judge(site), had))
    )


def _without(steps: Sequence[_Step], n: int) -> list[_Step]:
    """The steps without one. A value that a later one sets again is set from what it was before."""
    was = {c.path: c.old for c in steps[n].changes if isinstance(c, Set)}
    out = list(steps[:n])
    for step in steps[n + 1 :]:
        changes = []
        for c in step.changes:
            if isinstance(c, Set) and c.path in was:
                c = replace(c, old=was.pop(c.path))
            if not isinstance(c, Set) or c.old != c.new:
                changes.append(c)
        out.append(_Step(step.of, tuple(changes)))
    return out


def _text(text: str, changes: Sequence[Change]) -> str:
    for change in changes:
        text, _ = apply(text, change)
    return text


def _wired(start: Scene, changes: Sequence[Change]) -> Wiring | None:
    try:
        return _wiring(start, _text(start.text, changes))
    except (NoSuchPlace, DoesNotFit, JobErrors, PartsErrors):
        return None


def _wiring(start: Scene, text: str) -> Wiring:
    return wire(plan(read_job_text(text, start.file), start.catalogue))


def _told(start: Scene, steps: Sequence[_Step]) -> Iterator[Remedy]:
    """The steps told anew. One with which no finding goes any more is one with the next."""
    texts = [start.text]
    for step in steps:
        texts.append(_text(texts[-1], step.changes))
    wirings = [_wiring(start, text) for text in texts]
    found = [{f.id: f for f in judge(site)} for site in behave_all(wirings)]
    first = 0
    for n, step in enumerate(steps):
        before, after = found[first], found[n + 1]
        gone = tuple(f for f in before.values() if f.id not in after)
        about = _about(step.of.finding, gone)
        if about is None and n + 1 < len(steps):
            continue
        some = steps[first : n + 1]
        had = set(part_names(wirings[first].plan))
        yield Remedy(
            about or step.of.finding,
            tuple(merged([c for each in some for c in each.changes])),
            texts[n + 1],
            gone,
            tuple(
                f
                for f in after.values()
                if f.id not in before or f.severity < before[f.id].severity
            ),
            tuple(name for name in part_names(wirings[n + 1].plan) if name not in had),
            any(each.of.on_site for each in some),
            any(each.of.takes_over for each in some),
        )
        first = n + 1


def _about(finding: Finding, gone: Sequence[Finding]) -> Finding | None:
    """What a step is told to be for: what it was for, or the worst that goes with it."""
    if any(f.id == finding.id for f in gone):
        return next(f for f in gone if f.id == finding.id)
    told = [f for f in gone if f.severity <= Severity.WEAK]
    return min(told, key=lambda f: f.severity, default=None)
