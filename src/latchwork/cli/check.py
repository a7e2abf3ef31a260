"""``latchwork check``: what every door does, or one door whole."""

from __future__ import annotations

import json
from pathlib import Path

import click

from latchwork.cli.problems import stop, unusable_told

SOMETHING = 1


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--door", metavar="DOOR", help="Show one door whole: volts, amps, contacts.")
@click.option(
    "--situation",
    metavar="SITUATION",
    help='With --door: what happens, "power/mode/event"; what is left out is ordinary.',
)
@click.option("--situations", is_flag=True, help="With --door: list its situations and end.")
@click.option(
    "--figures",
    metavar="CASE",
    default="nominal",
    help='With --door: "nominal", "least volts", "most volts" or "most current".',
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for programs.")
def check(
    job: Path,
    door: str | None,
    situation: str | None,
    situations: bool,
    figures: str,
    as_json: bool,
) -> None:
    """Say what every door of JOB does, and what is wrong with it.

    Every door is taken through every situation: power, mode and event. The answer is a line a
    door, the supplies, then the findings, worst first.

    \b
    Examples:
      latchwork check boatyard
      latchwork check boatyard --door D3 --situation "all lost/exit request"
      latchwork check boatyard --door D3 --situations
    """
    if door is None:
        if situation is not None or situations or figures != "nominal":
            raise click.UsageError("--situation, --situations and --figures need --door DOOR")
        _whole(job, as_json)
    else:
        _door(job, door, situation, situations, figures, as_json)


def _whole(job: Path, as_json: bool) -> None:
    from latchwork.cli.progress import Progress

    with unusable_told(as_json), Progress() as progress:
        from latchwork.answers.opening import check_job

        answer = check_job(job, progress.doors)
    if as_json:
        _json(answer)
    else:
        from latchwork.cli.check_page import check_page

        click.echo(check_page(answer, str(job)))
    if any(line.severity != "note" for line in answer.findings):
        raise click.exceptions.Exit(SOMETHING)


def _door(
    job: Path, door: str, situation: str | None, listing: bool, figures: str, as_json: bool
) -> None:
    from latchwork.answers.detail import UnknownName, detail, situations_of
    from latchwork.findings.problems import Problem
    from latchwork.opening import open_job

    with unusable_told(as_json):
        wiring = open_job(job).wiring
    try:
        if listing:
            keys = situations_of(wiring, door)
            click.echo(json.dumps(keys) if as_json else "\n".join(keys))
            return
        with unusable_told(as_json):
            answer = detail(wiring, door, situation or "", figures)
    except UnknownName as unknown:
        problem = Problem(
            "", 0, 0, f"--{unknown.what}", unknown.found, unknown.expected, "call.unknown"
        )
        stop([problem], as_json)
    if as_json:
        _json(answer)
    else:
        from latchwork.cli.door_page import door_page

        click.echo(door_page(answer))
    if not answer.solved:
        raise click.exceptions.Exit(SOMETHING)


def _json(answer: object) -> None:
    import msgspec

    click.echo(msgspec.json.encode(answer))
