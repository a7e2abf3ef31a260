"""``latchwork demo``: the invented site, as a draft and put right."""

from __future__ import annotations

from pathlib import Path

import click

from latchwork.cli.problems import stop, unusable_told


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
def demo(folder: Path) -> None:
    """Write two jobs of an invented site into DIR, and check both.

    DIR/draft has mistakes planted in it; DIR/mended is the same site put right. A file that the
    demo did not write is never written over.
    """
    from latchwork.answers.opening import check_job
    from latchwork.answers.pinning import pin_job
    from latchwork.cli.check_page import check_page
    from latchwork.cli.page import tinted
    from latchwork.demo import NotOurs, write_demo
    from latchwork.findings.problems import Problem
    from latchwork.opening import open_job
    from latchwork.words import say

    try:
        with unusable_told():
            jobs = write_demo(folder)
            for job in jobs:
                pin_job(open_job(job))
            draft, mended = (check_job(job) for job in jobs)
    except NotOurs as foreign:
        wanted = say("demo.foreign")
        stop([Problem(str(foreign.file), 0, 0, "", say("demo.other"), wanted, "demo.foreign")])
    for word, job, answer in zip(("draft", "mended"), jobs, (draft, mended), strict=True):
        click.echo(tinted(say(f"demo.{word}", {"job": str(job)}), "head"))
        click.echo(check_page(answer, str(job)))
        click.echo()
    found = sum(f.severity != "note" for f in draft.findings)
    left = [f for f in mended.findings if f.severity != "note"]
    click.echo(say("demo.end", {"draft": f"{found}", "mended": f"{len(left)}"}))
    if left:
        raise click.exceptions.Exit(1)
