"""``latchwork parts``: find parts by words, and tell all that is known of one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.problems import stop, unusable_told

if TYPE_CHECKING:
    from latchwork.answers.parts import PartsAnswer


@click.command()
@click.argument("words", nargs=-1)
@click.option("--explain", metavar="NAME", help="Tell all that is known of one part.")
@click.option(
    "--job",
    type=click.Path(path_type=Path),
    help="With the own parts and the pinned figures of a job.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def parts(words: tuple[str, ...], explain: str | None, job: Path | None, as_json: bool) -> None:
    """List the parts that have all WORDS, or explain one.

    \b
    Examples:
      latchwork parts
      latchwork parts strike 24 V
      latchwork parts --explain "strike 24 V fail-secure"
    """
    from latchwork.answers.parts import part_explained, parts_found, parts_of
    from latchwork.parts import PartNotFound

    with unusable_told(as_json):
        offered = parts_of(job)
    if explain is None:
        _list(parts_found(offered, " ".join(words)), as_json)
        return
    try:
        answer = part_explained(offered, explain)
    except PartNotFound as missing:
        from latchwork.findings.problems import Problem
        from latchwork.words import say

        near = f" {say('parts.or')} ".join(missing.nearest) or say("parts.a part")
        stop([Problem("", 0, 0, "--explain", explain, near, "part.unknown")], as_json)
    if as_json:
        _json(answer)
    else:
        from latchwork.cli.parts_page import part_page

        click.echo(part_page(answer))


def _list(found: PartsAnswer, as_json: bool) -> None:
    from latchwork.cli.parts_page import parts_page

    if as_json:
        _json(found)
    else:
        click.echo(parts_page(found))


def _json(answer: object) -> None:
    import msgspec

    click.echo(msgspec.json.encode(answer))
