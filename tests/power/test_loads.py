"""Which moment is named as the one in which a supply gives most."""

from __future__ import annotations

from dataclasses import replace

from latchwork.behaviour import behave
from latchwork.power.keys import EVERYBODY
from latchwork.power.loads import supply_loads
from tests.faults.known import jobs
from tests.truth.solved import wired

STRIKE = next(text for name, text in jobs().items() if name.startswith("Fire-rated door"))


def test_rounding_does_not_choose_between_loads_that_are_one() -> None:
    """One door's strike held open is every door of its supply granted at once: the difference is
    what rounding leaves, whatever the amperes."""
    site = behave(wired(STRIKE))
    door, cases = next(iter(site.outcomes.items()))
    named = set()
    for n in range(200):
        scaled = {case: replace(r, feed_a=r.feed_a * (1.0 + n / 1000)) for case, r in cases.items()}
        (load,) = supply_loads(replace(site, outcomes={door: scaled}))
        named.add(load.most_when)
    assert len(named) == 1
    assert EVERYBODY not in named
