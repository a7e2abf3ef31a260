"""Volts that circuits answered with before, for batches of few columns.

What chatters goes round and round through the same positions, and a batch of few columns takes as
long as one of hundreds. A column that stands as one stood before (the same member, curve and gates,
and the iteration begins where it began) ends where that one ended, to the bit.
"""

from __future__ import annotations

import numpy as np

from latchwork.behaviour.positions import Bools, solve_at
from latchwork.behaviour.state import Answer, Batch
from latchwork.circuit import Solution, Start, Work

FEW = 512
"""Columns of a batch that are looked up."""
MOST = 16384
"""Answers that are kept of a batch's members."""


def answer(
    batch: Batch, flags: Bools, gates: Bools, start: Start | None, work: Work | None
) -> Solution:
    """As ``solve_at``; ``gates``: what the circuit hangs on with these ``flags``."""
    if start is None or batch.columns > FEW:
        return solve_at(batch, flags, start, work)
    known, keys = batch.members.answers, _keys(batch, gates, start)
    fresh = np.array([n for n, key in enumerate(keys) if key not in known], dtype=np.intp)
    if work is not None:
        work.known += batch.columns - len(fresh)
    own: dict[bytes, Answer] = {}
    steps = 0
    if len(fresh):
        part = solve_at(batch.take(fresh), flags.take(fresh, axis=1), start.take(fresh), work)
        steps = part.steps
        tables = (part.volts, part.device_volts, part.regions, part.bonds, part.solved)
        answers = zip(*(list(np.ascontiguousarray(t.T)) for t in tables), strict=True)
        own = dict(zip([keys[n] for n in fresh.tolist()], answers, strict=True))
    found = [own.get(key) or known[key] for key in keys]
    if len(known) + len(own) > MOST:
        known.clear()
    known.update(own)
    rows = zip(*found, strict=True)
    volts, across, regions, bonds, solved = (np.stack(row, axis=-1) for row in rows)
    return Solution(volts, across, regions, solved, bonds, steps)


def _keys(batch: Batch, gates: Bools, start: Start) -> list[bytes]:
    """For each column all that its answer hangs on."""
    curve = batch.whose if batch.curve is None else batch.curve
    rows = (np.stack([batch.whose, curve]), start.volts, start.regions, gates)
    table = np.concatenate([np.ascontiguousarray(r.T).view(np.uint8) for r in rows], axis=1)
    return [row.tobytes() for row in table]
