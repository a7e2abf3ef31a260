"""Where a candidate is tried: laid on the text, read, planned, wired, run and judged again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from latchwork.behaviour import Mode, Power, SiteOutcome, behave_all
from latchwork.findings import Finding, Severity
from latchwork.job import JobErrors
from latchwork.job.changes import Change, Changed, DoesNotFit, NoSuchPlace, Set, apply, change_job
from latchwork.parts import PartsErrors
from latchwork.plan import Plan, plan
from latchwork.remedies.candidate import Candidate
from latchwork.remedies.kept import lets_all_out
from latchwork.remedies.scene import Scene
from latchwork.rules import judge
from latchwork.wiring import Wiring, wire

Found = Mapping[str, Finding]
Graver = tuple[int, int, int]
"""How grave a finding is, the gravest first: its severity, how common its power and its mode."""
Had = Mapping[tuple[str, str], Graver]
"""The gravest finding of each mistake (rule) of each thing."""
_COMMON: Mapping[str, int] = {
    part.value: n for parts in (Power, Mode) for n, part in enumerate(parts)
}
"""Powers and modes, the most common first."""
LEAST_COMMON = len(_COMMON)
"""Of a finding that is about no situation."""


@dataclass(frozen=True, slots=True)
class Edited:
    """A candidate as Changes of the text, and the text then; it need not make a job yet."""

    candidate: Candidate
    changes: tuple[Change, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Laid:
    """A candidate laid on the text. ``new_parts`` are those that the job had not before."""

    candidate: Candidate
    changes: tuple[Change, ...]
    changed: Changed
    wiring: Wiring
    new_parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of it: findings that went, and findings that came or grew worse; ``found`` are all
    at the doors concerned, ``had`` the gravest of each rule and subject before.
    ``shuts_in``: a way out that was there in some situation is there no more; ``lets_in``: a door
    that was locked without power, whose file does not ask what it does then, stands open."""

    laid: Laid
    gone: tuple[Finding, ...]
    came: tuple[Finding, ...]
    found: tuple[Finding, ...]
    had: Had
    shuts_in: bool
    lets_in: bool

    @property
    def new(self) -> tuple[Finding, ...]:
        """The findings that came and are no old mistake in a rarer situation."""
        return tuple(fresh(self.came, self.had))


