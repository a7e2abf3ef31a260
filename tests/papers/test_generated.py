"""Generated jobs of many kinds of doors, some as found with deviations: every sheet is made."""

from __future__ import annotations

import pytest

from _jobs import job_text
from latchwork.papers.asked import Paper, Stamp
from latchwork.papers.pack import pack_pdf
from tests.papers.made import DAY, source_from, text_of


@pytest.mark.parametrize("seed", [1, pytest.param(2, marks=pytest.mark.slow_oracle)])
def test_a_generated_job_prints_whole(seed: int) -> None:
    source, version = source_from(job_text(16, seed))
    pages = text_of(pack_pdf(source, Paper.LETTER, Stamp(DAY, version)))
    text = " ".join(pages)
    for row in source.schedules.doors:
        for head in (f"Wiring {row.id}", f"Tests {row.id}", f"Your door: {row.id}"):
            assert f"{head} {row.name}" in text
    assert all(door.solved for door in source.schedules.readings)


def test_every_conductor_has_both_its_ends_in_the_schedule() -> None:
    """Held against the wiring itself, counted end by end."""
    source, _ = source_from(job_text(16, 3))
    wiring = source.index.wiring
    wanted = [(c.cable, c.core, c.end) for c in wiring.conductors]
    wanted += [(c.cable, c.core, c.start) for c in wiring.conductors]
    told = [(r.cable, r.core, r.to) for r in source.schedules.connections if r.wire == "core"]
    assert sorted(told) == sorted(wanted)
    leads = [r.to for r in source.schedules.connections if r.wire == "lead"]
    assert sorted(leads) == sorted(e for lead in wiring.leads for e in (lead.start, lead.end))


def test_every_core_is_in_one_list() -> None:
    source, _ = source_from(job_text(16, 3))
    for row in source.schedules.cables:
        kind = source.index.plan.cables[row.id].type
        every = (*row.used, *row.spare, *row.faulty, *row.missing)
        assert sorted(every) == sorted(core.name for core in kind.cores)


def test_what_is_ordered_is_what_is_planned() -> None:
    source, _ = source_from(job_text(16, 3))
    plan = source.index.plan
    parts = [place for row in source.schedules.order if row.kind == "part" for place in row.places]
    assert sorted(parts) == sorted(plan.devices)
    cut = sum(row.length_m or 0.0 for row in source.schedules.order if row.kind == "cable")
    assert cut == pytest.approx(sum(c.length_m.value * 1.1 + 4.0 for c in plan.cables.values()))
