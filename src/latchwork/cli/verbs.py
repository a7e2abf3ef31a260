"""A group of verbs that says what it expects where it is called with none that it knows."""

from __future__ import annotations

from pathlib import Path

import click


class Verbs(click.Group):
    """A group that names the nearest verb, and what to do about two of them."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The verb called for; the nearest is named where there is none."""
        verbs = self.list_commands(ctx)
        if args[0] not in verbs and not args[0].startswith("-"):
            import difflib

            close = difflib.get_close_matches(args[0], verbs, n=1)
            known = f"the nearest is {close[0]}" if close else f"one of: {', '.join(verbs)}"
            ctx.fail(f"found {args[0]}, expected a verb; {known}")
        name, command, rest = super().resolve_command(ctx, args)
        first = next(iter(command.params), None) if command and rest else None
        # Where a job is to stand; a folder of that name is a job all the same.
        if first and first.name == "job" and rest[0] in verbs and not Path(rest[0]).exists():
            ctx.fail(
                f"found two verbs, {name} and {rest[0]}, expected one; call one after the other"
            )
        return name, command, rest
