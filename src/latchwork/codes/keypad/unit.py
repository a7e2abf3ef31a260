"""Whether the unit that the job has at a controller is the one that was keyed.

The store remembers which part it was when a sheet was first printed or confirmed for it. Stores of
before that was kept say nothing, and the next sheet does.
"""

from __future__ import annotations

from latchwork.codes.errors import CodesError
from latchwork.codes.register.changes import UnitFitted
from latchwork.codes.register.register import Register
from latchwork.codes.site import ControllerOnSite, SiteView


def unit_before(register: Register, controller: ControllerOnSite) -> str:
    """The part that was keyed where the job has another one now; "" else, or where it is not
    known."""
    before = register.units.get(controller.id, "")
    return before if controller.unit and before != controller.unit else ""


def remember(register: Register, controller: ControllerOnSite) -> tuple[UnitFitted, ...]:
    """What to write down with a sheet: which part it is for, where that is not known yet."""
    if not controller.unit or controller.id in register.units:
        return ()
    return (UnitFitted(controller.id, controller.unit),)


def check_unit(register: Register, controller: ControllerOnSite) -> None:
    """Raises CodesError where another unit hangs there than the one that was keyed."""
    before = unit_before(register, controller)
    if before:
        raise CodesError(
            f"what was keyed at {controller.id} was the part {before!r}, and the job has "
            f"{controller.unit!r} there now: another unit, which holds nothing that this store "
            f"knows. `latchwork codes controller JOB {controller.id}` with --new-unit begins it "
            "from the factory; with --same-unit where only the job's word for it changed"
        )


def gone_from(register: Register, site: SiteView, door: str) -> tuple[str, ...]:
    """The controllers that were keyed, and that the job has no more, as far as they may have served
    a door: its own, those of several doors where it has none now, and, where nothing was confirmed
    at it, those of doors that the job has no more: it may be one of them under another id."""
    gone = sorted((register.programmed.keys() | register.sheets.keys()) - site.controllers.keys())
    here = [c.id for c in site.controllers.values() if door in c.doors]
    fresh = register.programmed.keys().isdisjoint(here)

    def served(name: str) -> bool:
        before, dot, _ = name.partition(".")
        return before == door or (not here if not dot else fresh and before not in site.doors)

    return tuple(filter(served, gone))


def check_known(register: Register, site: SiteView, text: str) -> None:
    """Raises CodesError where a door, or a controller by its id, has none in the job any more and
    one was keyed there."""
    known = {c.id for c in site.controllers.values()}
    known |= {door for c in site.controllers.values() for door in c.doors}
    named = {text, *(door for door, name in site.doors.items() if name == text)} - known
    for name in sorted((register.programmed.keys() | register.sheets.keys()) - known):
        if not named.isdisjoint((name, name.partition(".")[0])):
            raise CodesError(
                f"the job has no {name} any more, though it was keyed: it holds what it held until "
                "it is reset; where its door or device was only given another id, give it back"
            )
