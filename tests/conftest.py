"""Slow outside references run only when asked for; what is left out is counted and said."""

from __future__ import annotations

import pytest

LEFT_OUT = pytest.StashKey[int]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--slow-oracles", action="store_true", help="run the tests marked slow_oracle as well"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    slow = [item for item in items if item.get_closest_marker("slow_oracle")]
    if config.getoption("--slow-oracles") or not slow:
        return
    config.hook.pytest_deselected(items=slow)
    config.stash[LEFT_OUT] = len(slow)
    items[:] = [item for item in items if item not in slow]


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
