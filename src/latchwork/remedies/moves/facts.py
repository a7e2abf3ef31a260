"""Facts of the site that change once something has been done there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from latchwork.findings import Finding
from latchwork.quantities import INCH_M, System
from latchwork.remedies.candidate import Candidate, to_drop, to_put
from latchwork.remedies.scene import Scene
from latchwork.rules.sets import Limit, limits_of


def code_changed(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The installer code changed, for the door or for the whole site."""
    key = "installer code changed"
    door = scene.door_of(finding.subject)
    doors = [door] if door else scene.users_of(finding.subject)
    for each in doors:
        if scene.said(f"doors.{each}.{key}") is not None:
            yield to_put(f"doors.{each}.{key}", "yes", on_site=True)
            return
    yield to_put(f"site.{key}", "yes", on_site=True)


def isolator_inside(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The mains cut from inside only."""
    del scene, finding
    yield to_put("site.isolator at", "inside", on_site=True)


def unseen(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The sensor turned or screened."""
    door = scene.door_of(finding.subject)
    if door and scene.said(f"doors.{door}.sensor seen from outside") is not None:
        yield to_put(f"doors.{door}.sensor seen from outside", "no", on_site=True)


def release_moved(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The release at a height or distance within the limits."""
    limits = limits_of(scene.site.plan.job.site.rule_set)
    words = {
        "release-height": ("release height", limits.release_height_m),
        "release-distance": ("release distance", limits.release_distance_m),
    }
    word, limit = words[finding.rule]
    if limit is not None:
        yield _fact(scene, finding, word, _written(_middle(limit), scene))


def sign(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The sign that is asked for."""
    asked = limits_of(scene.site.plan.job.site.rule_set).release_sign
    if asked is not None:
        yield _fact(scene, finding, "sign", asked[0])


def closer(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The closer set slower, or weaker."""
    limits = limits_of(scene.site.plan.job.site.rule_set)
    if finding.rule == "closer-fast" and limits.closer_s is not None:
        yield _fact(scene, finding, "closer speed", f"{limits.closer_s.least or 0:g} s")
    if finding.rule == "opening-force" and limits.opening_n is not None:
        yield _fact(scene, finding, "closing force", f"{limits.opening_n.most or 0:g} N")


def reset_by_hand(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The panel's contact set to return by hand only."""
    del scene, finding
    yield to_put("site.fire contact resets", "by hand", on_site=True)


def not_held(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The door held unlocked by the clock no longer."""
    door = scene.door_of(finding.subject)
    if door and scene.said(f"doors.{door}.held unlocked") is not None:
        yield replace(to_drop(f"doors.{door}.held unlocked"), takes_out=True)


def _fact(scene: Scene, finding: Finding, word: str, value: str) -> Candidate:
    return to_put(f"doors.{scene.door_of(finding.subject)}.{word}", value, on_site=True)


def _written(value_m: float, scene: Scene) -> str:
    """A height or distance as whoever fits it reads it off a tape."""
    if System(scene.site.plan.job.site.units) is System.US:
        return f"{value_m / INCH_M:.0f} in"
    return f"{value_m * 1000:.0f} mm"


def _middle(limit: Limit) -> float:
    """A value well within a limit: the middle of its range, or the one end there is."""
    if limit.least is None or limit.most is None:
        return limit.most if limit.most is not None else limit.least or 0.0
    return (limit.least + limit.most) / 2
