"""Rows of a kernel and flags in them, compiled: flags are the bits of 64-bit words. Needs numba."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.circuit.jit import inlined, kernel, placed
from latchwork.circuit.kernel import NONE, ONE

Array = np.ndarray[Any, Any]
TWO, THREE = np.uint64(2), np.uint64(3)
WORD = np.uint64(6)
"""A flag's word is its number shifted down by so much,"""
BIT = np.uint64(63)
"""and its place in there what this leaves of it."""
HALF, FULL = np.uint64(32), np.uint64(64)
MIX = np.uint64(0x9E3779B97F4A7C15)
"""2 to the power of 64 over the golden ratio: an odd number whose bits look like chance."""


@inlined
def lit(flag: Any, flags: Array) -> bool:
    """Whether a flag is on."""
    its = uint64(flag)
    return bool((flags[its >> WORD] >> (its & BIT)) & ONE != 0)


@kernel
def put_flag(flag: Any, to: bool, flags: Array) -> None:
    """Set a flag."""
    its = uint64(flag)
    word, bit = its >> WORD, ONE << (its & BIT)
    flags[word] = (flags[word] | bit) if to else (flags[word] & ~bit)


@kernel
def same(a: Array, b: Array) -> bool:
    """Whether two rows hold the same."""
    alike = True
    for n in range(len(a)):
        alike = alike and a[n] == b[n]
    return alike


@placed
def copy(row: Array, into: Array) -> None:
    """Copy one row into another."""
    for n in range(len(row)):
        into[n] = row[n]


@kernel
def mixed(key: Array) -> Any:
    """A number for a key, where other keys hardly have the same."""
    number = NONE
    for word in key:
        number = (number ^ word) * MIX
        number ^= number >> HALF
    return number
