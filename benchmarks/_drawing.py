"""How long one door's wiring drawing takes: laid out and painted as SVG."""

from __future__ import annotations

import statistics
import time

from latchwork.drawing import Form, Index, door_sheet, svg

RUNS = 5


def drawing_ms(index: Index, form: Form = Form.WIDE) -> float:
    """The median over all doors of each one's best of five, in milliseconds.

    The job is read and wired already; the first drawing of a process, which loads the words, does
    not count.
    """
    best = []
    for door in index.plan.doors:
        times = []
        for _ in range(RUNS):
            start_s = time.perf_counter()
            svg(door_sheet(index, door, form))
            times.append(time.perf_counter() - start_s)
        best.append(min(times))
    return 1000.0 * statistics.median(best)
