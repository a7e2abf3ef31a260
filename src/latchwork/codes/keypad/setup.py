"""Setting a controller up: its grammar, wanted settings, and codes of its own."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.fieldspec import to_keys
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.vocabulary import CODES, SETTINGS
from latchwork.codes.pins import rules
from latchwork.codes.pins.allocate import PinSpace
from latchwork.codes.pins.odds import LockOut
from latchwork.codes.secret import Secret
from latchwork.job import one_of


def check_setting(grammar: Grammar, name: str, value: str) -> None:
    """Raises CodesError where this kind of controller has no such setting or value."""
    if name not in grammar.settings:
        raise CodesError(
            f"{grammar.name} has no setting {name[:40]!r}; expected "
            + one_of(name, grammar.settings)
        )
    kind, spec = SETTINGS[name], grammar.settings[name]
    field = grammar.fields.get(name)
    if kind.choices:
        takes = [v for v in kind.choices if field is None or to_keys(field, v) is not None]
        if value not in takes:
            raise CodesError(f"{name} is one of {', '.join(takes)}, not {value[:40]!r}")
    elif not (value.isascii() and value.isdecimal() and spec.least <= int(value[:9]) <= spec.most):
        raise CodesError(
            f"{name} is {spec.least} to {spec.most} {kind.unit}".rstrip() + f", not {value[:40]!r}"
        )
    if not grammar.can(f"set {name}"):
        raise CodesError(f"{grammar.name} has no step that sets {name}")


def check_settings(grammar: Grammar, controller: str, settings: Mapping[str, str]) -> None:
    """Raises CodesError where a setting that is meant is none that this kind of controller takes:
    it came with another grammar, or from the job file. One it has no step for is left out."""
    for name, value in settings.items():
        if name in grammar.settings and grammar.can(f"set {name}"):
            try:
                check_setting(grammar, name, value)
            except CodesError as error:
                raise CodesError(
                    f"{controller} cannot be set as it is meant to be, by the grammar "
                    f'{grammar.name}: {error}; say --set "{name}=VALUE" '
                    f"(latchwork codes controller JOB {controller})"
                ) from None


def codes_to_draw(grammar: Grammar) -> tuple[str, ...]:
    """The controller's own codes that are digits and can be changed."""
    return tuple(
        kind
        for kind in CODES
        if kind != "master card"
        and grammar.can(f"change {kind}")
        and f"new {kind}" in grammar.fields
    )


def draw_code(grammar: Grammar, kind: str, space: PinSpace) -> Secret:
    """A new installer, manager or master code, as long as the controller takes it.

    Up to eight digits it keeps to the rules for PINs, so that it is nobody's PIN either.
    """
    spec = grammar.fields[f"new {kind}"]
    digits = min(spec.most, max(spec.least, rules.LONGEST))
    if rules.SHORTEST <= digits <= rules.LONGEST:
        return space.allocate(digits)
    return Secret("".join(secrets.choice("0123456789") for _ in range(digits)))


def lock_out(settings: Mapping[str, str]) -> LockOut:
    """The lock-out rule that these settings make; no attempts counted where none locks out."""
    attempts = int(settings.get("wrong attempts", "0"))
    if settings.get("wrong attempts do") == "alarm":
        attempts = 0
    return LockOut(attempts, float(settings.get("lock-out time", "0")))


def takes_pin(grammar: Grammar, settings: Mapping[str, str], pin: str) -> bool:
    """Whether a PIN has as many digits as this controller takes."""
    if not grammar.can("add PIN"):
        return False
    spec, length = grammar.fields["pin"], int(settings.get("PIN length") or 0)
    return length in (0, len(pin)) and spec.least <= len(pin) <= spec.most


def missing(grammar: Grammar, settings: Mapping[str, str], card: bool, pin: bool) -> str:
    """What somebody lacks who has a card or a PIN or both, by what opens the door: card, PIN, or
    card or PIN; "" where they get in."""
    mode = settings.get("access mode", "")
    if not card and not pin:
        return "card or PIN"
    if mode == "card and PIN":
        return "card" if not card else "PIN" if not pin else ""
    if mode == "PIN":
        return "" if pin else "PIN"
    return "" if card or asks_first(grammar, settings) not in ("none", "card") else "card"


def people_together(settings: Mapping[str, str]) -> int:
    """How many people a controller waits for before it opens: 1 where each opens alone."""
    several = settings.get("access mode") == "several people"
    return max(1, int(settings.get("people needed") or 1)) if several else 1


def asks_first(grammar: Grammar, settings: Mapping[str, str]) -> str:
    """What a controller asks before a PIN: PIN (nothing: the PIN alone opens), place, card, or
    none where it takes no PIN at all."""
    mode = settings.get("access mode", "")
    if mode == "card" or not grammar.can("add PIN"):
        return "none"
    if mode == "card and PIN":
        return "card"
    if mode in ("PIN", "card or PIN"):
        return "place" if grammar.manners.tells_apart == "place" else "PIN"
    return grammar.manners.tells_apart
