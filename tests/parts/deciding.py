"""A small evaluator of rules, written apart from the program's, for tests of single parts."""

from __future__ import annotations

from latchwork.elements import (
    All,
    Any_,
    Const,
    Contact,
    Expr,
    Flag,
    Input,
    Latch,
    Not,
    Rule,
    Timer,
    TimerMode,
)
from latchwork.parts import Part


def holds(expr: Expr, flags: dict[str, bool]) -> bool:
    """Whether an expression is true; a flag nobody set is false."""
    if isinstance(expr, Const):
        return expr.value
    if isinstance(expr, Flag):
        return flags.get(expr.name, False)
    if isinstance(expr, Not):
        return not holds(expr.of, flags)
    if isinstance(expr, All):
        return all(holds(term, flags) for term in expr.of)
    assert isinstance(expr, Any_)
    return any(holds(term, flags) for term in expr.of)


def settled(part: Part, **given: bool) -> dict[str, bool]:
    """All flags once nothing moves any more. ``given`` sets inputs and what senses would see.

    Timers run as if their start had just come; nothing is timed.
    """
    flags = {rule.flag: rule.rest for rule in part.rules if isinstance(rule, Input | Latch)}
    flags.update(
        {name.replace("door_", "door:").replace("site_", "site:"): v for name, v in given.items()}
    )
    for _ in range(20):
        before = dict(flags)
        for rule in part.rules:
            if isinstance(rule, Rule):
                flags[rule.flag] = holds(rule.when, flags)
            elif isinstance(rule, Timer):
                flags[rule.flag] = holds(rule.start, flags) and not holds(rule.clear, flags)
            elif isinstance(rule, Latch):
                held = flags[rule.flag] or holds(rule.set_by, flags)
                flags[rule.flag] = held and not holds(rule.reset_by, flags)
        if flags == before:
            return flags
    raise AssertionError("does not come to rest")


def closed(part: Part, flags: dict[str, bool]) -> set[str]:
    """The names of the contacts that are closed."""
    return {
        element.name.removeprefix("contact ")
        for element in part.elements
        if isinstance(element, Contact) and holds(element.closed, flags)
    }


def timer(part: Part, flag: str) -> TimerMode:
    """How the timer of a flag starts."""
    return next(r.mode for r in part.rules if isinstance(r, Timer) and r.flag == flag)
