"""The page of faults in a terminal of 80 columns."""

from __future__ import annotations

import re
from pathlib import Path

from click import unstyle
from msgspec.structs import replace

from latchwork.answers.faults import faults_job
from latchwork.answers.faults_model import AttackLine, CoverageLine, FaultRemedyLine, PairLine
from latchwork.answers.service import ServiceLine
from latchwork.cli.faults_page import faults_page
from latchwork.cli.page import Page, cells
from latchwork.cli.service_page import show_tests
from latchwork.faults import Ask
from tests.cli.calling import ONE_DOOR, job_in


def test_long_names_and_many_counts_stay_on_the_page(tmp_path: Path) -> None:
    """Names are wrapped, counts parted between two of them, and a reason's lines line up."""
    name = "Bibliothèque générale, salle de lecture et d'étude, entrée du personnel"
    text = ONE_DOOR.replace("Sample house", "LONG").replace("Front", "LONG")
    job = job_in(tmp_path, text.replace("LONG", f'"{name}"'))
    answer, _ = faults_job(job, (), Ask("controller frozen off", attacks=False, processes=1))
    (door,) = answer.doors
    answer = replace(answer, doors=(replace(door, counts=dict.fromkeys(door.counts, 1234)),))
    lines = unstyle(faults_page(answer, "job", whole=False, width=80)).splitlines()
    assert max(map(cells, lines)) <= 80
    counts = [line for line in lines if "1234" in line]
    assert len(counts) > 1
    assert all(re.search(r"\w 1234$", part) for line in counts for part in line.split(" · "))
    first = next(n for n, line in enumerate(lines) if line.lstrip().startswith("in mains/"))
    assert lines[first][:8].isspace() == lines[first + 1][:8].isspace()


def test_what_is_left_out_of_the_attacks_is_counted_and_by_hand_comes_first(tmp_path: Path) -> None:
    """A hand on an isolator outside is the cheapest attack of all (common practice, no source)."""
    job = job_in(tmp_path, ONE_DOOR)
    answer, _ = faults_job(job, (), Ask("controller frozen off", attacks=False, processes=1))
    (door,) = answer.doors
    attacks = [
        AttackLine(unit, text, (), (), 0.0, situation, "it opens")
        for unit, text, situation in (
            *(("D1.reader", f"join {n}", "mains/normal/nobody") for n in "ab"),
            ("D1.reader", "9 V", "battery/normal/nobody"),
            ("D1.button", "off the wall", "mains/normal/nobody"),
            ("", "mains off at the isolator", "all lost/normal/nobody"),
        )
    ]
    door = replace(door, attacks=tuple(attacks), covered=CoverageLine((), 0, 0, 0, 0, 1))
    answer = replace(answer, doors=(door,))
    page = unstyle(faults_page(answer, "job", whole=False, width=80))
    assert page.index("mains off at the isolator") < page.index("D1.reader join a")
    assert "D1.button off the wall" not in page
    assert "and 1 more: latchwork faults job --door D1" in page
    assert "more:" not in unstyle(faults_page(answer, "job", whole=True, width=80))


def test_what_is_done_once_is_told_once_with_all_its_readings() -> None:
    """A release with two poles is operated once, and the meter put on two screws."""
    do = "Operate the emergency release on mains, then reset it"
    first = ServiceLine(
        door="D1",
        supply="",
        situation="mains/normal/emergency release",
        moment="begins",
        do=do,
        given="on mains",
        every_months=6,
        lock="D1.lock",
        expected_state="unlocked",
        by_itself=False,
        terminal="D1.lock.+",
        against="S1.-",
        expected_v=0.0,
        low_v=0.0,
        high_v=0.0,
        finds=("a",),
        told=("A",),
    )
    second = replace(first, lock="", terminal="D1.lock.-", against="S1.1", told=("B",))
    often = replace(first, every_months=12, told=("C",))
    page = Page(80)
    show_tests(page, (first, second, often), whole=False)
    lines = [line.strip() for line in unstyle(page.text()).splitlines()]
    assert [n for n, line in enumerate(lines) if line.startswith(do)] == [0, 6]
    assert lines[4:6] == [
        "D1.lock.- against S1.1 reads nothing (less than 0.50 V)",
        "finds 1: B",
    ]


