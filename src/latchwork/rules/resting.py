"""What never comes to rest: contacts that chatter, situations the solver could not bring home."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from latchwork.findings import Finding, Severity
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View


def chatter(view: View) -> Iterator[Finding]:
    """Contacts that never come to rest."""
    for door, nominal in view.doors():
        columns = np.flatnonzero(nominal.chatter.any(axis=1))
        if len(columns):
            first = nominal.situations[int(columns[0])]
            yield Finding(
                "chatter",
                door.id,
                Severity.FAILS,
                first.key,
                {"situations": float(len(columns))},
                "model",
            )


def unsolved(view: View) -> Iterator[Finding]:
    """Situations the solver could not bring to rest: told, never dropped."""
    for door, nominal in view.doors():
        columns = np.flatnonzero(~nominal.solved.all(axis=1))
        if len(columns):
            yield Finding(
                "unsolved",
                door.id,
                Severity.WEAK,
                nominal.situations[int(columns[0])].key,
                {"situations": float(len(columns))},
                "model",
            )


RULES: tuple[Rule, ...] = (
    Rule(("chatter",), "model", chatter, Uses.DOOR),
    Rule(("unsolved",), "model", unsolved, Uses.DOOR),
)
