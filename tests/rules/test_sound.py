"""Jobs sound by construction give nothing to say; a mistake planted in one is found and named."""

from __future__ import annotations

from random import Random

import pytest

from latchwork.rules import RULES
from tests.rules.jobs import findings, told
from tests.rules.mistakes import MISTAKES, Mistake
from tests.rules.sound_jobs import RULE_SETS, Plot, plot, plot_of, text

FILES, EACH, QUICK = 20, 25, 3
PLANTED_ELSEWHERE = {
    "nobody-gets-in",
    "network-cable",
    "battery-old",
    "one-leaf-only",
    "unsolved",
    "fire-alarm-latch-free",
    "standby-short",
    "battery-weak",
    "steady-leak",
    "nobody-leaves",
    "kept-in-unasked",
    "standby-margin",
    "standby-by-cut-off",
    "returns-by-hand",
    "may-not-restart",
    "standby-unreckoned",
    "no-battery",
    "battery-volts",
    "supply-dead",
    "run-unsaid",
    "fed-elsewhere",
    "outputs-joined",
    "lock-contact-open",
    "wiring-left-open",
    "wiring-in-no-row",
    "wiring-one-contact-for-several-locks",
    "no-relock",
    "feed-low",
}
"""Codes whose mistakes stand in test_judge, the cases by hand and tests/power."""


@pytest.mark.parametrize(
    "seed",
    [pytest.param(n, marks=pytest.mark.slow_oracle if n >= QUICK else ()) for n in range(FILES)],
)
def test_sound_jobs_give_nothing_to_say(seed: int) -> None:
    """500 jobs in all, 25 to a file so that they run side by side; 75 where it is to be quick."""
    rng, rule_set = Random(seed), RULE_SETS[seed % len(RULE_SETS)]
    plots = [plot(rng, number, rule_set) for number in range(1, EACH + 1)]
    file = text(plots, rule_set)
    assert told(file) == []


def test_sound_jobs_are_of_every_kind_and_size() -> None:
    rng = Random(0)
    plots = [plot(rng, number, "general") for number in range(1, FILES * EACH + 1)]
    kinds = {p.kind: 0 for p in plots}
    for p in plots:
        kinds[p.kind] += 1
    assert len(kinds) == 13
    assert min(kinds.values()) >= 20
    assert sum(len(p.doors) for p in plots) > 600


def _planted(mistake: Mistake, seed: int) -> tuple[Plot, str]:
    """A sound plot that the mistake fits, with it planted; the id it is about."""
    rng = Random(seed)
    while True:
        made = plot_of(rng, 1, mistake.kind, mistake.rule_set)
        fitting = [name for name, door in made.doors.items() if mistake.fits(door)]
        if fitting:
            return made, mistake.plant(made, fitting[0], made.doors[fitting[0]])


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda m: f"{m.code} in {m.kind}")
def test_a_planted_mistake_is_found_and_named(mistake: Mistake) -> None:
    for seed in range(2):
        made, subject = _planted(mistake, seed)
        found = findings(text([made], mistake.rule_set, mistake.site))
        assert (mistake.code, subject) in {(f.rule, f.subject) for f in found}


def test_every_code_is_planted() -> None:
    codes = {code for rule in RULES for code in rule.codes}
    assert codes - {m.code for m in MISTAKES} - PLANTED_ELSEWHERE == set()
