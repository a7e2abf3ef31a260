"""Contact rules: when the flags of a part (its true-or-false states) change.

An expression is built from flags: ``Flag("powered") & ~Flag("refused")``. A flag name without a
prefix belongs to the part; ``door:…`` belongs to the door the part serves and ``site:…`` to the
whole site. Rules of a faster class move, and settle, before a slower one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum

from latchwork.elements.figures import Figure


class Speed(IntEnum):
    """Fastest first."""

    CONTROLLER = 0
    RELAY = 1
    LOCK = 2
    FUSE = 3
    CUT_OFF = 4
    """A battery's cut-off waits some seconds, lest a moment's load trips it (common practice, no
    source); a fuse with more than it bears does not."""


class _Operators:
    __slots__ = ()

    def __and__(self, other: Expr) -> Expr:
        return All((self, other))  # type: ignore[arg-type]  # every subclass is an Expr

    def __or__(self, other: Expr) -> Expr:
        return Any_((self, other))  # type: ignore[arg-type]  # every subclass is an Expr

    def __invert__(self) -> Expr:
        return Not(self)  # type: ignore[arg-type]  # every subclass is an Expr


@dataclass(frozen=True, slots=True)
class Const(_Operators):
    """Always true or always false."""

    value: bool


@dataclass(frozen=True, slots=True)
class Flag(_Operators):
    """True while the named flag is."""

    name: str


@dataclass(frozen=True, slots=True)
class Not(_Operators):
    """The opposite."""

    of: Expr


@dataclass(frozen=True, slots=True)
class All(_Operators):
    """True while every term is."""

    of: tuple[Expr, ...]


@dataclass(frozen=True, slots=True)
class Any_(_Operators):
    """True while at least one term is."""

    of: tuple[Expr, ...]


Expr = Const | Flag | Not | All | Any_
TRUE = Const(True)
FALSE = Const(False)


def expr_flags(expr: Expr) -> tuple[str, ...]:
    """The names of the flags an expression reads."""
    if isinstance(expr, Const):
        return ()
    if isinstance(expr, Flag):
        return (expr.name,)
    if isinstance(expr, Not):
        return expr_flags(expr.of)
    return tuple(name for term in expr.of for name in expr_flags(term))


@dataclass(frozen=True, slots=True)
class Input:
    """A flag that people or the world set (a pressed button), ``rest`` in healthy idle."""

    flag: str
    rest: bool = False


@dataclass(frozen=True, slots=True)
class Sense:
    """Becomes true at ``on_v`` volts from ``a`` to ``b`` or more, false below ``off_v``.

    ``either_way`` ignores polarity. False whenever ``needs`` is.
    """

    flag: str
    a: str
    b: str
    on_v: Figure
    off_v: Figure
    either_way: bool = False
    needs: Expr = TRUE
    speed: Speed = Speed.CONTROLLER


@dataclass(frozen=True, slots=True)
class Bolt:
    """A coil that moves a bolt, keeper or armature, with the four thresholds of its voltage.

    ``may_pick_v <= surely_pick_v``; ``surely_release_v <= surely_hold_v``. Between them, and with
    a history that does not decide, the state is marginal. ``either_way`` ignores polarity.
    """

    flag: str
    a: str
    b: str
    may_pick_v: float
    surely_pick_v: float
    surely_hold_v: float
    surely_release_v: float
    either_way: bool = True
    needs: Expr = TRUE


@dataclass(frozen=True, slots=True)
class Rule:
    """The flag follows the expression."""

    flag: str
    when: Expr
    speed: Speed = Speed.CONTROLLER


@dataclass(frozen=True, slots=True)
class Latch:
    """Set by ``set_by``, reset by ``reset_by`` (which wins), else as it was."""

    flag: str
    set_by: Expr
    reset_by: Expr
    rest: bool = False
    speed: Speed = Speed.CONTROLLER


class TimerMode(StrEnum):
    """How a timer starts."""

    ON_RISE = "edge"
    """Runs ``seconds`` from the moment ``start`` becomes true."""
    WHILE = "level"
    """True while ``start`` is, and ``seconds`` longer."""


@dataclass(frozen=True, slots=True)
class Timer:
    """A flag that is true for a time. Cleared at once while ``clear`` is true."""

    flag: str
    start: Expr
    seconds: Figure
    mode: TimerMode = TimerMode.ON_RISE
    clear: Expr = FALSE


StateRule = Input | Sense | Bolt | Rule | Latch | Timer
