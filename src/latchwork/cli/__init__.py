"""The command line: few verbs, in the order of the job."""

import sys

from latchwork.cli.interrupt import listen

__all__ = ["main"]


def main() -> None:
    """Run the command line, imported now that Ctrl-C is heard."""
    try:
        listen(main.__code__)
        from latchwork.cli import command

        command.main()
    except KeyboardInterrupt:
        from latchwork.cli.command import interrupted

        sys.exit(interrupted())
