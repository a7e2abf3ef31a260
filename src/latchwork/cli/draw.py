"""``latchwork draw``: wiring drawings of doors and the site's drawing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from latchwork.cli.problems import stop, unusable_told

if TYPE_CHECKING:
    from latchwork.drawing.index import Index
    from latchwork.drawing.sheet import Form, Title


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--door", "doors", metavar="DOOR", multiple=True, help="Only this door; repeatable.")
@click.option("--site", is_flag=True, help="Only the site's drawing, unless doors are named too.")
@click.option("--dxf", "as_dxf", is_flag=True, help="DXF files beside the SVG ones.")
@click.option("--narrow", is_flag=True, help="Laid out for a phone instead of a page.")
@click.option("--date", metavar="TEXT", default="", help="Date for the title strip.")
@click.option("--version", metavar="TEXT", default="", help="Version for the title strip.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Where to write; else the folder drawings in the job's folder.",
)
def draw(
    job: Path,
    doors: tuple[str, ...],
    site: bool,
    as_dxf: bool,
    narrow: bool,
    date: str,
    version: str,
    out: Path | None,
) -> None:
    """Draw the wiring of every door of JOB, and the site.

    Each drawing is one SVG file: door-D1.svg, site.svg. A file of that name is written over. Where
    two doors' names differ by capitals alone, the second file gets a number: door-d1-2.svg.

    \b
    Examples:
      latchwork draw boatyard
      latchwork draw boatyard --door D3 --dxf --out handover
    """
    from latchwork.drawing.index import index
    from latchwork.drawing.sheet import Form, Title
    from latchwork.findings.problems import Problem
    from latchwork.job import one_of
    from latchwork.opening import open_job
    from latchwork.words import say

    with unusable_told():
        opened = open_job(job)
        found = index(opened.wiring)
        known = found.plan
        unknown = [door for door in doors if door not in known.doors]
        if unknown:
            stop(
                Problem(
                    *("", 0, 0, "--door", d, one_of(d, known.doors, known.door_called)),
                    "call.unknown",
                )
                for d in unknown
            )
        folder = out if out is not None else opened.folder.path / "drawings"
        form = Form.NARROW if narrow else Form.WIDE
        wanted = doors or (() if site else tuple(found.plan.doors))
        whole = site or not doors
        files = dict(_files(found, wanted, whole, form, Title("", date, version), as_dxf))
        _write(folder, files)
    click.echo(say("drawing.done", {"count": str(len(files)), "folder": str(folder)}))
    # A folder of one's own choosing may hold other jobs' drawings too.
    left = _left_over(found, folder) if out is None else []
    if left:
        click.echo(say("drawing.left over", {"files": ", ".join(left), "folder": str(folder)}))


def _files(
    found: Index, doors: tuple[str, ...], whole: bool, form: Form, title: Title, as_dxf: bool
) -> Iterator[tuple[str, bytes]]:
    from latchwork.drawing.door import door_sheet
    from latchwork.drawing.names import file_names
    from latchwork.drawing.site import site_sheet
    from latchwork.drawing.svg import svg

    names = file_names(found.plan.doors)
    sheets = {names[door]: door_sheet(found, door, form, title) for door in doors}
    if whole:
        sheets["site"] = site_sheet(found, form, title)
    for name, sheet in sheets.items():
        yield f"{name}.svg", svg(sheet).encode("utf-8")
        if as_dxf:
            from latchwork.drawing.dxf import dxf

            yield f"{name}.dxf", dxf(sheet)


def _left_over(found: Index, folder: Path) -> list[str]:
    """Drawings of doors that the job has no more."""
    from latchwork.drawing.names import file_names

    known = set(file_names(found.plan.doors).values())
    drawn = (p for p in folder.glob("door-*") if p.suffix in (".svg", ".dxf"))
    return sorted(path.name for path in drawn if path.stem not in known)


def _write(folder: Path, files: dict[str, bytes]) -> None:
    from latchwork.folder import write_all

    folder.mkdir(parents=True, exist_ok=True)
    write_all({folder / name: content for name, content in files.items()})
