"""What a full reference means: a terminal, joint, tap, core, cable or device.

The job has named devices, cables and joints in full; terminals and colours of cores are known
only now. Those that do not exist become problems that say where they stand and what was nearest.
"""

from __future__ import annotations

from latchwork.job.problems import JobErrors, Problem, nearest, one_of
from latchwork.plan.model import Plan, PlannedCable
from latchwork.plan.origins import problem_at
from latchwork.wiring.fitted import Fitted, deeds, fitted
from latchwork.wiring.sketch import OPEN

EARTH = "earth"
"""The building's earth, where leaks may lead."""


class Names:
    """Every name of a site, and the problems met while resolving references."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.problems: list[Problem] = []
        self.joints = {*plan.job.joints}
        for door in plan.doors.values():
            self.joints.update(f"{door.id}.{joint}" for joint in door.door.joints)

    def node(self, written: str, path: str) -> str:
        """The node of "D3.controller.NO", "C1.2.NO" (of way 2), "D3.J1", "K1.brown" or "open"."""
        if written in (OPEN, EARTH) or written in self.joints:
            return written
        owner, _, terminal = written.rpartition(".")
        if owner in self.plan.job.taps:
            return self._tap(owner, terminal, path)
        device = self._fitted(owner)
        if device is None:
            self.complain(path, written, "a terminal, joint or tap", "reference.unknown")
            return OPEN
        if device.has_own(terminal):
            return device.own(terminal)
        if device.has(terminal):
            return device.at(terminal)
        found = device.by_deed(terminal)
        if found is None:
            known = [t.name for t in device.part.terminals]
            close = nearest(terminal, [*known, *deeds()])
            hint = f"; the nearest is {close}" if close else ""
            self.complain(path, terminal, f"one of: {' '.join(known)}{hint}", "terminal.unknown")
        return found or OPEN

    def core(self, cable: str, core: str, path: str) -> str | None:
        """The id of a core, "D8.main.blue"; None after noting that the cable has none such."""
        known = [c.name for c in self.plan.cables[cable].type.cores]
        if core in known:
            return f"{cable}.{core}"
        self.complain(path, f"{cable} {core}", one_of(core, known), "core.unknown")
        return None

    def cores(self, written: str, path: str) -> list[str]:
        """The core, or all the cores of the cable, of that full name; none where it is neither."""
        whole = self.plan.cables.get(written)
        if whole is not None:
            return [f"{whole.id}.{core.name}" for core in whole.type.cores]
        cable, _, core = written.rpartition(".")
        if cable not in self.plan.cables or self._is_screw(written):
            return []
        found = self.core(cable, core, path)
        return [] if found is None else [found]

    def device(self, written: str) -> str | None:
        """The id of a device, whatever its way; None where it is none."""
        device = self._fitted(written)
        return None if device is None else device.id

    def complain(self, path: str, found: str, expected: str, code: str) -> None:
        """Note a problem at a place of the file."""
        self.problems.append(problem_at(self.plan.job, path, found, expected, code))

    def raise_problems(self) -> None:
        """Raise JobErrors if there were any problems."""
        if self.problems:
            raise JobErrors(self.problems)

    def _fitted(self, written: str) -> Fitted | None:
        device = self.plan.devices.get(written)
        if device is not None:
            return fitted(device)
        name, _, way = written.rpartition(".")
        device = self.plan.devices.get(name)
        return None if device is None or not way.isdigit() else fitted(device, way)

    def _is_screw(self, written: str) -> bool:
        """A cable and a device of a door may share a name; a screw of the device is no core."""
        owner, _, terminal = written.rpartition(".")
        device = self.plan.devices.get(owner)
        return device is not None and device.part.has_terminal(terminal)

    def _tap(self, tap: str, core: str, path: str) -> str:
        cable: PlannedCable = self.plan.cables[self.plan.job.taps[tap].on]
        known = [c.name for c in cable.type.cores]
        if core in known:
            return f"{tap}.{core}"
        self.complain(path, f"{tap}.{core}", one_of(core, known), "core.unknown")
        return OPEN
