"""Pinned figures win over the catalogue until somebody takes the catalogue's."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from latchwork.answers.opening import check_job
from latchwork.folder import locked
from latchwork.opening import fingerprint
from tests.cli.calling import ONE_DOOR, call, job_in

STRIKE = "strike 24 V fail-secure, wide range"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return job_in(tmp_path / "job")


def heavier(job: Path) -> None:
    """As if the catalogue had had a strike of twice the current when the job was pinned."""
    file = job / "parts.lock"
    data = json.loads(file.read_text(encoding="utf-8"))
    low, value, high, *rest = data["parts"][STRIKE]["figures"]["current"]
    data["parts"][STRIKE]["figures"]["current"] = [2 * low, 2 * value, 2 * high, *rest]
    file.write_text(json.dumps(data), encoding="utf-8")


def granted_a(job: Path) -> float:
    return check_job(job).supplies[0].loads_a["every door granted at once"]


def test_check_writes_nothing(job: Path) -> None:
    call("check", job)
    assert sorted(p.name for p in job.iterdir()) == ["job.yaml"]
    assert "not pinned" in call("check", job).output


def test_pinning_is_told_and_lasts(job: Path) -> None:
    result = call("pin", job)
    assert result.exit_code == 0
    assert STRIKE in result.output
    assert "2 x 1.0 mm²" in result.output
    assert "not pinned" not in call("check", job).output
    before = (job / "parts.lock").read_bytes()
    assert call("pin", job).output.startswith("0 newly pinned")
    assert (job / "parts.lock").read_bytes() == before


def test_no_part_of_ones_own_steers_the_terminal(job: Path) -> None:
    own = '"my\\e[2J strike"'
    text = ONE_DOOR.replace(f"lock: {STRIKE}", f"lock: {own}")
    (job / "job.yaml").write_text(text, encoding="utf-8")
    parts = f'parts: {{{own}: {{like: "{STRIKE}", current: {{is: 0.2 A, source: "s\\e[2J"}}}}}}'
    (job / "my-parts.yaml").write_text(parts, encoding="utf-8")
    assert "myU+001B[2J strike" in call("pin", job).output
    (job / "my-parts.yaml").write_text(parts.replace("0.2", "0.3"), encoding="utf-8")
    shown = call("update", job).output
    assert "myU+001B[2J strike: current" in shown
    assert "(sU+001B[2J)" in shown


def test_a_pinned_figure_is_the_one_that_counts(job: Path) -> None:
    call("pin", job)
    light = granted_a(job)
    heavier(job)
    assert granted_a(job) > light + 0.05


def test_pinning_again_keeps_old_figures_and_adds_new_parts(job: Path) -> None:
    call("pin", job)
    heavier(job)
    heavy = granted_a(job)
    job_in(job, ONE_DOOR.replace("diode: diode", "diode: diode\n    exit: exit button"))
    result = call("pin", job)
    assert result.output.splitlines() == ["exit button", "1 newly pinned in parts.lock."]
    assert granted_a(job) == pytest.approx(heavy, rel=1e-3)


def test_an_own_part_that_was_changed_after_pinning_is_told(job: Path) -> None:
    (job / "job.yaml").write_text(ONE_DOOR.replace(STRIKE, "mine"), encoding="utf-8")
    own = f'parts: {{mine: {{like: "{STRIKE}", current: 0.2 A}}}}'
    (job / "my-parts.yaml").write_text(own, encoding="utf-8")
    version = fingerprint(job / "job.yaml")
    call("pin", job)
    pinned = fingerprint(job / "job.yaml")
    assert "otherwise" not in call("check", job).output
    (job / "my-parts.yaml").write_text(own.replace("0.2", "0.3"), encoding="utf-8")
    assert "now, and reckoned as pinned: mine." in " ".join(call("check", job).output.split())
    assert len({version, pinned, fingerprint(job / "job.yaml")}) == 3
    call("update", job, "--write")
    assert "otherwise" not in call("check", job).output


def test_an_update_shows_first_and_changes_when_told(job: Path) -> None:
    call("pin", job)
    light = granted_a(job)
    heavier(job)
    shown = call("update", job)
    assert shown.exit_code == 0
    assert f"{STRIKE}: current: " in shown.output
    assert "1 changed" in shown.output
    assert granted_a(job) > light + 0.05
    assert "parts.lock has the catalogue's figures now" in call("update", job, "--write").output
    assert granted_a(job) == light
    assert "same figures" in call("update", job).output


def test_an_update_of_what_was_never_pinned_says_so(job: Path) -> None:
    """It said that the catalogue has the same figures as a parts.lock that is not there."""
    result = call("update", job)
    assert "same figures" not in result.output
    assert f"not pinned; latchwork pin {job} keeps" in result.output


def test_a_folder_in_use_is_told(job: Path) -> None:
    with locked(job):
        result = call("pin", job)
    assert result.exit_code == 2
    assert "process" in result.stderr
    assert not (job / "parts.lock").exists()
