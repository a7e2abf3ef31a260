"""Writes what is generated of the documents: docs/cli-reference.md from the commands, docs/schema
from the answers that ``--json`` prints, and the output shown in README.md."""

from __future__ import annotations

import contextlib
import json
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click
import msgspec
from click.testing import CliRunner

from latchwork.answers.detail import DetailAnswer
from latchwork.answers.faults_model import FaultsAnswer
from latchwork.answers.mend import MendAnswer
from latchwork.answers.model import CheckAnswer
from latchwork.answers.parts import PartAnswer, PartsAnswer
from latchwork.answers.questions import QuestionsAnswer
from latchwork.answers.schedules.model import SchedulesAnswer
from latchwork.answers.sizes import SizesAnswer
from latchwork.answers.versions import CompareAnswer, VersionsAnswer
from latchwork.cli.command import latchwork
from latchwork.codes.facts import PersonFacts, SheetFacts, WhoFacts
from latchwork.demo import write_demo

DOCS = Path(__file__).resolve().parent.parent / "docs"
README = DOCS.parent / "README.md"
SHOWN_LINES = 62
"""How much of an output that ends in … is shown."""
ANSWERS = {
    "check": CheckAnswer,
    "door": DetailAnswer,
    "faults": FaultsAnswer,
    "parts": PartsAnswer,
    "part": PartAnswer,
    "mend": MendAnswer,
    "schedules": SchedulesAnswer,
    "sizes": SizesAnswer,
    "questions": QuestionsAnswer,
    "versions": VersionsAnswer,
    "compare": CompareAnswer,
    "codes-who": WhoFacts,
    "codes-person": PersonFacts,
    "keypad": SheetFacts,
}
"""The file below docs/schema of each answer."""
HEAD = """\
# The command line

Generated from the commands by `python scripts/reference.py`; a test holds it equal to them.

Every answer for programs (`--json`) carries the version of its form in its first field; the
forms are in `docs/schema/`. Where a job cannot be used, `--json` prints
`{"latchwork_problems": 1, "problems": [...]}`, each with file, line, column, field, found,
expected and code.
"""


def files() -> dict[Path, str]:
    """Every generated file with its text."""
    found = {DOCS / "cli-reference.md": cli_reference(), README: readme()}
    for name, answer in ANSWERS.items():
        schema = msgspec.json.schema(answer)
        found[DOCS / "schema" / f"{name}.json"] = json.dumps(schema, indent=1) + "\n"
    return found


def cli_reference() -> str:
    """The help of every command."""
    return HEAD + "".join(
        f"\n## {name}\n\n```text\n{text}\n```\n" for name, text in helps(latchwork, "latchwork")
    )


def helps(
    command: click.Command, name: str, parent: click.Context | None = None
) -> Iterator[tuple[str, str]]:
    """The name and help of a command, then of those below it."""
    settings = {"terminal_width": 80, **command.context_settings}
    ctx = click.Context(command, info_name=name.split()[-1], parent=parent, **settings)
    yield name, command.get_help(ctx)
    if isinstance(command, click.Group):
        for below in command.list_commands(ctx):
            found = command.get_command(ctx, below)
            assert found is not None
            yield from helps(found, f"{name} {below}", ctx)


def readme() -> str:
    """README.md with the output of each command in it as it is now.

    The commands run beside the README's own job, "bakery", and the demo's two. An output that
    ends in … is cut.
    """
    text = README.read_text(encoding="utf-8")
    job = re.search(r"```yaml\n(.*?)```", text, re.DOTALL)
    assert job is not None
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        Path("bakery").mkdir()
        Path("bakery/job.yaml").write_text(job[1], encoding="utf-8")
        write_demo(Path("build/demo"))
        return re.sub(r"```console\n\$ latchwork (.*?)\n(.*?)```", _output, text, flags=re.DOTALL)


def _output(block: re.Match[str]) -> str:
    lines = CliRunner().invoke(latchwork, block[1].split()).output.splitlines()
    if block[2].endswith("…\n"):
        lines = [*lines[:SHOWN_LINES], "…"]
    return "\n".join([f"```console\n$ latchwork {block[1]}", *lines, "```"])


if __name__ == "__main__":
    for path, text in files().items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
