"""Rows of a kernel and flags in them, compiled: flags are the bits of 64-bit words. Needs numba."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.circuit.jit import inlined, kernel

Array = np.ndarray[Any, Any]
ONE = np.uint64(1)
WORD = 6
"""A flag's word is its number shifted down by so much,"""
BIT = 63
"""and its place in there what this leaves of it."""


@inlined
def lit(flag: int, flags: Array) -> bool:
    """Whether a flag is on."""
    return bool((flags[flag >> WORD] >> uint64(flag & BIT)) & ONE != 0)


@kernel
def put_flag(flag: int, to: bool, flags: Array) -> None:
    """Set a flag."""
    bit = ONE << uint64(flag & BIT)
    if to:
        flags[flag >> WORD] |= bit
    else:
        flags[flag >> WORD] &= ~bit


@kernel
def same(a: Array, b: Array) -> bool:
    """Whether two rows hold the same."""
    alike = True
    for n in range(len(a)):
        alike = alike and a[n] == b[n]
    return alike


@kernel
def copy(row: Array, into: Array) -> None:
    """Copy one row into another."""
    for n in range(len(row)):
        into[n] = row[n]
