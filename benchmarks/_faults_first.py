"""Before `faults`, in a process of its own: compiles what is compiled once for a machine, so that
neither its time nor its memory is counted."""

from __future__ import annotations

import time

from latchwork.behaviour import make_ready

began: list[float] = []


def tell(_what: str, done: int, _total: int) -> None:
    """Say that it begins, and how long it took."""
    if done:
        print(f"compiled in {time.perf_counter() - began[0]:.0f} s", flush=True)
    else:
        print("compiling, once for this machine", flush=True)
        began.append(time.perf_counter())


make_ready(tell)
