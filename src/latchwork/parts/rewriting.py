"""Making a part differ from itself: elements and rules replaced, flags fixed. Pure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from latchwork.elements import (
    All,
    Any_,
    Bolt,
    Const,
    Contact,
    Diode,
    Element,
    Expr,
    Flag,
    Fuse,
    Input,
    Latch,
    Load,
    Not,
    Rail,
    Resistor,
    Rule,
    Sense,
    Source,
    StateRule,
    Timer,
)
from latchwork.parts.model import Part


def with_element(part: Part, name: str, change: Callable[[Element], Element | None]) -> Part:
    """The part with one element changed, or gone where ``change`` gives None."""
    elements = [change(e) if e.name == name else e for e in part.elements]
    return replace(part, elements=tuple(e for e in elements if e is not None))


def with_more(part: Part, element: Element) -> Part:
    """The part with one element more."""
    return replace(part, elements=(*part.elements, element))


def with_rule(part: Part, flag: str, rule: StateRule) -> Part:
    """The part with the rule of one flag replaced."""
    return replace(part, rules=tuple(rule if r.flag == flag else r for r in part.rules))


def fixed(part: Part, flag: str, value: bool) -> Part:
    """The part in which everything that reads ``flag`` finds it true, or false, for ever."""

    def expr(old: Expr) -> Expr:
        match old:
            case Flag(name):
                return Const(value) if name == flag else old
            case Not(of):
                return Not(expr(of))
            case All(of):
                return All(tuple(expr(term) for term in of))
            case Any_(of):
                return Any_(tuple(expr(term) for term in of))
            case Const():
                return old

    def element(old: Element) -> Element:
        match old:
            case Contact(closed=closed):
                return replace(old, closed=expr(closed))
            case Resistor(on=on) | Rail(on=on) | Source(on=on) | Load(on=on):
                return replace(old, on=expr(on))
            case Diode() | Fuse():
                return old

    def rule(old: StateRule) -> StateRule:
        match old:
            case Input():
                return old
            case Sense(needs=needs) | Bolt(needs=needs):
                return replace(old, needs=expr(needs))
            case Rule(when=when):
                return replace(old, when=expr(when))
            case Latch(set_by=set_by, reset_by=reset_by):
                return replace(old, set_by=expr(set_by), reset_by=expr(reset_by))
            case Timer(start=start, clear=clear):
                return replace(old, start=expr(start), clear=expr(clear))

    return replace(
        part,
        elements=tuple(element(e) for e in part.elements),
        rules=tuple(rule(r) for r in part.rules),
    )
