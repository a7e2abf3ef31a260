"""What of a walk is needed once all of it is made: cores that were bought for a lock which gave way
to another one are taken back, and the switch in a bar that the next lock has no use for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

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
class _Made:
    """A Change of a step, as it is once others are taken back."""

    of: Remedy
    change: Change


def needed(start: Scene, end: Scene, steps: Sequence[Remedy]) -> tuple[Remedy, ...]:
    """The steps from one scene to the other without the Changes that later ones make needless, the
    last of these first; told anew, if there are such. What was put right on site stays so."""
    if len(steps) < 2:
        return tuple(steps)
    told = tuple(steps)
    kept = [_Made(step, change) for step in steps for change in step.changes]
    n: int | None = len(kept)
    while n is not None and (n := _needless(start, end, kept, n)) is not None:
        fewer = _without(kept, n)
        anew = tuple(_told(start, fewer))
        if all(map(_mends, anew)):
            kept, told = fewer, anew
    return told


def _mends(step: Remedy) -> bool:
    """Whether a step by itself brings nothing as bad as what goes: one may stop behind it. What is
    put right on site may bring to light what is as bad."""
    return step.on_site or all(f.severity > step.finding.severity for f in step.came)


def _needless(start: Scene, end: Scene, kept: list[_Made], before: int) -> int | None:
    """The last Change ahead of some without which nothing is found that is not found in the end,
    be it a note."""
    some: dict[int, Wiring] = {}
    for n in range(before):
        if not kept[n].of.on_site:
            wiring = _wired(start, [made.change for made in _without(kept, n)])
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
        and next(fresh(judge(site), had), None) is None
    )


def _without(every: Sequence[_Made], n: int) -> list[_Made]:
    """The Changes without one. A value that a later one sets again is set from what it was
    before."""
    gone: Change | None = every[n].change
    out = list(every[:n])
    for made in every[n + 1 :]:
        change = made.change
        if isinstance(gone, Set) and isinstance(change, Set) and change.path == gone.path:
            # What sets it once more finds what this one leaves.
            change, gone = replace(change, old=gone.old), None
            if change.old == change.new:
                continue
        out.append(_Made(made.of, change))
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


def _told(start: Scene, every: Sequence[_Made]) -> Iterator[Remedy]:
    """The steps told anew. One with which no finding goes any more is one with the next."""
    steps = [(of, [made.change for made in some]) for of, some in _by_step(every)]
    texts = [start.text]
    for _, changes in steps:
        texts.append(_text(texts[-1], changes))
    wirings = [_wiring(start, text) for text in texts]
    found = [{f.id: f for f in judge(site)} for site in behave_all(wirings)]
    first = 0
    for n, (of, _) in enumerate(steps):
        before, after = found[first], found[n + 1]
        gone = tuple(f for f in before.values() if f.id not in after)
        about = _about(of.finding, gone)
        if about is None and n + 1 < len(steps):
            continue
        some = steps[first : n + 1]
        had = set(part_names(wirings[first].plan))
        yield Remedy(
            about or of.finding,
            tuple(merged([c for _, changes in some for c in changes])),
            texts[n + 1],
            gone,
            tuple(
                f
                for f in after.values()
                if f.id not in before or f.severity < before[f.id].severity
            ),
            tuple(name for name in part_names(wirings[n + 1].plan) if name not in had),
            any(each.on_site for each, _ in some),
            any(each.takes_over for each, _ in some),
        )
        first = n + 1


def _by_step(every: Sequence[_Made]) -> Iterator[tuple[Remedy, list[_Made]]]:
    for _, some in groupby(every, key=lambda made: id(made.of)):
        of_one = list(some)
        yield of_one[0].of, of_one


def _about(finding: Finding, gone: Sequence[Finding]) -> Finding | None:
    """What a step is told to be for: what it was for, or the worst that goes with it."""
    if any(f.id == finding.id for f in gone):
        return next(f for f in gone if f.id == finding.id)
    told = [f for f in gone if f.severity <= Severity.WEAK]
    return min(told, key=lambda f: f.severity, default=None)
