"""Silent faults that a second one brings to light."""

from __future__ import annotations

from latchwork.answers.service import service_plan
from latchwork.faults import Ask, Effect, PairReport, faults
from tests.faults.known import jobs
from tests.truth.solved import wired

MAGNET = next(iter(jobs().values()))


def paired(budget: int, fault: str = "") -> PairReport:
    report = faults(wired(MAGNET), ask=Ask(fault, attacks=False, pairs=budget, processes=1))
    assert report.pairs is not None
    return report.pairs


def test_a_release_that_does_not_move_shows_when_the_exit_fails() -> None:
    """Common practice, no source: nobody pulls the release until the button is dead."""
    found = {(p.silent, p.second): p.effect for p in paired(3000).pairs}
    assert found["D1.release stuck at rest", "D1.exit stuck at rest"] is Effect.TRAPS
    assert found["D1.release stuck at rest", "D1.controller relay stuck off"] is Effect.TRAPS


def test_each_pole_of_a_release_stands_in_for_the_other() -> None:
    """One pole welded does nothing; both are a release that does not work, and the exit is still
    there (common practice, no source)."""
    pairs = paired(10**6, "release contact NC").pairs
    assert not any("NC1" in p.silent and "NC2" in p.second for p in pairs)
    found = faults(wired(MAGNET), ask=Ask("release contact NC1 welded", attacks=False))
    assert found.consequences == ()


def test_pairs_are_budgeted_and_counted_apart() -> None:
    small, large = paired(50), paired(200)
    assert (small.run, large.run) == (50, 200)
    assert small.of == large.of > 200
    assert set(small.pairs) <= set(large.pairs)
    singles = faults(wired(MAGNET), ask=Ask(attacks=False)).listed
    assert small.counts.points == 28 * (singles + 50)
    assert small.counts.points == small.counts.solved + small.counts.unsolved


def test_nothing_is_paired_with_itself_or_the_same_place() -> None:
    for pair in paired(3000).pairs:
        assert pair.silent != pair.second


def test_a_service_plan_finds_every_silent_fault() -> None:
    wiring = wired(MAGNET)
    report = faults(wiring, ask=Ask(attacks=False, processes=1))
    silent = {c.fault for c in report.consequences if Effect.SILENT in (c.effect, *c.also)}
    plan = service_plan(wiring, report)
    assert silent
    assert {f for line in plan for f in line.finds} == silent
    for line in plan:
        assert line.low_v <= line.expected_v <= line.high_v
    (pulled,) = (line for line in plan if "D1.release stuck at rest" in line.finds)
    assert pulled.situation == "mains/normal/emergency release"
    assert (pulled.lock, pulled.expected_state) == ("D1.lock", "unlocked")
    assert pulled.high_v < 1.0


def test_a_reading_tells_a_silent_fault_from_none() -> None:
    report = faults(wired(MAGNET), ask=Ask(attacks=False, processes=1))
    for c in report.consequences:
        if c.effect is Effect.SILENT:
            assert c.reading is not None
            assert abs(c.reading.sound_v - c.reading.faulty_v) > 0.5
            assert c.reading.situation in {key for key, _, _ in c.shows_in}
