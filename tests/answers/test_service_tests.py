"""Where the meter of a service line goes."""

from __future__ import annotations

from typing import Any, cast

from latchwork.answers import service_tests
from latchwork.faults import Consequence, Effect, Reading, Sight
from latchwork.faults.model import UNTOLD

WHEN = "mains/fire alarm/nobody"


class _TellsAll:
    """A table of which every meter tells every fault."""

    def meter_tells(self, *_: object) -> bool:
        return True


def test_of_screws_that_tell_as_well_the_first_is_taken() -> None:
    """One job gives one plan, to the byte, whichever way names hash in a process: of six screws
    that tell all there is, chance took the first one time in six."""
    found = {}
    for n in range(6):
        reading = Reading(WHEN, True, f"D1.fire.NO{n}", "S1.-", 0.0, 27.0)
        found[str(n)] = Consequence(str(n), "D1", Effect.SILENT, WHEN, (), UNTOLD, reading=reading)
    at = Sight("D1", WHEN, True, "D1.lock", "D1.lock.+", "D1.lock.-")
    for first in range(6):
        some = {str((first + n) % 6): found[str((first + n) % 6)] for n in range(6)}
        table = cast(Any, _TellsAll())
        meter = service_tests._meter(table, at, some)
        assert meter is not None
        assert meter.terminal == f"D1.fire.NO{first}"
