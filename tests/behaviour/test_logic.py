"""Expressions over flags: compiled over columns against their meaning, term by term."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.behaviour.logic import compiled, encode
from latchwork.elements import All, Any_, Const, Expr, Flag, Not

NAMES = ("a", "b", "c", "unknown")
EXPRS = st.recursive(
    st.one_of(st.builds(Const, st.booleans()), st.builds(Flag, st.sampled_from(NAMES))),
    lambda inner: st.one_of(
        st.builds(Not, inner),
        st.builds(All, st.lists(inner, max_size=3).map(tuple)),
        st.builds(Any_, st.lists(inner, max_size=3).map(tuple)),
    ),
    max_leaves=8,
)


def meaning(expr: Expr, true: set[str]) -> bool:
    match expr:
        case Const(value):
            return value
        case Flag(name):
            return name in true
        case Not(of):
            return not meaning(of, true)
        case All(of):
            return all(meaning(term, true) for term in of)
        case Any_(of):
            return any(meaning(term, true) for term in of)


@settings(deadline=None)
@given(EXPRS)
def test_every_expression_over_every_position(expr: Expr) -> None:
    """A flag that nothing sets is false."""
    known = {"a": 0, "b": 1, "c": 2}
    flags = np.array([[bool(n & (1 << row)) for n in range(8)] for row in range(3)])
    ours = np.broadcast_to(compiled(encode(expr, known))(flags), (8,))
    for column in range(8):
        true = {name for name, row in known.items() if flags[row, column]}
        assert ours[column] == meaning(expr, true)


@settings(deadline=None)
@given(EXPRS)
def test_like_expressions_have_one_code_whatever_their_flags_are_called(expr: Expr) -> None:
    def renamed(e: Expr) -> Expr:
        match e:
            case Flag(name):
                return Flag(f"D1.{name}")
            case Not(of):
                return Not(renamed(of))
            case All(of):
                return All(tuple(renamed(t) for t in of))
            case Any_(of):
                return Any_(tuple(renamed(t) for t in of))
            case _:
                return e

    here, there = {"a": 0, "b": 1, "c": 2}, {"D1.a": 0, "D1.b": 1, "D1.c": 2}
    assert encode(expr, here) == encode(renamed(expr), there)
    hash(encode(expr, here))