def test_all_doors_stand_at_a_glance(tmp_path: Path) -> None:
    """A line a door; under each head, to its right edge, the number that the door's section tells.
    What no door has has no column, and a door that was not tried shows no number for nothing."""
    answer, _ = faults_job(job_in(tmp_path, ONE_DOOR), (), Ask("controller frozen", processes=1))
    (first,) = answer.doors
    second = replace(first, id="D2", name="Yard", counts={"traps": 7, "opens": 0}, attacks=())
    bare = replace(second, id="D3", has_lock=False, counts={})
    one = faults_page(answer, "job", whole=False, width=80)
    assert "how many faults" not in one
    answer = replace(answer, doors=(first, second, bare))
    lines = unstyle(faults_page(answer, "job", whole=False, width=80)).splitlines()
    at = next(n for n, line in enumerate(lines) if "how many faults" in line)
    heads = lines[at + 3]
    ends = {m.group(): m.end() for m in re.finditer(r"\w+", heads)}
    assert set(ends) == {"traps"} | {e for e, count in first.counts.items() if count}
    rows = {line[:2]: line for line in lines[at + 3 :] if re.match(r"D\d  ", line)}
    for door in (first, second):
        for effect, end in ends.items():
            count = door.counts.get(effect, 0)
            assert rows[door.id][:end].split()[-1] == (str(count) if count else "–")
    assert rows["D3"].endswith("no lock that current moves")
    wide = unstyle(faults_page(answer, "job", whole=False, width=120)).splitlines()
    assert rows["D2"] in wide, "no further from its name where there is room"
    gone = replace(bare, id="D4", missing=("D4.lock",))
    alone = unstyle(faults_page(replace(answer, doors=(bare, gone)), "job", whole=False, width=80))
    assert "D3  Yard no lock that current moves\nD4  Yard lock found missing\n" in alone


def test_pairs_that_trap_come_before_those_that_do_less(tmp_path: Path) -> None:
    """Of more than a page shows, what takes people's way out is never among those left out."""
    answer, _ = faults_job(job_in(tmp_path, ONE_DOOR), (), Ask("frozen off", attacks=False))
    effects = ("opens", "stops the emergency release", "opens", "blocks the exit", "traps")
    pairs = tuple(PairLine(f"one {n}", "another", e, "") for n, e in enumerate(effects))
    answer = replace(answer, doors=(replace(answer.doors[0], pairs=pairs),))
    page = unstyle(faults_page(answer, "job", whole=False, width=80))
    told = [line for line in page.splitlines() if ", then another" in line]
    assert [line[:9] for line in told] == ["  ▲ one 4", "  ▲ one 3", "  ▲ one 1"]
    assert "and 2 more" in page


def test_lines_about_a_remedy_take_a_line_of_the_page_each(tmp_path: Path) -> None:
    """A door may be one line of its file: those beside it only say where it is, what changes is
    there whole."""
    answer, _ = faults_job(job_in(tmp_path, ONE_DOOR), (), Ask("frozen off", attacks=False))
    other, door = f"   D1: {{name: {'x' * 99}}}", f"   D2: {{name: {'y' * 99}}}"
    lines = (other, f"-{door}", f"+{door}, out by: lever")
    remedy = FaultRemedyLine("opens", (), 2, 1, (), lines, (), on_site=False, takes_over=False)
    doors = (replace(answer.doors[0], remedies=(remedy,)),)
    answer = replace(answer, doors=doors, remedies_asked=True)
    rows = unstyle(faults_page(answer, "job", whole=False, width=80)).splitlines()
    (about,) = (row for row in rows if "xxx" in row)
    assert cells(about) == 80
    assert about.endswith("…")
    assert [row.strip() for row in rows if "yyy" in row] == list(lines[1:])
    phone = unstyle(faults_page(answer, "job", whole=False, width=50)).splitlines()
    assert [cells(row) for row in phone if "xxx" in row] == [50]


def test_no_line_begins_with_the_unit_of_a_figure() -> None:
    """At every width from a phone's to a desk's; where words alone end a line, it ends there."""
    text = (
        "D1.lock has 2.79 V, D2.lock joint 10 Ω, S1 gives 0.75 A, less than 0.50 V; 2 doors. " * 3
    )
    for width in range(44, 121):
        page = Page(width)
        page.hang("", text, 4)
        lines = unstyle(page.text()).splitlines()
        assert " ".join(" ".join(lines).split()) == text.strip()
        assert max(map(len, lines)) <= width
        assert not any(re.match(r" *[VAΩ]\b", line) for line in lines), width
