"""Expressions over flags, compiled once for each shape and run over columns."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from latchwork.elements import All, Any_, Const, Expr, Flag, Not

Flags = NDArray[np.bool_]
Evaluate = Callable[[Flags], Flags]

Code = tuple["str | int | bool | Code", ...]
"""An expression with flag numbers for names: hashable, the same for like doors."""


def encode(expr: Expr, numbers: Mapping[str, int]) -> Code:
    """``expr`` with each flag's number. A flag that nothing sets is false."""
    match expr:
        case Const(value):
            return ("const", value)
        case Flag(name):
            number = numbers.get(name)
            return ("const", False) if number is None else ("flag", number)
        case Not(of):
            inner = encode(of, numbers)
            return ("const", not inner[1]) if inner[0] == "const" else ("not", inner)
        case All(of) | Any_(of):
            is_all = isinstance(expr, All)
            terms = []
            for term in of:
                inner = encode(term, numbers)
                if inner[0] == "const":
                    if inner[1] is not is_all:
                        return ("const", not is_all)
                    continue
                terms.append(inner)
            if not terms:
                return ("const", is_all)
            return terms[0] if len(terms) == 1 else ("all" if is_all else "any", *terms)


def compiled(code: Code) -> Evaluate:
    """A function from flags (flags x columns) to a row of truth values."""
    match code:
        case ("const", value):
            fixed = np.array([bool(value)])
            return lambda flags: fixed
        case ("flag", number):
            n = int(number)  # type: ignore[arg-type]  # encode() puts a number here
            return lambda flags: flags[n]
        case ("not", inner):
            of = compiled(inner)  # type: ignore[arg-type]  # encode() puts a code here
            return lambda flags: ~of(flags)
        case (kind, *rest):
            terms = [compiled(term) for term in rest]  # type: ignore[arg-type]  # likewise
            if kind == "all":

                def every(flags: Flags) -> Flags:
                    out = terms[0](flags)
                    for term in terms[1:]:
                        out = out & term(flags)
                    return out

                return every

            def some(flags: Flags) -> Flags:
                out = terms[0](flags)
                for term in terms[1:]:
                    out = out | term(flags)
                return out

            return some
    raise ValueError(f"not an expression: {code!r}")
