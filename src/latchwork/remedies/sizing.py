"""Sizes: the smallest conductor of every run, the smallest limit and battery of every supply.

What is found with everything at its largest no size can cure. Runs start as the job has them, the
longest of a door at their largest where the door needs it, so that none is made thicker to let
another be thinner, nor at a door that fails for want of volts whatever its cores; supplies start at
their largest. Each size goes down as far as nothing else comes to be found: by halving, for a
thicker core, a higher limit or a bigger battery never makes worse what it cures. A bigger battery
takes more to charge: that counts for its supply's limit and never for its own size; a higher limit
is more than thin cores may carry: that counts for the cores and never for the limit. Doors are
tried side by side in one run of the site, a run of each door at a time; at the end all sizes are
judged together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Finding, Severity
from latchwork.job import read_job_text
from latchwork.job.changes import Change, apply
from latchwork.plan import plan
from latchwork.remedies.bench import Graver, gravest
from latchwork.remedies.scene import Scene
from latchwork.remedies.sizes import (
    BATTERY,
    CHARGING,
    LIMIT,
    MEASURED,
    RUN,
    SHORT_OF,
    STARVED,
    UNPROTECTED,
    Size,
    every_size,
)
from latchwork.rules import judge
from latchwork.wiring import wire

Progress = Callable[[int, int, int], None]
"""Called with the number of the run of the site that goes on, its doors done, and its doors."""

METER_SHARE = 0.005
"""Volts that differ by less are told apart by no meter of the ordinary kind (common practice, no
source)."""

MOST_REPAIRS = 20
"""Rounds of steps up at the end; what is found after them is told as left."""


@dataclass(frozen=True)
class Sized:
    """A size as found: the smallest that will do, and the finding that comes one size below (None
    where it is the smallest there is). ``wants_more``: even the largest there is will not do."""

    size: Size
    smallest: str
    keeps_from: Finding | None
    wants_more: bool

    @property
    def short_v(self) -> float | None:
        """The volts that are wanting one size below, where they are fewer than a meter tells: the
        size hangs on less than anybody knows of the job. None where it hangs on more."""
        return _hair_v(self.keeps_from) if self.keeps_from is not None else None


@dataclass(frozen=True)
class Sizing:
    """All sizes, the Changes that set them, the text then, and what no size cures."""

    sized: tuple[Sized, ...]
    changes: tuple[Change, ...]
    text: str
    left: tuple[Finding, ...]


def smallest_sizes(scene: Scene, progress: Progress | None = None) -> Sizing:
    """The smallest sizes that leave no finding at "weak" or worse which a size can cure, nor a
    magnet short of pull, nor a battery short of its margin."""
    search = _Search(scene, tuple(every_size(scene)), progress)
    search.start()
    supplies = [s for s in search.all if s.kind != RUN]
    # What a battery takes to charge counts for the limit, so that it is sized first.
    for kind in (BATTERY, LIMIT):
        for some in _apart([s for s in supplies if s.kind == kind]):
            search.shrink(some)
    for some in _one_a_door([s for s in search.all if s.kind == RUN]):
        search.shrink(some)
    for kind in (BATTERY, LIMIT):
        # Thinner cores draw less: what was set for the thickest may be smaller still.
        for some in _apart([s for s in supplies if s.kind == kind]):
            search.shrink(some)
    left = search.repair()
    changes, text = search.laid(search.chosen)
    return Sizing(
        tuple(search.sized(size, left) for size in search.all),
        changes,
        text,
        left,
    )


class _Search:
    """The sizes as chosen so far, and what the site does with them."""

    def __init__(self, scene: Scene, all_: tuple[Size, ...], progress: Progress | None) -> None:
        self.scene = scene
        self.all = all_
        self.chosen = {size: len(size.options) - 1 for size in all_}
        self.started = dict(self.chosen)
        self.why: dict[Size, Finding] = {}
        self.allowed: dict[tuple[str, str], Severity] = {}
        self.had_v: dict[tuple[str, str], float] = {}
        """Volts of what is a note with the job's own cores: thinner ones are not to take more."""
        self._progress = progress
        self._runs = 1
        """The site as it is was run by whoever set the scene."""

    def start(self) -> None:
        """What is found with everything at its largest is what no size cures; nor does a smaller
        battery what is found of charging it, nor a lower limit what the job has of its cores."""
        now = _worst(_too_small(judge(self.scene.site)))
        found = self.found(self.chosen)
        largest = _worst(found)
        batteries = dict.fromkeys((s for s in self.all if s.kind == BATTERY), 0)
        if any(rule == CHARGING for rule, _ in largest) and batteries:
            least = _worst(self.found({**self.chosen, **batteries}))
            largest = {
                key: max(severity, least.get(key, Severity.NOTE))
                if key[0] == CHARGING
                else severity
                for key, severity in largest.items()
            }
        self.allowed = {
            key: severity
            for key, severity in largest.items()
            if key[0] != UNPROTECTED or key in now
        } | {key: severity for key, severity in now.items() if key[0] == MEASURED}
        self._open(now, found)
        self.started = dict(self.chosen)

    def _open(self, now: Mapping[tuple[str, str], Severity], largest: Collection[Finding]) -> None:
        """Runs as the job has them, but those whose doors have something ``now`` that needs them
        larger: the longest of each first."""
        shut = sorted((s for s in self.all if s.kind == RUN), key=lambda s: -s.length_m)
        as_is = {size: size.options.index(size.now) for size in shut}
        had = self.found({**self.chosen, **as_is})
        self.had_v = _note_volts(had)
        vain = _worst(self._in_vain(had, largest))
        self.allowed |= {k: min(v, self.allowed.get(k, Severity.NOTE)) for k, v in vain.items()}
        while shut:
            as_is = {size: size.options.index(size.now) for size in shut}
            bad = [
                f
                for f in self.bad({**self.chosen, **as_is})
                if f.rule != UNPROTECTED or (f.rule, f.subject) in now
            ]
            opened: list[Size] = []
            for size in shut:
                told = [f for f in bad if size.told_by(f)]
                if told and not any(size.owners & other.owners for other in opened):
                    opened.append(size)
            if not opened:
                self.chosen |= as_is
                return
            shut = [size for size in shut if size not in opened]

    def _in_vain(self, now: Collection[Finding], largest: Iterable[Finding]) -> Iterator[Finding]:
        """What larger cores would cure at doors that fail for want of volts all the same: no less,
        and as ordinarily, as with the cores that they have."""
        had, left = _worst_starved(now), _worst_starved(largest)
        for finding in now:
            door = _door(finding.subject)
            worst = left.get(door)
            if finding.rule not in STARVED or worst is None or worst != had.get(door):
                continue
            if worst[0] <= min(finding.severity, Severity.FAILS):
                yield finding

    def shrink(self, some: Iterable[Size]) -> None:
        """Each of ``some`` as small as it may be, all at once; no two of them of one owner."""
        low = dict.fromkeys(some, 0)
        high = {size: self.chosen[size] for size in low}
        while any(low[size] < high[size] for size in low):
            middle = {size: (low[size] + high[size]) // 2 for size in low}
            bad = self.bad({**self.chosen, **middle})
            for size in low:
                mine = [f for f in bad if size.told_by(f)]
                if low[size] == high[size]:
                    continue
                if mine:
                    low[size] = middle[size] + 1
                    self.why[size] = _clearest(mine)
                else:
                    high[size] = middle[size]
        self.chosen |= low
        for size in low:
            if low[size] == 0:
                self.why.pop(size, None)

    def repair(self) -> tuple[Finding, ...]:
        """Step up what is too small once all sizes stand together; what is left no size cures."""
        for _ in range(MOST_REPAIRS):
            found = self.found(self.chosen)
            bad = [f for f in found if self._is_bad(f)]
            steps = [
                size
                for size in self.all
                if any(map(size.told_by, bad)) and self.chosen[size] < self._most(size, bad)
            ]
            if not steps:
                return tuple(found)
            for size in steps:
                self.chosen[size] += 1
                self.why[size] = _clearest([f for f in bad if size.told_by(f)])
        return tuple(self.found(self.chosen))

    def _most(self, size: Size, bad: Iterable[Finding]) -> int:
        """The largest that a size may be: a run as it started, unless it is its own cores."""
        own = any(f.rule == UNPROTECTED and f.subject == size.id for f in bad)
        return len(size.options) - 1 if own else self.started[size]

    def sized(self, size: Size, left: Iterable[Finding]) -> Sized:
        """A size as chosen, where ``left`` is what no size cures."""
        chosen = self.chosen[size]
        at_end = size.kind == LIMIT and chosen == len(size.options) - 1
        wants_more = at_end and any(f.rule == CHARGING and f.subject == size.id for f in left)
        return Sized(size, size.options[chosen], self.why.get(size), wants_more)

    def bad(self, chosen: Mapping[Size, int]) -> list[Finding]:
        """What is found that a bigger size cures."""
        return [f for f in self.found(chosen) if self._is_bad(f)]

    def _is_bad(self, finding: Finding) -> bool:
        key = finding.rule, finding.subject
        had_v, volts = self.had_v.get(key, 0.0), _note_volts([finding]).get(key, math.inf)
        return finding.severity < self.allowed.get(key, 99) or volts < had_v * (1 - METER_SHARE)

    def found(self, chosen: Mapping[Size, int]) -> list[Finding]:
        """Everything that tells against these sizes."""
        _, text = self.laid(chosen)
        self._runs += 1
        return _too_small(judge(_run(self.scene, text, self._told())))

    def _told(self) -> Callable[[int, int], None] | None:
        """Who is told of the run that begins."""
        told = self._progress
        return partial(told, self._runs) if told is not None else None

    def laid(self, chosen: Mapping[Size, int]) -> tuple[tuple[Change, ...], str]:
        """The Changes that set these sizes where they differ from the job's, and the text then."""
        text = self.scene.text
        changes: list[Change] = []
        for size, index in chosen.items():
            if size.options[index] == size.now:
                continue
            for make in size.candidates[index].makes:
                changes.append(make(text))
                text, _ = apply(text, changes[-1])
        return tuple(changes), text


def _run(scene: Scene, text: str, told: Callable[[int, int], None] | None) -> SiteOutcome:
    wiring = wire(plan(read_job_text(text, scene.file), scene.catalogue))
    return behave(wiring, progress=told)


def _too_small(findings: Iterable[Finding]) -> list[Finding]:
    """What is at "weak" or worse, and those notes that a size is to leave none of."""
    return [f for f in findings if f.severity <= Severity.WEAK or f.rule in SHORT_OF]


def _note_volts(findings: Iterable[Finding]) -> dict[tuple[str, str], float]:
    """The volts of notes that have some."""
    return {
        (f.rule, f.subject): float(f.figures["volts_v"])
        for f in findings
        if f.severity > Severity.WEAK and "volts_v" in f.figures
    }


def _worst(findings: Iterable[Finding]) -> dict[tuple[str, str], Severity]:
    worst: dict[tuple[str, str], Severity] = {}
    for f in findings:
        key = f.rule, f.subject
        worst[key] = min(worst.get(key, Severity.NOTE), Severity(f.severity))
    return worst


def _clearest(found: Sequence[Finding]) -> Finding:
    """The first finding that hangs on more than a few millivolts, if there is one."""
    return next((f for f in found if _hair_v(f) is None), found[0])


def _hair_v(finding: Finding) -> float | None:
    volts, need = finding.figures.get("volts_v"), finding.figures.get("need_v")
    if not isinstance(volts, float) or not isinstance(need, float):
        return None
    return need - volts if 0.0 < need - volts < METER_SHARE * need else None


def _worst_starved(findings: Iterable[Finding]) -> dict[str, Graver]:
    """By door how grave the worst is that too few volts do there."""
    worst: dict[str, Graver] = {}
    for (_, subject), grave in gravest(f for f in findings if f.rule in STARVED).items():
        door = _door(subject)
        worst[door] = min(worst.get(door, grave), grave)
    return worst


def _door(subject: str) -> str:
    return subject.partition(".")[0]


def _apart(sizes: Iterable[Size]) -> list[list[Size]]:
    """Sizes in rounds, no two of one owner in a round: a door on two supplies tells of either."""
    rounds: list[list[Size]] = []
    for size in sizes:
        for some in rounds:
            if not any(size.owners & other.owners for other in some):
                some.append(size)
                break
        else:
            rounds.append([size])
    return rounds


def _one_a_door(runs: list[Size]) -> list[list[Size]]:
    """Runs in rounds: the longest of each door first, shared cables one by one at the end."""
    by_door: dict[frozenset[str], list[Size]] = {}
    shared = []
    for run in sorted(runs, key=lambda r: -r.length_m):
        if "." in run.id:
            by_door.setdefault(run.owners, []).append(run)
        else:
            shared.append([run])
    deepest = max((len(own) for own in by_door.values()), default=0)
    rounds = [[own[n] for own in by_door.values() if n < len(own)] for n in range(deepest)]
    return [*rounds, *shared]
