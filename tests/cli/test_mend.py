"""Remedies from the command line: shown in the file's own lines, made on demand."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from latchwork.answers.mend import mend_one
from latchwork.answers.opening import check_job
from latchwork.findings import Finding
from latchwork.remedies.bench import Bench
from latchwork.remedies.candidate import to_put
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy
from tests.cli.calling import ONE_DOOR, call, job_in

THIN = ONE_DOOR.replace("12 m of 2 x 1.0 mm²", "95 m of 2 x 0.22 mm²").replace(
    "strike 24 V fail-secure, wide range", "strike 24 V fail-secure"
)
"""A strike too far away on cores too thin."""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return job_in(tmp_path / "job", THIN)


def text(job: Path) -> str:
    return (job / "job.yaml").read_text(encoding="utf-8")


def found(job: Path) -> dict[str, str]:
    return {f.rule: f.id for f in check_job(job).findings if f.severity != "note"}


def test_a_remedy_is_shown_and_nothing_changed(job: Path) -> None:
    number = found(job)["volts-low"]
    result = call("mend", job, "--finding", number)
    assert result.exit_code == 0
    assert "-    runs: {power: 95 m of 2 x 0.22 mm²," in result.output
    assert f"latchwork mend {job} --finding {number} --write" in result.output
    assert text(job) == THIN
    assert sorted(p.name for p in job.iterdir()) == ["job.yaml"]


def test_a_remedy_is_made_as_a_version(job: Path) -> None:
    number = found(job)["volts-low"]
    result = call("mend", job, "--finding", number, "--write")
    assert result.exit_code == 0
    assert "volts-low" not in found(job)
    assert text(job) != THIN
    assert "mend: doors.D1." in call("versions", job).output
    call("undo", job)
    assert text(job) == THIN


def test_another_remedy_can_be_chosen(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job", THIN.replace("95 m of 2 x 0.22 mm²", "40 m of 2 x 0.5 mm²"))
    number = found(job)["volts-low"]
    answer = json.loads(call("mend", job, "--finding", number, "--json").output)
    assert answer["latchwork_mend"] == 1
    first, second = answer["remedies"][:2]
    assert first["paths"] != second["paths"]
    call("mend", job, "--finding", number, "--choose", "2", "--write")
    changed = [line[1:] for line in second["lines"] if line.startswith("+")]
    assert all(line in text(job) for line in changed)
    assert "volts-low" not in found(job)


def test_one_with_something_needless_besides_is_no_other_remedy(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A new name, and a new name with a note: offered once."""
    name, note = to_put("doors.D1.name", "Yard"), to_put("doors.D1.note", "bring a ladder")

    def twice(scene: Scene, finding: Finding, _: object) -> Iterator[Remedy]:
        for candidate in (name, name + note):
            edited = Bench(scene).edit(candidate)
            assert edited is not None
            yield Remedy(finding, edited.changes, edited.text, (), (), (), False, False)

    monkeypatch.setattr("latchwork.answers.mend.remedies", twice)
    answer, _ = mend_one(job, found(job)["volts-low"])
    assert len(answer.remedies) == 1


def test_all_of_them(job: Path) -> None:
    before = found(job)
    assert len(before) > 1
    shown = call("mend", job, "--all")
    assert shown.exit_code == 0
    assert text(job) == THIN
    made = call("mend", job, "--all", "--write")
    assert made.exit_code == 0
    assert found(job) == {}
    assert "Nothing at weak or worse is found." in call("mend", job, "--all").output


def test_what_has_no_remedy_is_said(tmp_path: Path) -> None:
    delayed = ONE_DOOR.replace("diode: diode", "diode: diode\n    delayed egress: yes")
    job = job_in(tmp_path / "job", delayed)
    number = found(job)["beyond-model"]
    for arguments in (("--finding", number), ("--all",)):
        result = call("mend", job, *arguments)
        assert result.exit_code == 1
        assert "no change of the file was found that helps" in result.output


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--finding", "F0"), "--finding: found F0, expected"),
        ((), "give one of --finding ID and --all"),
        (("--all", "--finding", "F0"), "give one of --finding ID and --all"),
    ],
)
def test_calls_that_cannot_be_used(job: Path, arguments: tuple[str, ...], told: str) -> None:
    result = call("mend", job, *arguments)
    assert result.exit_code == 2
    assert told in result.stderr


def test_an_id_where_nothing_is_found(tmp_path: Path) -> None:
    """It was told as a name that the file does not give."""
    result = call("mend", job_in(tmp_path / "job"), "--finding", "F0")
    assert "expected none, as latchwork check finds nothing here" in result.stderr


def test_a_choice_that_is_not_offered(job: Path) -> None:
    result = call("mend", job, "--finding", found(job)["volts-low"], "--choose", "9", "--write")
    assert result.exit_code == 2
    assert "--choose: found 9, expected a remedy from 1 to" in result.stderr
    assert text(job) == THIN


def test_check_names_the_way(job: Path) -> None:
    # A long path is broken where the line ends, wherever the folder of the tests stands.
    output = "".join(call("check", job).output.split())
    for number in found(job).values():
        assert f"latchwork mend {job} --finding {number}".replace(" ", "") in output


def test_what_is_to_be_done_on_site_is_said(tmp_path: Path) -> None:
    swapped = ONE_DOOR + "    found: [{swapped: [power brown, power blue]}]\n"
    job = job_in(tmp_path / "job", swapped)
    result = call("mend", job, "--finding", found(job)["polarity"])
    assert "Once this has been done on site" in result.output
    assert "-    found: [{swapped: [power brown, power blue]}]" in result.output


def test_where_the_catalogue_has_none_larger_that_is_said(tmp_path: Path) -> None:
    was = "supply 24 V, battery: 2 x 12 V 12 Ah, outputs: {1: {fuse: 1.0 A}}"
    large = '"supply 24 V, eight outputs", battery: 2 x 12 V 100 Ah'
    assert ONE_DOOR.count(was) == 1
    job = job_in(tmp_path / "job", ONE_DOOR.replace(was, large))
    answer = call("mend", job, "--finding", found(job)["supply-overload"])
    assert "The catalogue has none larger than 10.000 A" in " ".join(answer.output.split())


def test_a_release_is_moved_in_the_units_of_the_site(tmp_path: Path) -> None:
    """40 to 48 in above the floor (ADA 309.4 and IBC access-controlled egress, from memory)."""
    site = ONE_DOOR.replace("Sample house,", "Sample house, units: US, rule set: US model codes,")
    where = job_in(tmp_path / "job", f"{site}    release: release\n    release height: 5 ft\n")
    number = found(where)["release-height"]
    assert "+    release height: 44 in" in call("mend", where, "--finding", number).output
