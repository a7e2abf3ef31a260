"""The walk from worst to least, one remedy after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from latchwork.behaviour import behave
from latchwork.findings import Finding, Severity
from latchwork.job import read_job_text
from latchwork.plan import plan
from latchwork.remedies.needed import needed
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy, remedies, repairs
from latchwork.rules import judge
from latchwork.wiring import wire


@dataclass(frozen=True, slots=True)
class Walk:
    """Remedies one after the other, and what is left at "weak" or worse without one."""

    steps: tuple[Remedy, ...]
    text: str
    left: tuple[Finding, ...]


def walk(scene: Scene, progress: Callable[[Finding], None] | None = None) -> Walk:
    """Mend from worst to least until no finding at "weak" or worse has a remedy; first of all what
    was found on site is put right where that takes a finding away, be it a small one: parts are
    bought for what is wrong then.

    It ends: each step takes one finding away and brings none as bad, and no text is met twice. What
    a later step makes needless is taken back in the end.
    """
    start = scene
    steps: list[Remedy] = []
    hopeless: dict[str, int] = {}
    met = {scene.text}
    while (step := _first_repair(scene, met, progress)) is not None:
        steps.append(step)
        met.add(step.text)
        scene = after(scene, step)
    while True:
        found = [f for f in judge(scene.site) if f.severity <= Severity.WEAK]
        step = None
        # What had no remedy may have one once others are made: it is tried again at the end.
        fresh = [f for f in found if f.id not in hopeless]
        again = [f for f in found if hopeless.get(f.id, len(steps)) < len(steps)]
        for finding in (*fresh, *again):
            if progress is not None:
                progress(finding)
            step = next((r for r in remedies(scene, finding) if r.text not in met), None)
            if step is not None:
                break
            hopeless[finding.id] = len(steps)
        if step is None:
            kept = needed(start, scene, steps)
            text = kept[-1].text if kept else start.text
            return Walk(kept, text, tuple(found))
        steps.append(step)
        met.add(step.text)
        scene = after(scene, step)


def _first_repair(
    scene: Scene, met: set[str], progress: Callable[[Finding], None] | None
) -> Remedy | None:
    for finding in judge(scene.site):
        if finding.severity <= Severity.WEAK:
            if progress is not None:
                progress(finding)
            for remedy in repairs(scene, finding):
                if remedy.text not in met:
                    return remedy
    return None


def after(scene: Scene, remedy: Remedy) -> Scene:
    """The scene with a remedy made."""
    job = read_job_text(remedy.text, scene.file)
    site = behave(wire(plan(job, scene.catalogue)))
    return replace(scene, text=remedy.text, site=site)
