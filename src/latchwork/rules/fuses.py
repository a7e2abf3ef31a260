"""Fuses against what flows through them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from latchwork.behaviour import Case
from latchwork.elements import Fuse
from latchwork.findings import Finding, Severity
from latchwork.power.keys import EVERYBODY
from latchwork.power.loads import SAME_A, together_a
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View


def fuse_overload(view: View) -> Iterator[Finding]:
    """A fuse that blows, or carries more than its rating for long, or would blow if all doors
    behind it were opened at once; or does so at most current only, as one near its rating does
    (common practice, no source)."""
    ratings = {
        f"{d.id}.{e.name}": e
        for d in view.plan.devices.values()
        for e in d.part.elements
        if isinstance(e, Fuse)
    }
    nominal, at_most = _fused(view, Case.NOMINAL), _fused(view, Case.MOST_CURRENT)
    for name, fuse in ratings.items():
        current_a, key = nominal.most.get(name, (0.0, ""))
        most_a, most_key = at_most.most.get(name, (0.0, ""))
        if name in at_most.blows:
            # Blown it carries nothing; what it blew with was no less than this.
            most_a, most_key = fuse.blows_at_a, at_most.blows[name][1]
        behind = nominal.doors.get(name, [])
        all_a = together_a(view.site, behind, name) if len(behind) > 1 else 0.0
        rated: dict[str, float | str] = {"rating_a": fuse.rating_a}
        if name in nominal.blows:
            figures: dict[str, float | str] = {"blows_a": fuse.blows_at_a, **rated}
            when = nominal.blows[name][1]
            yield Finding("fuse-blows", name, Severity.FAILS, when, figures, "part")
        elif current_a > fuse.rating_a:
            figures = {"current_a": current_a, **rated}
            yield Finding("fuse-overload", name, Severity.WEAK, key, figures, "part")
        elif all_a > fuse.blows_at_a:
            figures = {"current_a": all_a, **rated}
            yield Finding("fuse-overload", name, Severity.WEAK, EVERYBODY, figures, "part")
        elif most_a > fuse.rating_a:
            figures = {"current_a": most_a, **rated, "also": "most"}
            yield Finding("fuse-overload", name, Severity.WEAK, most_key, figures, "practice")


@dataclass(frozen=True, slots=True)
class _Fused:
    """What the fuses carry in one case, by fuse: when it blows first, the most it carries and when,
    and the doors behind it."""

    blows: Mapping[str, tuple[int, str]]
    most: Mapping[str, tuple[float, str]]
    doors: Mapping[str, list[str]]


def _fused(view: View, case: Case) -> _Fused:
    # One fuse may feed several doors, each of which was run by itself.
    blows: dict[str, tuple[int, str]] = {}
    most: dict[str, tuple[float, str]] = {}
    doors: dict[str, list[str]] = {}
    for door, _ in view.doors():
        outcome = view.outcome(door.id, case)
        if outcome is None:
            continue
        for n, name in enumerate(outcome.fuse_names):
            doors.setdefault(name, []).append(outcome.door)
            blown, amps = outcome.fuse_blown[n].any(axis=1), outcome.fuse_a[n].max(axis=1)
            if blown.any():
                first = int(np.argmax(blown))
                here = first, outcome.situations[first].key
                blows[name] = min(blows.get(name, here), here)
            column = int(np.argmax(amps > amps.max() - SAME_A))
            if amps[column] > most.get(name, (0.0, ""))[0] + SAME_A:
                most[name] = float(amps[column]), outcome.situations[column].key
    return _Fused(blows, most, doors)


RULES: tuple[Rule, ...] = (Rule(("fuse-blows", "fuse-overload"), "part", fuse_overload, Uses.DOOR),)
