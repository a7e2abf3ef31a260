"""Expressions of flags, and the gates of a circuit, compiled: what ``gate_bits`` does, to the bit.

Needs numba. An expression is clauses of which one must fit.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import BIT, FULL, THREE, TWO, WORD
from latchwork.behaviour.kernel_given import Code
from latchwork.circuit.jit import kernel
from latchwork.circuit.kernel import NONE, ONE

Array = np.ndarray[Any, Any]


@kernel
def true(e: Any, code: Code, flags: Array) -> bool:
    """Expression ``e``."""
    plain, k = code.plain, e << TWO
    if plain[k + THREE] != NONE:
        return _any_clause(e, code.at, code.parts, flags)
    return bool(flags[plain[k]] & plain[k + ONE] == plain[k + TWO])


@kernel
def _any_clause(e: Any, at: Array, parts: Array, flags: Array) -> bool:
    """Whether one of the clauses of an expression fits."""
    k, end = at[e], at[e + ONE]
    while k < end:
        fit, more = True, True
        while more:
            fit = fit and flags[parts[k, 0]] & parts[k, 1] == parts[k, 2]
            more = parts[k, 3] != NONE
            k += ONE
        if fit:
            return True
    return False


@kernel
def gate_bits_one(gates: int, code: Code, flags: Array, bits: Array) -> None:
    """What the circuit hangs on: the first ``gates`` expressions, as the bits of words."""
    last = uint64(gates)
    for w in range(uint64(len(bits))):
        found = NONE
        first = w << WORD
        for e in range(first, min(first + FULL, last)):
            found |= uint64(true(e, code, flags)) << (e & BIT)
        bits[w] = found
