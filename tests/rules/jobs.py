"""Small jobs written by hand, and what is found in them. All data is invented."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from latchwork.behaviour import SiteOutcome, behave
from latchwork.findings import Finding, Severity
from latchwork.job import read_job_text
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.rules import judge
from latchwork.wiring import wire

Door = dict[str, str]
"""A door's lines: field -> YAML behind its colon."""

SUPPLY = "{part: supply 24 V, limit: 3 A, battery: 2 x 12 V 7 Ah}"
NO_BATTERY = "{part: supply 24 V, limit: 3 A}"

STRIKE: Door = {
    "supply": "S1",
    "power lost": "stays locked",
    "fire alarm": "stays locked",
    "out by": "lever",
    "lock": "strike 24 V fail-secure, wide range",
    "diode": "diode",
    "controller": "controller",
    "runs": "{power: 10 m of 2 x 1.0 mm²}",
}
"""A fail-secure strike beside a lever: nothing to say."""

MAGNET: Door = {
    "supply": "S1",
    "power lost": "unlocks",
    "fire alarm": "unlocks",
    "out by": "nothing mechanical",
    "lock": "{part: magnet 24 V, holds down to: 18 V}",
    "controller": "controller, reader outside",
    "reader": "reader",
    "exit": "button",
    "fire": "fire relay",
    "release": "release, double pole",
    "runs": "{power: 8 m of 3 x 1.0 mm², lock: 4 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm²}",
}
"""A magnet with everything that belongs to one: nothing to say."""


def but(base: Door, changes: Door) -> Door:
    """``base`` with other lines; a line of "-" goes."""
    return {k: v for k, v in {**base, **changes}.items() if v != "-"}


def job(*doors: Door, site: str = "", supplies: str = f"S1: {SUPPLY}", more: str = "") -> str:
    """A job file with doors D1, D2 …"""
    lines = ["latchwork: 1", f"site: {{name: Millpond pottery, ambient: 5 to 30 °C{site}}}"]
    lines += ["supplies:", *(f"  {line}" for line in supplies.split("\n"))]
    lines += [more] if more else []
    lines.append("doors:")
    for number, door in enumerate(doors, 1):
        lines.append(f"  D{number}:")
        lines += [f"    {key}: {value}" for key, value in door.items()]
    return "\n".join(lines) + "\n"


@lru_cache(maxsize=256)
def outcome(text: str) -> SiteOutcome:
    """A job text as run."""
    return behave(wire(plan(read_job_text(text, "job.yaml"), catalogue())))


@lru_cache(maxsize=256)
def findings(text: str) -> tuple[Finding, ...]:
    """Everything found in a job text."""
    return judge(outcome(text))


def told(text: str, at_least: Severity = Severity.WEAK) -> list[tuple[str, str]]:
    """(rule, subject) of what is found, that bad or worse."""
    return [(f.rule, f.subject) for f in findings(text) if f.severity <= at_least]


@dataclass(frozen=True)
class Case:
    """A mistake, what it is called, what it is about, and the same job just short of it."""

    code: str
    subject: str
    severity: Severity
    hit: str
    near: str
    also: frozenset[str] = frozenset()
    """Other codes that the mistake brings with it."""
