"""The page and the answer of ``check``: the same facts, readable at 80 columns without colour."""

from __future__ import annotations

import os
import shlex
from pathlib import Path

import msgspec
import pytest

from latchwork.answers.model import CheckAnswer
from latchwork.answers.opening import check_job
from latchwork.cli.check_page import SEVERITIES, check_page
from latchwork.cli.page import cells, typed
from latchwork.demo import write_demo
from tests.cli.calling import ONE_DOOR, call, job_in


@pytest.fixture(scope="module")
def draft(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo"))[0]


@pytest.fixture(scope="module")
def answer(draft: Path) -> CheckAnswer:
    return check_job(draft)


def test_a_sound_door_exits_0_and_a_draft_with_mistakes_1(tmp_path: Path, draft: Path) -> None:
    sound = call("check", job_in(tmp_path / "job"))
    assert sound.exit_code == 0, sound.output
    assert "Findings  none" in sound.output or "note" in sound.output
    assert call("check", draft).exit_code == 1


def test_the_job_file_itself_will_do(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    assert call("check", job / "job.yaml").output.splitlines()[0] == "Sample house"


def test_json_is_the_whole_answer(draft: Path, answer: CheckAnswer) -> None:
    result = call("check", draft, "--json")
    assert result.exit_code == 1
    assert msgspec.json.decode(result.output, type=CheckAnswer) == answer
    assert answer.latchwork_check == 1


def test_doors_stand_in_the_order_of_the_job(answer: CheckAnswer) -> None:
    assert [d.id for d in answer.doors] == [f"D{n}" for n in range(1, 9)]


@pytest.mark.parametrize("width", [80, 100, 120])
def test_no_line_is_wider_than_the_page(answer: CheckAnswer, width: int) -> None:
    page = check_page(answer, "job", width)
    assert max(cells(line) for line in strip(page).splitlines()) <= width


def test_a_wide_page_has_no_gap_between_names_and_states(answer: CheckAnswer) -> None:
    """A row is followed with the eye: the longest name is as far from its states as the narrowest
    page asks for (common practice, no source)."""
    narrow, wide = (strip(check_page(answer, "job", width)).splitlines() for width in (80, 120))
    name = "A name that is as long as fifty letters are, or so."
    first = msgspec.structs.replace(answer.doors[0], name=name)
    long = msgspec.structs.replace(answer, doors=(first, *answer.doors[1:]))
    row = next(line for line in narrow if "Street door" in line)
    assert row in wide
    assert f" D1 {name} locked " in strip(check_page(long, "job", 120))


def test_texts_keep_to_a_phone_where_tables_cannot(answer: CheckAnswer) -> None:
    """All were as wide as the tables, and a phone broke them within words."""
    lines = strip(check_page(answer, "job", 50)).splitlines()
    texts = lines[next(n for n, line in enumerate(lines) if line.startswith("Findings")) + 1 :]
    assert max(map(cells, texts)) <= 50


def test_piped_output_has_no_colour(draft: Path) -> None:
    assert "\x1b" not in call("check", draft).output


def test_findings_come_worst_first_each_with_mark_word_and_figures(answer: CheckAnswer) -> None:
    order = [SEVERITIES.index(f.severity) for f in answer.findings]
    assert order == sorted(order)
    page = check_page(answer, "job", 80)
    plain = " ".join(strip(page).split())
    marks = {"danger": "▲", "insecure": "◊", "fails": "×", "weak": "◐", "note": "○"}
    for finding in answer.findings:
        assert finding.id in page
        head = " ".join(f"{marks[finding.severity]} {finding.severity} {finding.title}".split())
        assert head in plain
        assert finding.why
        assert finding.do
        assert finding.source_text


def strip(text: str) -> str:
    import click

    return click.unstyle(text)


def test_what_was_said_of_one_finding_is_not_said_again_of_the_next(answer: CheckAnswer) -> None:
    page = " ".join(strip(check_page(answer, "job", 100)).split())
    said: dict[tuple[str, str, str], str] = {}
    for finding in answer.findings:
        text = finding.why, finding.do, finding.source_text
        own = page.split(f" {finding.id} ")[1].split(" mend ")[0]
        first = said.setdefault(text, finding.id)
        assert (f"why {finding.why}" in own) == (first == finding.id)
        assert (f"why, do and source as at {first}" in own) == (first != finding.id)
    assert len(said) < len(answer.findings)


def test_the_page_ends_with_counts_and_the_caution(answer: CheckAnswer) -> None:
    page = check_page(answer, "job", 80)
    plain = " ".join(strip(page).split())
    assert f"{answer.points} points solved; {answer.unsolved} unsolved" in plain
    assert plain.endswith(" ".join(answer.caution.split()))
    assert "Local codes and the authority decide" in plain


def test_volts_short_of_the_need_show_in_the_door_line(answer: CheckAnswer) -> None:
    gate = next(d for d in answer.doors if d.id == "D4")
    lock = gate.locks[0]
    assert lock.least_v is not None
    assert lock.least_v < lock.need_v
    assert f"{lock.least_v:.2f} / {lock.need_v:.2f} V" in strip(check_page(answer, "job", 80))


def test_names_of_any_script_keep_the_columns(tmp_path: Path) -> None:
    names = [
        "倉庫の裏口の扉はとても長い名前です",
        "e\u0301te\u0301",
        "باب المخزن",
        "a" * 200,
        "a\x1b[31mb",
    ]
    for n, name in enumerate(names):
        quoted = name.replace("\x1b", "\\e")
        text = ONE_DOOR.replace("name: Front", f'name: "{quoted}"')
        result = call("check", job_in(tmp_path / str(n), text))
        assert result.exit_code == 0, result.output
        assert "\x1b" not in result.output
        # A command to copy is never broken into lines.
        broken = [line for line in result.output.splitlines() if "latchwork check" not in line]
        assert max(cells(line) for line in broken) <= 80
        (row,) = [line for line in result.output.splitlines() if line.startswith("  D1")]
        assert cells(row[: row.index("locked")]) == 80 - 4 * 9 - 15


def test_a_door_without_a_name_is_called_once(tmp_path: Path) -> None:
    """It said "D1 D1" and "D1.lock (D1)"."""
    text = ONE_DOOR.replace("    name: Front\n", "").replace("    diode: diode\n", "")
    job = job_in(tmp_path / "job", text)
    for output in (call("check", job).output, call("check", job, "--door", "D1").output):
        assert "D1 D1" not in output
        assert "(D1)" not in output
    assert "D1.lock: nothing takes up the coil's kick" in call("check", job).output


@pytest.mark.skipif(os.name == "nt", reason="another shell")
def test_a_printed_command_can_be_typed_as_it_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder of a name with a space, an apostrophe and a sign that the shell takes for its own;
    read back by POSIX rules."""
    monkeypatch.chdir(tmp_path)
    job = job_in(
        Path("Müller's jobs/mill & co"),
        ONE_DOOR.replace("12 m of 2 x 1.0", "90 m of 2 x 0.22"),
    )
    outputs = [
        call("check", job),
        call("mend", job, "--all"),
        call("sizes", job),
        call("set", job, "site", "standby=4 h"),
    ]
    for output in outputs:
        told = shlex.shlex(" ".join(output.output.split()).partition("latchwork ")[2], posix=True)
        told.whitespace_split = True
        assert told.get_token() in ("mend", "sizes", "undo"), output.output
        assert str(told.get_token()).startswith(str(job)), output.output


def test_a_plain_path_stands_without_quotes() -> None:
    assert typed("jobs/Müller-2026_07") == "jobs/Müller-2026_07"


@pytest.mark.parametrize(
    ("out_by", "bar"), [("lever", "lever with switch"), ("panic bar", "panic bar with switch")]
)
def test_a_bars_or_levers_switch_goes_by_the_name_of_what_is_pushed(
    tmp_path: Path, out_by: str, bar: str
) -> None:
    """As the papers and the guide call it; the slot is "bar" for both, and JSON keeps that."""
    (tmp_path / "job.yaml").write_text(
        "latchwork: 1\nsupplies: {S1: {part: supply 24 V}}\ndoors:\n  D1:\n"
        f"    power lost: unlocks\n    out by: {out_by}\n    lock: magnet 24 V\n"
        f"    controller: controller\n    bar: {bar}\n    runs: {{power: 8 m of 2 x 1.0 mm²}}\n",
        encoding="utf-8",
    )
    page = " ".join(call("check", tmp_path).output.split())
    assert f"in card or code, out {out_by.removeprefix('panic ')} · all lost" in page
    told = msgspec.json.decode(call("check", tmp_path, "--json").output, type=CheckAnswer)
    assert (told.doors[0].questions[0].leave_by, told.doors[0].out_by) == ("bar", out_by)
