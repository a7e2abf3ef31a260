"""What is generated of the documents is what the program says now."""

from __future__ import annotations

from pathlib import Path

import pytest

import reference
from latchwork.cli.command import VERBS, latchwork
from latchwork.parts import catalogue
from tests.cli.calling import ONE_DOOR, call, job_in

FILES = reference.files()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_generated_documents_are_up_to_date(path: Path) -> None:
    written = path.read_text(encoding="utf-8")
    assert written == FILES[path], "run: python scripts/reference.py"


def test_every_verb_is_in_the_reference() -> None:
    text = reference.cli_reference()
    assert all(f"\n## latchwork {verb}\n" in text for verb in VERBS)


def test_the_two_commands_come_first_in_the_readme() -> None:
    text = reference.README.read_text(encoding="utf-8")
    paragraphs = text.split("\n\n")
    assert "electronic door locks" in paragraphs[1]
    assert paragraphs[2].startswith("```sh\nmake demo")
    assert "\nmake test" in paragraphs[2]


def test_the_first_job_of_the_readme_has_something_to_find() -> None:
    text = reference.README.read_text(encoding="utf-8")
    output = text.partition("$ latchwork check bakery\n")[2].partition("```")[0]
    assert "× D1 Side door" in output
    assert "9.62 V at the lock, it needs 10.20 V to pick up" in " ".join(output.split())
    assert output.rstrip().endswith("never lock people in.")


def test_every_answer_for_programs_has_its_form() -> None:
    """The reference promises them; that of schedules was not there."""
    forms = {path.stem for path in FILES if path.suffix == ".json"} | {"codes-find"}
    for name, text in reference.helps(latchwork, "latchwork"):
        if "--json" in text:
            assert name.removeprefix("latchwork ").replace(" ", "-") in forms, name


def test_the_readmes_own_part_is_one(tmp_path: Path) -> None:
    """my-parts.yaml was named where a larger supply is wanted, and its form told nowhere."""
    blocks = reference.README.read_text(encoding="utf-8").split("```yaml\n")
    (own,) = (text.partition("```")[0] for text in blocks if text.startswith("parts:"))
    part = catalogue().with_parts(own, "my-parts.yaml").find("gate magnet", "lock").resolve()
    assert part.figures["current_a"].value == pytest.approx(0.31)
    cable = "{cable: 2 x 4 mm², length: 80 m, resistance: 3.3 ohm/km}"
    assert f"`{cable}`" in blocks[-1]
    run = ONE_DOOR.replace("12 m of 2 x 1.0 mm²", cable)
    assert call("check", job_in(tmp_path, run)).exit_code == 0
