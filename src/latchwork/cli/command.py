"""The command ``latchwork``: its verbs, loaded one at a time, and the guard around them."""

from __future__ import annotations

import errno
import gc
import importlib
import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

import click

from latchwork import __version__
from latchwork.cli.verbs import Verbs

VERBS = {
    "demo": "latchwork.cli.demo:demo",
    "new": "latchwork.cli.new:new",
    "add": "latchwork.cli.add:add",
    "parts": "latchwork.cli.parts:parts",
    "check": "latchwork.cli.check:check",
    "draw": "latchwork.cli.draw:draw",
    "wiring": "latchwork.cli.wiring:wiring",
    "schedules": "latchwork.cli.schedules:schedules",
    "papers": "latchwork.cli.papers:papers",
    "sizes": "latchwork.cli.sizes:sizes",
    "questions": "latchwork.cli.questions:questions",
    "mend": "latchwork.cli.mend:mend",
    "faults": "latchwork.cli.faults:faults",
    "set": "latchwork.cli.set:set_",
    "undo": "latchwork.cli.undo:undo",
    "versions": "latchwork.cli.versions:versions",
    "compare": "latchwork.cli.versions:compare",
    "pin": "latchwork.cli.pins:pin",
    "update": "latchwork.cli.pins:update",
    "codes": "latchwork.cli.codes:codes",
    "keypad": "latchwork.cli.keypad:keypad",
}
"""Each verb and where it stands, in the order of the job."""

INTERNAL = 3
"""Exit code for a mistake of ours."""
INTERRUPTED = 130
"""What a shell says of a command that was interrupted."""
FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
"""Where what is printed goes has no room for it, or is broken."""


class Command(Verbs):
    """A group that imports a verb when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """In the order of the job, not of the alphabet."""
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The verb, imported now."""
        place = VERBS.get(cmd_name)
        if place is None:
            return None
        module, _, name = place.partition(":")
        command = getattr(importlib.import_module(module), name)
        assert isinstance(command, click.Command)
        return command

    def make_context(self, *args: Any, **more: Any) -> click.Context:
        """Read what is called for, as ``invoke`` runs it."""
        with _interruptible():
            return super().make_context(*args, **more)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the verb."""
        with _interruptible():
            return super().invoke(ctx)


@contextmanager
def _interruptible() -> Iterator[None]:
    """Whoever interrupts a command has found nothing, which is what 1 would say."""
    try:
        yield
    except (KeyboardInterrupt, click.Abort):
        raise click.exceptions.Exit(interrupted()) from None


@click.command(cls=Command, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="latchwork")
def latchwork() -> None:
    """Say what every electronically locked door will do, before a cable is pulled.

    A JOB is a folder with a job.yaml in it, or that file itself.

    \b
    Exit codes:
      0  nothing found that is weak or worse
      1  something found
      2  the job or the call cannot be used; each reason is printed
      3  a mistake in Latchwork itself
    130  interrupted
    """


def main() -> None:
    """Run the command line; never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        # What a terminal's encoding lacks is shown as "?": the word beside each mark stands.
        stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # TextIO in real life
    # No matrix here is worth threads of NumPy's: to begin them takes as long as to read NumPy.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Much is made and kept, and hardly anything in circles: looking for them takes a twentieth.
    gc.disable()
    try:
        latchwork(prog_name="latchwork")
    except Exception as error:
        full = isinstance(error, OSError) and error.errno in FULL
        sys.exit(unwritten(error) if full else told(error))
    finally:
        _let_go()
        # Python looks once more as it ends, through all that there is and that goes anyway.
        gc.freeze()


def interrupted() -> int:
    """Tell that the command was interrupted."""
    from latchwork.words import say

    click.echo(say("interrupted"), err=True)
    return INTERRUPTED


def unwritten(error: Exception) -> int:
    """Tell that what was to be printed could not be."""
    from latchwork.cli.problems import UNUSABLE
    from latchwork.words import say

    why = getattr(error, "strerror", None) or type(error).__name__
    with suppress(OSError):
        click.echo(say("unwritten", {"why": why}), err=True)
    return UNUSABLE


def _let_go() -> None:
    """What could not be written is tried again as Python ends, and would end it with 120."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def told(error: Exception) -> int:
    """Tell a mistake of ours: its kind and places, not its text, which may hold a code or name."""
    from latchwork.words import say

    click.echo(say("internal"), err=True)
    click.echo(f"  latchwork {__version__}, Python {sys.version.split()[0]}", err=True)
    click.echo(f"  {type(error).__name__}", err=True)
    for frame in traceback.extract_tb(error.__traceback__):
        _, ours, place = frame.filename.replace("\\", "/").rpartition("/latchwork/")
        if ours:
            click.echo(f"  {place}:{frame.lineno} {frame.name}", err=True)
    return INTERNAL
