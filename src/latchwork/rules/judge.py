"""All rules over a site: findings with the guesses they hang on, waivers laid over, worst first."""

from __future__ import annotations

from collections.abc import Iterable

from latchwork.behaviour import Group, SiteOutcome
from latchwork.findings import Finding
from latchwork.job import counted
from latchwork.rules import (
    cabling,
    coils,
    currents,
    fire,
    fit,
    fuses,
    inward,
    joining,
    leaks,
    leaving,
    lock_volts,
    made_for,
    promises,
    protection,
    release,
    resting,
    security,
    standby,
    unasked,
    volts,
)
from latchwork.rules.hanging import assumed, provisional
from latchwork.rules.rule import Rule
from latchwork.rules.view import View
from latchwork.rules.waivers import waived

RULES: tuple[Rule, ...] = (
    *promises.RULES,
    *leaving.RULES,
    *unasked.RULES,
    *inward.RULES,
    *release.RULES,
    *fire.RULES,
    *security.RULES,
    *made_for.RULES,
    *lock_volts.RULES,
    *volts.RULES,
    *coils.RULES,
    *currents.RULES,
    *fuses.RULES,
    *joining.RULES,
    *protection.RULES,
    *cabling.RULES,
    *resting.RULES,
    *leaks.RULES,
    *standby.RULES,
    *fit.RULES,
)

_LEAVING = frozenset(
    {
        "no-way-out",
        "one-leaf-only",
        "exit-dies",
        "exit-dies-with-unit",
        "exit-needs-key",
        "exit-request-dead",
        "bar-frees-one",
        "bar-frees-none",
    }
)
NO_ANSWER = {
    "delayed egress": _LEAVING,
    "interlock": _LEAVING | {"no-entry", "escape-inward"},
    "anti-passback": frozenset({"no-entry"}),
}
"""What is not answered for a door that does something beyond this model."""

CAUSES = frozenset(
    {
        "suppression-reversed",
        "suppression-forbidden",
        "polarity",
        "wrong-current",
        "wrong-voltage",
        "port-feeds-lock",
        "wiring-in-no-row",
        "wiring-left-open",
        "wiring-nothing-to-join-to",
        "wiring-too-few-cores",
    }
)
"""Mistakes that bring others with them."""
CONSEQUENCES = frozenset(
    {
        "chatter",
        "contact-overload",
        "core-overload",
        "feed-low",
        "fuse-blows",
        "fuse-overload",
        "no-entry",
        "port-overload",
        "relock-overload",
        "restarts",
        "supply-overload",
        "transformer-overload",
        "unpowered",
        "unsolved",
        "volts-low",
    }
)
"""What comes of them, told behind them."""


def judge(site: SiteOutcome, today: str = "") -> tuple[Finding, ...]:
    """Every finding of every rule, worst first, causes before what comes of them, then by subject.

    ``today`` (ISO date) lets waivers that have run out count no more.
    """
    view = View(site)
    found = {
        finding.id: finding
        for rule in RULES
        for raw in rule.find(view)
        for finding in (provisional(view, raw, rule.uses, rule.find),)
    }
    silent = _silent(found)
    kept = [f for f in found.values() if f.rule not in silent.get(f.subject.split(".")[0], ())]
    kept += assumed(view, kept)
    told = {f.id: f for f in waived(site.plan, kept, today)}
    comes = _consequences(view, told.values())
    return tuple(
        sorted(
            told.values(),
            key=lambda f: (f.severity, f.id in comes, counted(f.subject), f.rule, f.situation),
        )
    )


def _consequences(view: View, told: Iterable[Finding]) -> frozenset[str]:
    """Ids of findings that come of a cause in the same group."""
    told = tuple(told)
    behind = {id(_group(view, f.subject)) for f in told if f.rule in CAUSES}
    return frozenset(
        f.id for f in told if f.rule in CONSEQUENCES and id(_group(view, f.subject)) in behind
    )


def _group(view: View, subject: str) -> Group | None:
    head = subject.split(".")[0]
    return view.site.group_of(head) or view.group_with(head)


def _silent(found: dict[str, Finding]) -> dict[str, frozenset[str]]:
    """Door -> codes that no answer is given for."""
    out: dict[str, frozenset[str]] = {}
    for finding in found.values():
        if finding.rule == "beyond-model":
            codes = NO_ANSWER[str(finding.figures["what"])]
            out[finding.subject] = out.get(finding.subject, frozenset()) | codes
    return out
