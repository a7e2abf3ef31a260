"""``latchwork codes``: who may open what, and the sealed store that remembers it."""

from __future__ import annotations

import importlib

import click

from latchwork.cli.verbs import Verbs

_HERE = "latchwork.cli.codes"
VERBS = {
    "new": "store:new",
    "open": "store:open_",
    "close": "store:close",
    "holders": "store:holders",
    "holder-add": "store:holder_add",
    "holder-withdraw": "store:holder_withdraw",
    "passphrase": "store:passphrase",
    "times": "access:times",
    "holiday": "access:holiday",
    "group": "access:group",
    "who": "who:who",
    "import": "lists:import_",
    "cards": "lists:cards",
    "add": "people:add",
    "change": "people:change",
    "suspend": "people:suspend",
    "remove": "people:remove",
    "lost": "lost:lost",
    "list": "look:list_",
    "find": "look:find",
    "log": "look:log",
    "controller": "controllers:controller",
    "odds": "controllers:odds",
    "grammars": "controllers:grammars",
    "card-read": "card:card_read",
    "card-print": "card:card_print",
    "card-layout": "card:card_layout",
}
"""Each verb and where it stands, in the order of the work."""


class CodeVerbs(Verbs):
    """A group that imports a verb when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """In the order of the work, not of the alphabet."""
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The verb, imported now."""
        place = VERBS.get(cmd_name)
        if place is None:
            return None
        module, _, name = place.partition(":")
        command = getattr(importlib.import_module(f"{_HERE}.{module}"), name)
        assert isinstance(command, click.Command)
        return command


@click.command(cls=CodeVerbs)
def codes() -> None:
    """Keep people, cards, PINs and controller codes of a JOB in its sealed store.

    \b
    From nothing to a first sheet:
      latchwork codes new JOB --holder Office
      latchwork codes times JOB "office hours" "mon-fri 07:00-19:00"
      latchwork codes group JOB staff --door "Street door=office hours"
      latchwork codes import JOB people.xlsx --group staff
      latchwork codes controller JOB D1 --grammar "letter pairs"
      latchwork keypad JOB D1

    A passphrase is asked for, or taken from LATCHWORK_PASSPHRASE or from a file descriptor
    (--passphrase-fd); never from the command line.
    """
