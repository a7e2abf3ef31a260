"""Calling the command line as a person would, in one process."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner, Result

from latchwork.cli.command import latchwork

ONE_DOOR = """\
latchwork: 1
site: {name: Sample house, mains: 230 V 50 Hz, ambient: 0 to 35 °C}
supplies:
  S1: {part: supply 24 V, battery: 2 x 12 V 12 Ah, outputs: {1: {fuse: 1.0 A}}}
doors:
  D1:
    name: Front
    power lost: stays locked
    fire alarm: stays locked
    out by: lever
    lock: strike 24 V fail-secure, wide range
    diode: diode
    controller: controller, reader outside
    reader: reader
    supply: S1 out 1
    runs: {power: 12 m of 2 x 1.0 mm², reader: 2 m of 6 x 0.22 mm²}
"""


def call(*arguments: str | Path) -> Result:
    """The outcome of ``latchwork`` with these arguments; a mistake of ours is raised."""
    return CliRunner().invoke(
        latchwork, [str(a) for a in arguments], prog_name="latchwork", catch_exceptions=False
    )


def job_in(folder: Path, text: str = ONE_DOOR) -> Path:
    """A job folder with ``text`` as its job file."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    return folder
