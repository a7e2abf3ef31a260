"""What codes need of a job: its time zone, its doors, the controllers that serve them."""

from __future__ import annotations

import zoneinfo
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from latchwork.codes.errors import CodesError
from latchwork.folder import JOB_FILE, open_folder
from latchwork.job import Job, PartUse, nearest
from latchwork.parts import PartNotFound, PartsErrors, catalogue

_SLOT = "controller"


@dataclass(frozen=True, slots=True)
class ControllerOnSite:
    """One controller. ``doors``: door id to the way on it ("1", "2"; "" where it has one).

    What the job file says of it, where it does: ``grammar``, the programming grammar, else "";
    ``places``, how many users it holds, else 0; ``settings`` by the vocabulary's names;
    ``unit``, which part of the catalogue it is.
    """

    id: str
    name: str
    doors: Mapping[str, str]
    grammar: str = ""
    places: int = 0
    settings: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""


@dataclass(frozen=True, slots=True)
class SiteView:
    """Doors by id with their names, controllers by id, and the zone whose clock hours go by.

    ``folder``: the job's, where its own card layouts are.
    """

    name: str
    zone: zoneinfo.ZoneInfo
    doors: Mapping[str, str]
    controllers: Mapping[str, ControllerOnSite]
    folder: Path | None = None

    def called(self, door: str) -> str:
        """A door as people call it: by its name, and by its id as well where another is called
        so."""
        name = self.doors.get(door, door)
        others = {low.casefold() for i, n in self.doors.items() if i != door for low in (i, n)}
        return f"{door} {name}" if name.casefold() in others else name


def view(job: Job) -> SiteView:
    """The site as codes see it. Raises CodesError where the time zone is none."""
    try:
        zone = zoneinfo.ZoneInfo(job.site.time_zone)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        raise CodesError(
            f"the job's site has the time zone {job.site.time_zone!r}, which nobody knows; "
            "write one such as Europe/Berlin or America/Chicago"
        ) from None
    served: dict[str, dict[str, str]] = {}
    uses: dict[str, PartUse] = {}
    names: dict[str, str] = {}
    for door in job.doors.values():
        if _SLOT in door.shared:
            device, _, way = door.shared[_SLOT].partition(".")
            served.setdefault(device, {})[door.id] = way
            uses[device], names[device] = job.devices[device], device
        elif _SLOT in door.devices:
            own = f"{door.id}.{_SLOT}"
            served[own] = {door.id: ""}
            uses[own], names[own] = door.devices[_SLOT], door.name or door.id
    controllers = {
        device: _controller(device, names[device], doors, uses[device])
        for device, doors in served.items()
    }
    doors = {door.id: door.name or door.id for door in job.doors.values()}
    return SiteView(job.site.name, zone, doors, controllers)


def _controller(device: str, name: str, doors: Mapping[str, str], use: PartUse) -> ControllerOnSite:
    settings: dict[str, str] = {}
    if "lock-out after" in use.settings:
        settings["wrong attempts"] = str(use.settings["lock-out after"])
    if "lock-out time" in use.figures:
        settings["lock-out time"] = f"{use.figures['lock-out time'].value:.0f}"
    places = use.settings.get("user places", 0)
    grammar = str(use.settings.get("grammar", ""))
    held = places if isinstance(places, int) else 0
    return ControllerOnSite(device, name, doors, grammar, held, settings, _unit(use))


def _unit(use: PartUse) -> str:
    """One name for a part, however the job file spells it."""
    try:
        return catalogue().find(use.part, _SLOT).name
    except (PartNotFound, PartsErrors):
        return use.part


def folder_of(path: Path) -> Path:
    """The job folder of a path that names it or its job file."""
    return path if path.is_dir() or path.name != JOB_FILE else path.parent


def read_site(path: Path) -> SiteView:
    """The site of a job folder. Raises JobErrors or CodesError."""
    return replace(view(open_folder(path).job), folder=folder_of(path))


MOST_NAMED = 20
"""Names shown where none is near what was typed."""


def find_door(site: SiteView, text: str) -> str:
    """A door's id by id or name. Raises CodesError with the nearest, or where several are called
    so."""
    return _find(text, {i: i for i in site.doors}, [(n, i) for i, n in site.doors.items()], "door")


def find_controller(site: SiteView, text: str) -> ControllerOnSite:
    """A controller by id, or by a door of its own. Raises CodesError as ``find_door``."""
    ids = {c.id: c.id for c in site.controllers.values()}
    names = []
    for controller in site.controllers.values():
        for door in controller.doors:
            ids.setdefault(door, controller.id)
            names.append((site.doors[door], controller.id))
    return site.controllers[_find(text, ids, names, "controller")]


def _find(text: str, ids: Mapping[str, str], names: Sequence[tuple[str, str]], what: str) -> str:
    """What is called ``text``: an id wins over a name."""
    low = text.strip().casefold()
    if text.strip() in ids:
        return ids[text.strip()]
    for name, identity in ids.items():
        if name.casefold() == low:
            return identity
    called = {identity: None for name, identity in names if name.casefold() == low}
    if len(called) > 1:
        raise CodesError(f"{text[:60]!r} could be {', '.join(called)}; give the id")
    if called:
        return next(iter(called))
    known = {**ids, **dict(names)}
    close = nearest(text, known)
    more = " …" if len(known) > MOST_NAMED else ""
    some = "known are " + ", ".join(sorted(known)[:MOST_NAMED]) + more
    told = f"the nearest is {close}" if close else some
    raise CodesError(f"no {what} is called {text[:60]!r}; {told}")
