"""Volts that a member's circuit answered with before, compiled.

A member in another situation often stands as it stood in one before: the same gates, the same
curve, and the iteration begins where it began. Then it ends where it ended, to the bit.

Needs numba.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import uint64

from latchwork.behaviour.kernel_bits import TWO, copy, mixed, same
from latchwork.behaviour.kernel_room import CURVE, PLACE, Answers
from latchwork.circuit.jit import inlined
from latchwork.circuit.kernel import NONE, ONE, Stand

Array = np.ndarray[Any, Any]


@inlined
def answered(member: int, bits: Array, stand: Stand, bonds: Array, answers: Answers) -> bool:
    """Whether the circuit answered before as it is asked now; then as it did."""
    key = answers.key
    key[0] = uint64(member) + ONE
    key[1] = answers.now[CURVE]
    k = TWO
    for region in stand.regions:
        key[k] = uint64(region)
        k += ONE
    for word in bits:
        key[k] = word
        k += ONE
    for word in stand.across.view(np.uint64):
        key[k] = word
        k += ONE
    # By what is the same wherever the member stands among others: so what is found, and the work
    # that is counted, is the same too.
    last = uint64(len(answers.keys) - 1)
    place = mixed(key[2:]) & last
    for _ in range(len(answers.keys)):  # past what the member itself has there
        if answers.keys[place, 0] != key[0] or same(answers.keys[place], key):
            break
        place = (place + ONE) & last
    answers.now[PLACE] = place
    if not same(answers.keys[place], key):
        return False
    copy(answers.across[place], stand.across)
    copy(answers.regions[place], stand.regions)
    copy(answers.volts[place], stand.volts)
    copy(answers.bonds[place], bonds)
    return True


@inlined
def note_answer(solved: bool, stand: Stand, bonds: Array, answers: Answers) -> None:
    """Write down what was answered to what was asked last."""
    place = answers.now[PLACE]
    if not solved:
        answers.keys[place, 0] = NONE
        return
    copy(answers.key, answers.keys[place])
    copy(stand.across, answers.across[place])
    copy(stand.regions, answers.regions[place])
    copy(stand.volts, answers.volts[place])
    copy(bonds, answers.bonds[place])