@dataclass(frozen=True)
class Bench:
    """Tries candidates on one scene; what it found before is kept by the doors looked at."""

    scene: Scene
    _before: dict[frozenset[str], Found] = field(default_factory=dict, repr=False, compare=False)

    def edit(self, candidate: Candidate) -> Edited | None:
        """The candidate as Changes of the text; None where it cannot be made or changes nothing."""
        text = self.scene.text
        changes: list[Change] = []
        try:
            for make in candidate.makes:
                changes.append(make(text))
                text, _ = apply(text, changes[-1])
        except (NoSuchPlace, DoesNotFit, JobErrors):
            return None
        if text == self.scene.text:
            return None
        return Edited(candidate, tuple(merged(changes)), text)

    def lay(self, candidate: Candidate) -> Laid | None:
        """The candidate on the text; None where it cannot be made, or makes no job."""
        edited = self.edit(candidate)
        return None if edited is None else self.read(edited)

    def read(self, edited: Edited) -> Laid | None:
        """The text read, planned and wired; None where it makes no job, or lets all out where
        somebody may be kept in."""
        scene = self.scene
        try:
            changed = change_job(scene.text, edited.changes, scene.file)
            wiring = wire(plan(changed.job, scene.catalogue))
        except (NoSuchPlace, DoesNotFit, JobErrors, PartsErrors):
            return None
        if lets_all_out(scene.wiring, wiring):
            return None
        had = part_names(scene.site.plan)
        new = [name for name in part_names(wiring.plan) if name not in had]
        return Laid(edited.candidate, edited.changes, changed, wiring, tuple(new))

    def run(self, laid: Sequence[Laid], target: Finding) -> list[Tried]:
        """The doors concerned, judged with each candidate and without it; side by side.

        Where the finding is about one door, that door alone is run first, and the others only
        with candidates that help there.
        """
        door = self.scene.door_of(target.subject)
        if not door:
            return self._judged(laid, [self._concerned(each, target) for each in laid], True)
        alone = self._judged(laid, [frozenset({door})] * len(laid), False)
        further = [tried.laid for tried in alone if goes(tried, target)]
        doors = [self._concerned(each, target) for each in further]
        whole = iter(self._judged(further, doors, True))
        return [next(whole) if goes(tried, target) else tried for tried in alone]

    def _judged(
        self, laid: Sequence[Laid], doors: list[frozenset[str]], whole: bool
    ) -> list[Tried]:
        sites = behave_all([each.wiring for each in laid], doors=doors)
        joined = [{door for group in site.groups for door in group.doors} for site in sites]
        wider = [some | more for some, more in zip(doors, joined, strict=True)]
        if whole and wider != doors:
            # A Change has joined what was apart.
            doors = wider
            sites = behave_all([each.wiring for each in laid], doors=doors)
        return [
            self._tried(each, site, where)
            for each, site, where in zip(laid, sites, doors, strict=True)
        ]

    def _tried(self, laid: Laid, site: SiteOutcome, doors: frozenset[str]) -> Tried:
        after = {f.id: f for f in judge(site)}
        before = self.before(doors)
        gone = tuple(f for f in before.values() if f.id not in after)
        came = tuple(
            f for f in after.values() if f.id not in before or f.severity < before[f.id].severity
        )
        now = self.scene.site
        return Tried(
            laid,
            gone,
            came,
            tuple(after.values()),
            gravest(before.values()),
            shuts_people_in(now, site),
            not laid.candidate.repairs and opens_unasked(now, site),
        )

    def before(self, doors: frozenset[str]) -> Found:
        """What is found at some doors as things stand."""
        found = self._before.get(doors)
        if found is None:
            known = frozenset(self.scene.wiring.plan.doors) & doors
            whole = known == frozenset(self.scene.site.outcomes)
            site = self.scene.site if whole else _only(self.scene.site, known)
            found = self._before[doors] = {f.id: f for f in judge(site)}
        return found

    def _concerned(self, laid: Laid, target: Finding) -> frozenset[str]:
        """The doors that the target or a Change may touch: all of their groups."""
        heads = {target.subject.split(".")[0]}
        for change in laid.changes:
            section, _, rest = change.path.partition(".")
            heads.add(rest.partition(".")[0] if rest else section)
            if section not in ("doors", "supplies", "devices"):
                # Site wiring, shared cables and usual values may reach any door.
                return frozenset(laid.wiring.plan.doors)
        doors: set[str] = set(heads & laid.wiring.plan.doors.keys())
        for group in self.scene.site.groups:
            named = {*group.doors, *group.supplies, *(e.device for e in group.things.elements)}
            if heads & named:
                doors |= set(group.doors)
        known = frozenset(doors) & frozenset(laid.wiring.plan.doors)
        return known or frozenset(laid.wiring.plan.doors)


def _only(site: SiteOutcome, doors: frozenset[str]) -> SiteOutcome:
    """The site as if these doors alone had been run: no door's outcome hangs on which others are
    looked at."""
    parts = tuple(g for g in site.groups if doors & set(g.doors))
    supplies = {supply for group in parts for supply in group.supplies}
    return replace(
        site,
        groups=parts,
        outcomes={d: o for d, o in site.outcomes.items() if d in doors},
        states={d: s for d, s in site.states.items() if d in doors},
        curves={s: c for s, c in site.curves.items() if s in supplies},
        by_door={d: g for d, g in site.by_door.items() if g in parts},
    )


def merged(changes: list[Change]) -> list[Change]:
    """Changes with those that set one value twice as one."""
    out: list[Change] = []
    for change in changes:
        last = next((c for c in reversed(out) if c.path == change.path), None)
        if isinstance(last, Set) and isinstance(change, Set) and last.new == change.old:
            out[out.index(last)] = Set(change.path, last.old, change.new)
        else:
            out.append(change)
    return out


def shuts_people_in(before: SiteOutcome, after: SiteOutcome) -> bool:
    """Whether people cannot leave by one ordinary action where they could before: a door that is
    wrong already may still let them out when its power fails, or in a fire."""
    return not _shut(after) <= _shut(before)


