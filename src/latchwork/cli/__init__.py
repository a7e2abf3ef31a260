"""The command line: few verbs, in the order of the job."""

from latchwork.cli.command import main

__all__ = ["main"]
