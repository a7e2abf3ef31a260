"""Writes what is generated of the documents: docs/cli-reference.md from the commands, docs/schema
from the answers that ``--json`` prints."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import click
import msgspec

from latchwork.answers import CheckAnswer, DetailAnswer, PartAnswer, PartsAnswer
from latchwork.cli.command import latchwork

DOCS = Path(__file__).resolve().parent.parent / "docs"
ANSWERS = {
    "check": CheckAnswer,
    "door": DetailAnswer,
    "parts": PartsAnswer,
    "part": PartAnswer,
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
    found = {DOCS / "cli-reference.md": cli_reference()}
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


if __name__ == "__main__":
    for path, text in files().items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
