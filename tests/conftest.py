"""Slow outside references run only when asked for; what is left out is counted and said. Where
several processes run the tests, one more compiles the kernels for all of them meanwhile."""

from __future__ import annotations

import os
import subprocess
import sys
import time

import pytest

LEFT_OUT = pytest.StashKey[int]()
COMPILER = pytest.StashKey[subprocess.Popen[bytes]]()
COMPILER_PID = "LATCHWORK_TESTS_COMPILER"
NEED_KERNELS = ("answers", "behaviour", "cli", "demo", "faults", "outside", "papers", "remedies")
"""Folders of tests that run faults, some of them at least."""
POLL_S = 0.2


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--slow-oracles", action="store_true", help="run the tests marked slow_oracle as well"
    )


def pytest_configure(config: pytest.Config) -> None:
    if (getattr(config.option, "numprocesses", None) or 1) > 1:
        ready = "from latchwork.behaviour import make_ready; make_ready(lambda *far: None)"
        compiler = subprocess.Popen([sys.executable, "-c", ready])
        config.stash[COMPILER] = compiler
        os.environ[COMPILER_PID] = str(compiler.pid)


def pytest_unconfigure(config: pytest.Config) -> None:
    compiler = config.stash.get(COMPILER, None)
    if compiler is not None:
        compiler.kill()
        compiler.wait()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    slow = {item for item in items if item.get_closest_marker("slow_oracle")}
    if not config.getoption("--slow-oracles") and slow:
        config.hook.pytest_deselected(items=list(slow))
        config.stash[LEFT_OUT] = len(slow)
        items[:] = [item for item in items if item not in slow]
    workers = getattr(config, "workerinput", {}).get("workercount", 1)
    if workers > 1:
        items[:] = _kernels_last(items, workers)


def _kernels_last(items: list[pytest.Item], workers: int) -> list[pytest.Item]:
    """The tests in ``workers`` equal runs, those that need the kernels last in each."""
    at_once = [item for item in items if not _needs_kernels(item)]
    later = [item for item in items if _needs_kernels(item)]
    out = []
    for n in range(workers):
        for some in (at_once, later):
            out += some[len(some) * n // workers : len(some) * (n + 1) // workers]
    return out


def _needs_kernels(item: pytest.Item) -> bool:
    return item.path.parent.name in NEED_KERNELS


def pytest_runtest_setup(item: pytest.Item) -> None:
    if _needs_kernels(item):
        while _runs(os.environ.get(COMPILER_PID, "")):
            time.sleep(POLL_S)
        os.environ.pop(COMPILER_PID, None)


def _runs(pid: str) -> bool:
    """Whether the process that compiles is still at it: one that ended waits for its parent."""
    if not pid or sys.platform != "linux":
        return False
    try:
        with open(f"/proc/{pid}/stat", encoding="ascii") as stat:
            return stat.read().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def pytest_sessionfinish(session: pytest.Session) -> None:
    # A worker of pytest-xdist tells its count to the process that prints the summary.
    workeroutput = getattr(session.config, "workeroutput", None)
    if workeroutput is not None:
        workeroutput["left_out"] = session.config.stash.get(LEFT_OUT, 0)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object, error: object) -> None:
    left_out = getattr(node, "workeroutput", {}).get("left_out", 0)
    config: pytest.Config = node.config  # type: ignore[attr-defined]  # xdist has no types
    config.stash[LEFT_OUT] = left_out  # every worker collects the same tests


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    if left_out := config.stash.get(LEFT_OUT, 0):
        terminalreporter.write_line(f"slow tests left out: {left_out} (make test-all runs them)")