def _shut(site: SiteOutcome) -> frozenset[tuple[str, Power, Mode, str]]:
    """Doors that people leave by, and where they cannot."""
    return frozenset(
        (door, state.power, state.mode, state.which)
        for door, states in site.states.items()
        if site.plan.doors[door].door.people_leave
        for state in states
        if not state.leave.can
    )


def opens_unasked(before: SiteOutcome, after: SiteOutcome) -> bool:
    """Whether a door opens without power that did not before, where nothing is said of it."""
    return not _open_unasked(after) <= _open_unasked(before)


def _open_unasked(site: SiteOutcome) -> frozenset[str]:
    """Doors that anybody may enter without power, where nothing is said of it."""
    return frozenset(
        door
        for door, states in site.states.items()
        if site.plan.doors[door].door.power_lost.enter is None
        for state in states
        if (state.power, state.mode) == (Power.ALL_LOST, Mode.NORMAL) and state.stands_open.can
    )


def goes(tried: Tried, target: Finding) -> bool:
    """Whether the finding goes, and does not come again in another situation."""
    same = any((f.rule, f.subject) == (target.rule, target.subject) for f in tried.came)
    return not same and any(f.id == target.id for f in tried.gone)


def helps(tried: Tried, target: Finding) -> bool:
    """Whether the finding goes, and nothing as bad comes but what was found on site had hidden.

    The same mistake of the same thing in another situation is nothing new; but nobody is to be shut
    in where there was a way out, and no door to open without power that did not, unless people's
    way out asks for it.
    """
    return (
        goes(tried, target)
        and not tried.shuts_in
        and not (tried.lets_in and target.severity > Severity.DANGER)
        and (all(f.severity > target.severity for f in tried.new) or _uncovers(tried, target))
    )


def _uncovers(tried: Tried, target: Finding) -> bool:
    """Whether it only puts right what was found on site, and what comes to light behind that is no
    worse, and less of it is left than before: that has a remedy of its own, and nobody buys a part
    in the same breath as he swaps two cores back."""
    gone = sum(f.severity <= target.severity for f in tried.gone)
    came = [f for f in tried.new if f.severity <= target.severity]
    alike = all(f.severity == target.severity for f in came)
    return tried.laid.candidate.repairs and alike and len(came) < gone


def spoils(tried: Tried) -> tuple[int, ...]:
    """How many findings of each severity down to "weak" it brings, worst first: a door that is not
    locked any more does more harm than two weak ones."""
    return _by_severity(tried.new)


def badness(tried: Tried) -> tuple[int, ...]:
    """How many findings of each severity are left at the doors concerned, worst first."""
    return _by_severity(tried.found)


def _by_severity(findings: Iterable[Finding]) -> tuple[int, ...]:
    severities = [f.severity for f in findings]
    return tuple(severities.count(s) for s in Severity if s < Severity.NOTE)


def gravest(findings: Iterable[Finding]) -> Had:
    """The gravest finding of each mistake of each thing."""
    worst: dict[tuple[str, str], Graver] = {}
    for f in findings:
        key = f.rule, f.subject
        worst[key] = min(worst.get(key, _grave(f)), _grave(f))
    return worst


def fresh(findings: Iterable[Finding], had: Had) -> Iterator[Finding]:
    """Findings that are new beside those that were ``had``. The same mistake in a rarer situation
    is nothing new; in a more common one it is: a door that stayed locked with the panel lost alone
    does more harm if it stays locked in an alarm."""
    for f in findings:
        old = had.get((f.rule, f.subject))
        if old is None or _grave(f) < old:
            yield f


def _grave(f: Finding) -> Graver:
    power, _, rest = f.situation.partition("/")
    mode = rest.partition("/")[0]
    return int(f.severity), _COMMON.get(power, LEAST_COMMON), _COMMON.get(mode, LEAST_COMMON)


def part_names(planned: Plan) -> Iterable[str]:
    """The parts of a job, each once."""
    names = [d.part.name for d in planned.devices.values()]
    return dict.fromkeys(names)
