"""The command line: few verbs, in the order of the job."""

from latchwork.cli.main import main

__all__ = ["main"]
