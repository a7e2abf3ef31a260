"""The fault run against the same faults written down as found on site.

Two paths: the fault run changes numbers of one network; the other lays a deviation over the
wiring, reads, plans, wires and builds it anew, and runs every door as ``check`` does.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from latchwork.behaviour import Case, SiteOutcome, behave_all
from latchwork.faults import Ask, Fault, FaultKind, WhatIf, faults
from latchwork.faults.prepare import prepare
from tests.faults.known import jobs
from tests.truth.solved import wired

SHORT = "resistance: 0.05 ohm"


def as_found(fault: Fault, at: str = "2.9 m") -> str | None:
    """A fault of door D1 as a line of ``found``, shorts ``at`` a place along a core; None where the
    file has no words for it: a bad screw, and a lead off its screw."""
    names = [name.removeprefix("D1.") for name in fault.subjects]
    cores = [" ".join(name.split(".")) for name in names]
    is_core = [".brown", ".blue", ".white", ".green", ".yellow", ".grey", ".pink", ".black"]
    core = [name.endswith(tuple(is_core)) for name in names]
    match fault.kind:
        case FaultKind.OPEN if core[0]:
            return f"{{break: {cores[0]}, at: 3 m}}"
        case FaultKind.STATE:
            return f"{{part: {names[0]}, state: {fault.state}}}"
        case FaultKind.SHORT if all(core):
            return f"{{short: [{cores[0]}, {cores[1]}], at: {at}, {SHORT}}}"
        case FaultKind.SHORT if not any(core):
            return f"{{short: [{names[0]}, {names[1]}], {SHORT}}}"
        case FaultKind.TO_PLUS | FaultKind.TO_MINUS:
            pole = "S1.1" if fault.kind is FaultKind.TO_PLUS else "S1.-"
            return f"{{short: [{cores[0]}, {pole}], at: {at}, {SHORT}}}"
    return None


@cache
def run(job: str) -> tuple[dict[str, list[WhatIf]], dict[str, SiteOutcome]]:
    """What-ifs by fault, and outcomes of the same written down."""
    report = faults(wired(job), ask=Ask(attacks=False, all_rows=True, processes=1))
    (cell,) = prepare(wired(job))
    written = {f.id: line for f in cell.cell.faults if (line := as_found(f)) is not None}
    wirings = [wired(f"{job}    found: [{line}]\n") for line in written.values()]
    sites = behave_all(wirings, (Case.NOMINAL,))
    by_fault: dict[str, list[WhatIf]] = {}
    for row in report.what_ifs:
        by_fault.setdefault(row.fault, []).append(row)
    return by_fault, dict(zip(written, sites, strict=True))


@pytest.mark.parametrize(
    "section",
    [pytest.param(s, marks=pytest.mark.slow_oracle if n % 2 else ()) for n, s in enumerate(jobs())],
)
def test_locks_do_the_same(section: str) -> None:
    what_ifs, sites = run(jobs()[section])
    assert len(sites) >= 40
    differ = []
    for fault, site in sites.items():
        outcome = site.outcomes["D1"][Case.NOMINAL]
        keys = [s.key for s in outcome.situations]
        (lock,) = outcome.locks
        for row in what_ifs[fault]:
            column = keys.index(row.situation)
            names = ("locked", "unlocked", "marginal", "chatter")
            written = tuple(names[state] for state in lock.state[column])
            if written != (row.begins, row.held):
                differ.append((fault, row.situation, written, (row.begins, row.held)))
    assert differ == []


def test_volts_are_the_same_but_for_where_a_short_lies() -> None:
    """Breaks and part states are in the same place on both paths: the volts agree to what the
    merged leads of the other path leave out, 0.1 mΩ each."""
    what_ifs, sites = run(next(iter(jobs().values())))
    worst = 0.0
    for fault, site in sites.items():
        if " short" in fault or " to " in fault:
            continue
        outcome = site.outcomes["D1"][Case.NOMINAL]
        keys = [s.key for s in outcome.situations]
        for row in what_ifs[fault]:
            if not row.chatter:
                volts = outcome.locks[0].volts[keys.index(row.situation)]
                worst = max(worst, *np.abs(volts - (row.begins_v, row.held_v)))
    assert 0.0 < worst < 5e-3
