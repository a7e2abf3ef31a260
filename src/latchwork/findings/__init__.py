"""A finding: what a rule saw, as codes and numbers. Words are made of it elsewhere."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum


class Severity(IntEnum):
    """Worst first."""

    DANGER = 0
    INSECURE = 1
    FAILS = 2
    WEAK = 3
    NOTE = 4


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a rule found.

    ``rule`` is the rule's code, ``subject`` the id of what it is about (a door, a device, a core),
    ``situation`` the key of the situation or "" where it holds in every one. ``figures`` are the
    numbers and names that the words need, ``source`` a source code. The id stays the same from
    run to run because it is made of rule, subject and situation alone.
    """

    rule: str
    subject: str
    severity: Severity
    situation: str = ""
    figures: Mapping[str, float | str] = field(default_factory=dict)
    source: str = "model"
    provisional: tuple[str, ...] = ()
    """Paths of the guesses this finding hangs on."""

    @property
    def id(self) -> str:
        """Short and stable: F and five characters."""
        text = "\x1f".join((self.rule, self.subject, self.situation))
        return "F" + hashlib.sha256(text.encode()).hexdigest()[:5].upper()
