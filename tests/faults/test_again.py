"""A held run after an edit: only what shares a supply with the edit is run, and the report is that
of a whole run."""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module

import pytest
from msgspec.structs import replace as put

from _jobs import job_text
from latchwork.faults import Ask, Counts, FaultReport, Held, again, hold
from latchwork.faults.lot import Lot, LotReport, run_lot
from latchwork.faults.prepare import groups_of
from latchwork.faults.sections import sections, wiring_of
from latchwork.faults.spread import Tell
from tests.truth.solved import wired

ASK = Ask(processes=1)
HEAD = """\
latchwork: 1
site: {name: Yard}
supplies:
  S1:
    part: supply 24 V
    battery: 2 x 12 V 7 Ah
    outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}, 3: {fuse: 1 A}}
  S2: {part: supply 24 V, outputs: {1: {fuse: 1 A}, 2: {fuse: 1 A}}}
doors:
"""
DOOR = """\
  {name}:
    supply: {out}
    power lost: unlocks
    out by: nothing mechanical
    lock: {{part: magnet 24 V, holds down to: 18 V}}
    controller: controller, reader outside
    reader: reader
    exit: exit button
    runs:
      power: {metres} m of 2 x 1.5 mm²
      reader: 2 m of 6 x 0.22 mm²
      exit: 4 m of 4 x 0.22 mm²
"""
D1, D2, D3 = (
    DOOR.format(name=name, out=out, metres=metres)
    for name, out, metres in (("D1", "S1 out 1", 8), ("D2", "S1 out 2", 11), ("D3", "S2 out 1", 9))
)
SITE = HEAD + D1 + D2 + D3
WAIVER = """\
    waivers:
      - {finding: F3A90C, reason: Porter on duty., by: the site manager, date: 2026-02-11}
"""
EDITS = {
    "nothing": (SITE, []),
    "a waiver": (SITE + WAIVER, []),
    "the site's name": (SITE.replace("Yard", "Old yard"), []),
    "a length": (SITE.replace("11 m", "12 m"), [("D1", "D2")]),
    "a part": (HEAD + D1 + D2 + D3.replace("exit button", "exit sensor"), [("D3",)]),
    "another supply": (SITE.replace("S1 out 2", "S2 out 2"), [("D1",), ("D2", "D3")]),
    "a door more": (SITE + DOOR.format(name="D4", out="S2 out 2", metres=7), [("D3", "D4")]),
    "a door less": (HEAD + D1 + D3, [("D1",)]),
    "a whole supply less": (HEAD + D1 + D2, []),
    "doors in another order": (HEAD + D3 + D1 + D2, []),
    "a supply's fuse": (SITE.replace("2: {fuse: 1 A}}}", "2: {fuse: 2 A}}}"), [("D3",)]),
    "found otherwise": (
        SITE + "    found:\n      - {part: controller, state: contact NO welded}\n",
        [("D3",)],
    ),
    "where it is warm": (
        SITE.replace("{name: Yard}", "{name: Yard, ambient: 10 to 50 °C}"),
        [("D1", "D2"), ("D3",)],
    ),
}


@pytest.fixture(scope="module")
def held() -> Held:
    return hold(wired(SITE), ASK)


def work_aside(report: FaultReport) -> FaultReport:
    zero = dict.fromkeys(("eliminations", "newton_steps", "reductions"), 0)
    return replace(report, counts=put(report.counts, **zero))


@pytest.mark.parametrize("edit", EDITS)
def test_it_is_a_whole_run_of_what_changed_alone(
    edit: str, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    text, expected = EDITS[edit]
    run: list[tuple[str, ...]] = []

    def watched(lot: Lot, tell: Tell) -> LotReport:
        run.extend(section.door_ids for section in lot.sections)
        return run_lot(lot, tell)

    monkeypatch.setattr(import_module("latchwork.faults.again"), "run_lot", watched)
    after = again(held, wired(text))
    assert run == expected
    whole = hold(wired(text), ASK)
    assert work_aside(after.report) == work_aside(whole.report)
    assert list(after.report.faults) == list(whole.report.faults)
    assert after.report.attacks == whole.report.attacks
    done = after.report.counts
    assert (done.eliminations == 0) == (not expected)
    assert after.sections == whole.sections


def test_edit_upon_edit(held: Held) -> None:
    """What was run again is held like the rest, there and back."""
    other = again(again(held, wired(EDITS["a length"][0])), wired(EDITS["a door more"][0]))
    back = again(other, wired(SITE))
    assert work_aside(back.report) == work_aside(held.report)


def test_what_hangs_on_the_whole_site_is_not_held() -> None:
    for ask in (replace(ASK, pairs=5), replace(ASK, all_rows=True)):
        with pytest.raises(ValueError, match="expected neither"):
            hold(wired(SITE), ask)


def test_a_site_without_doors_is_an_empty_report(held: Held) -> None:
    bare = again(held, wired(HEAD[: HEAD.index("doors:")] + "doors: {}\n")).report
    assert (bare.doors, bare.listed, bare.counts) == ((), 0, Counts())


@pytest.mark.parametrize("doors", [None, ["D5", "D14"]])
def test_sections_hold_the_groups_of_the_site(doors: list[str] | None) -> None:
    """Generated doors, some as found on site, one to eight a supply."""
    wiring = wired(job_text(36))
    apart = [g for s in sections(wiring, doors) for g in groups_of(wiring_of([s]), doors)]
    assert sorted(apart, key=lambda g: g.doors) == sorted(
        groups_of(wiring, doors), key=lambda g: g.doors
    )


def test_a_section_has_the_supply_that_a_lock_names_though_nothing_is_joined_to_it() -> None:
    """No contact works a strike beside a motor lock: it is joined to nothing, and its door is run
    all the same."""
    wiring = wired("""
latchwork: 1
supplies: {S1: supply 24 V, S2: supply 12 V}
doors:
  D1:
    supply: S1
    lock: motor lock 24 V fail-secure
    second lock: {part: strike 12 V fail-secure, supply: S2}
    controller: controller
    out by: lever
    wiring: {power: [[S1.+, lead, controller.+], [S1.-, lead, controller.-]]}
""")
    assert not any("S2" in (c.start[:2], c.end[:2]) for c in wiring.conductors)
    [section] = sections(wiring)
    assert [supply.id for supply in section.supplies] == ["S1", "S2"]
