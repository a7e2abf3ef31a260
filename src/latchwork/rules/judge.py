"""All rules over a site, worst first."""

from __future__ import annotations

from latchwork.behaviour import SiteOutcome
from latchwork.findings import Finding
from latchwork.rules import electrical, promises
from latchwork.rules.rule import Rule, View

RULES: tuple[Rule, ...] = (*promises.RULES, *electrical.RULES)


def judge(site: SiteOutcome) -> tuple[Finding, ...]:
    """Every finding of every rule, worst first, then by subject."""
    view = View(site)
    found = {f.id: f for rule in RULES for f in rule.find(view)}
    return tuple(sorted(found.values(), key=lambda f: (f.severity, f.subject, f.rule, f.situation)))
