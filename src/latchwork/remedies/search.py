"""Remedies: Changes that were tried and remove a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import chain

from latchwork.behaviour import behave
from latchwork.findings import Finding
from latchwork.job.changes import Change
from latchwork.remedies.bench import Bench, Edited, Laid, Tried, badness, goes, helps, spoils
from latchwork.remedies.candidate import NOTHING, Move
from latchwork.remedies.moves.wiring import joint_made_anew, put_right
from latchwork.remedies.scene import Scene
from latchwork.remedies.table import BY_RULE, may_mend
from latchwork.rules import judge

Progress = Callable[[int, int], None]
"""Called with how many of how many candidates are tried."""

MOST_TRIED = 80
"""Candidates tried for one finding."""
MOST_SECOND = 30
"""Second steps tried behind one first step."""
PROMISING = 3
"""First steps that a second one is looked for."""
MOST_OTHERS = 4
"""Other findings whose remedies are looked at for one that has none."""
SIDE_BY_SIDE = 6
"""Candidates run together at first; the one that helps ends the search."""
REPAIRS: tuple[Move, ...] = (put_right, joint_made_anew)
"""They put right what was found on site, whatever came of it."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """Changes that remove ``finding``, tried: what else goes with it, and what lesser findings
    come. ``on_site``: something has to be done on site, of which the Changes are the record;
    ``takes_over``: a new part takes over figures of the old one, to be held against its data
    sheet."""

    finding: Finding
    changes: tuple[Change, ...]
    text: str
    gone: tuple[Finding, ...]
    came: tuple[Finding, ...]
    new_parts: tuple[str, ...]
    on_site: bool
    takes_over: bool


def remedies(scene: Scene, finding: Finding, progress: Progress | None = None) -> Iterator[Remedy]:
    """The remedies of a finding, the best first: those that bring nothing at "weak" or worse, of
    these those that put right what was found on site, of these those that take out nothing, of
    these the fewest edits, of these the fewest new parts. Then those that bring something less
    grave, the least grave first.
    """
    bench = Bench(scene)
    spoiling: list[tuple[tuple[int, ...], int, Tried]] = []
    others: list[Tried] = []
    found = False
    for number, tried in enumerate(_run(bench, ordered(bench, finding), finding, progress)):
        if not helps(tried, finding):
            others.append(tried)
        elif not any(spoils(tried)):
            found = True
            yield _remedy(finding, tried)
        else:
            spoiling.append((spoils(tried), number, tried))
    for _, _, tried in sorted(spoiling, key=lambda each: each[:2]):
        yield _remedy(finding, tried)
    if not spoiling and not found:
        yield from _in_two(bench, finding, others, progress)


def by_others(scene: Scene, finding: Finding) -> Iterator[Remedy]:
    """Remedies of other findings with which a finding goes too, which has none of its own: what a
    part fed with other volts draws goes with the part. Looked for among those as grave, those at
    the same door or supply first, of each the first remedy alone."""
    head = finding.subject.split(".")[0]
    others = [
        f
        for f in judge(scene.site)
        if f.id != finding.id and f.severity <= finding.severity and f.rule in BY_RULE
    ]
    others.sort(key=lambda f: f.subject.split(".")[0] != head)
    for other in others[:MOST_OTHERS]:
        remedy = next(remedies(scene, other), None)
        if remedy is None or all(f.id != finding.id for f in remedy.gone):
            continue
        if all(f.severity > finding.severity for f in remedy.came):
            yield replace(remedy, finding=finding)


def repairs(scene: Scene, finding: Finding) -> Iterator[Remedy]:
    """Of the remedies of a finding those that only put right what was found on site. What comes to
    light by one was wrong before, behind what is put right: those are told too, after those that
    bring nothing."""
    bench = Bench(scene)
    moves = REPAIRS if finding.rule in BY_RULE else ()
    spoiling: list[Tried] = []
    for tried in _run(bench, _by_size(bench, finding, moves), finding, None):
        if helps(tried, finding):
            if not any(spoils(tried)):
                yield _remedy(finding, tried)
            else:
                spoiling.append(tried)
    yield from (_remedy(finding, tried) for tried in sorted(spoiling, key=spoils))


def _run(
    bench: Bench, order: Iterable[list[Laid]], finding: Finding, progress: Progress | None
) -> Iterator[Tried]:
    """Candidates tried in their order, some side by side: few at first, as one soon helps."""
    done, some = 0, SIDE_BY_SIDE
    for alike in order:
        start = 0
        while start < len(alike):
            yield from bench.run(alike[start : start + some], finding)
            start, some = start + some, 2 * some
            if progress is not None:
                progress(done + min(start, len(alike)), max(MOST_TRIED, done + len(alike)))
        done += len(alike)


def _in_two(
    bench: Bench, finding: Finding, others: list[Tried], progress: Progress | None
) -> Iterator[Remedy]:
    """Two steps where one is not enough: the most promising first ones, those that take the finding
    away before others, each with what helps against what is still wrong after it; whichever of the
    two comes first, tried once."""
    seen: set[str] = set()
    for first in sorted(others, key=lambda each: (not goes(each, finding), badness(each)))[
        :PROMISING
    ]:
        scene = _on(bench.scene, first.laid)
        wrong = [f for f in first.found if f in first.new or (f.rule, f.subject) == _of(finding)]
        order: dict[str, tuple[bool, int, int, int, Laid]] = {}
        for left in wrong:
            for second in chain.from_iterable(ordered(Bench(scene), left)):
                both = bench.lay(first.laid.candidate + second.candidate)
                if both is not None and both.changed.text not in seen:
                    rank = len(both.changes), len(both.new_parts), len(order)
                    order.setdefault(both.changed.text, (both.candidate.takes_out, *rank, both))
        ranked = [laid for *_, laid in sorted(order.values(), key=lambda each: each[:4])]
        some = ranked[:MOST_SECOND]
        seen |= {laid.changed.text for laid in some}
        for tried in _run(bench, [some], finding, progress):
            if helps(tried, finding) and not any(spoils(tried)):
                yield _remedy(finding, tried)


def _of(finding: Finding) -> tuple[str, str]:
    return finding.rule, finding.subject


def _on(scene: Scene, laid: Laid) -> Scene:
    """The scene with a candidate laid on it."""
    return replace(scene, text=laid.changed.text, site=behave(laid.wiring))


def ordered(bench: Bench, finding: Finding) -> Iterator[list[Laid]]:
    """The candidates for a finding that can be made, each text once: repairs first, as nobody buys
    a part against what is broken; then the smallest edits, those of as many edits together, of
    which the fewest new parts first; behind them those that take something out. They are laid only
    when they are asked for, as a small one soon helps."""
    moves = BY_RULE.get(finding.rule, ()) if may_mend(finding) else ()
    return _by_size(bench, finding, (*REPAIRS, *moves) if moves else ())


def _by_size(bench: Bench, finding: Finding, moves: Iterable[Move]) -> Iterator[list[Laid]]:
    by_size: dict[tuple[bool, bool, int], dict[str, Edited]] = {}
    seen: set[str] = set()
    for move in moves:
        for candidate in move(bench.scene, finding):
            edited = bench.edit(candidate) if candidate != NOTHING else None
            if edited is not None and edited.text not in seen:
                seen.add(edited.text)
                size = candidate.takes_out, not candidate.repairs, len(edited.changes)
                by_size.setdefault(size, {})[edited.text] = edited
    room = MOST_TRIED
    for size in sorted(by_size):
        laid = [x for x in map(bench.read, by_size[size].values()) if x is not None]
        alike = sorted(laid, key=lambda each: len(each.new_parts))[:room]
        room -= len(alike)
        yield alike


def _remedy(finding: Finding, tried: Tried) -> Remedy:
    laid = tried.laid
    return Remedy(
        finding,
        laid.changes,
        laid.changed.text,
        tried.gone,
        tried.came,
        laid.new_parts,
        laid.candidate.on_site,
        laid.candidate.takes_over,
    )
