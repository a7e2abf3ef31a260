"""The mistakes planted in the draft."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources

import yaml


@dataclass(frozen=True, slots=True)
class Planted:
    """One mistake: the rule that must find it, and where. ``kind``: electrical, people, security
    or fit."""

    id: str
    subject: str
    rule: str
    kind: str
    planted: str


def planted() -> tuple[Planted, ...]:
    """Every mistake planted in the draft."""
    text = (resources.files("latchwork.demo") / "data" / "planted.yaml").read_text("utf-8")
    return tuple(Planted(**entry) for entry in yaml.safe_load(text))
