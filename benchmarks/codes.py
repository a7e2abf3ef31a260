"""10,000 people with six-digit PINs over 60 controllers, from names to proved sheets.

`people_10000_s`: draw the PINs, save the store, give the places, make every sheet and key each in
on a simulated controller. `find_ms`: one person's doors and places in the opened store.
`open_s` beside `stretch_s`: opening that store, and Argon2id alone.
"""

from __future__ import annotations

import datetime as dt
import random
import sys
import tempfile
import time
import zoneinfo
from collections.abc import Iterator
from pathlib import Path

from _measure import report
from latchwork.codes.access.rights import doors_of
from latchwork.codes.access.times import parse_times
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.job_sheet import controller_sheet, grammars_of
from latchwork.codes.keypad.proof import prove
from latchwork.codes.register.changes import Change, ControllerSetUp, Grant, Group
from latchwork.codes.register.people import Draft
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from latchwork.codes.site import ControllerOnSite, SiteView
from latchwork.codes.store.holders import Stretch, stretch_passphrase
from latchwork.codes.store.sealed import create_store, open_store

PEOPLE = 10_000
CONTROLLERS = 60
RUNS = 5
GRAMMARS = ("letter pairs", "menus")
PASSPHRASE = Secret("heron ladder quince bench")
NOW = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)


def site() -> SiteView:
    """60 doors, each with a controller of its own."""
    doors = {f"D{i}": f"Door {i}" for i in range(1, CONTROLLERS + 1)}
    controllers = {
        f"{d}.controller": ControllerOnSite(f"{d}.controller", name, {d: ""})
        for d, name in doors.items()
    }
    return SiteView("Bench", zoneinfo.ZoneInfo("Europe/Berlin"), doors, controllers)


def furnish(view: SiteView) -> Iterator[Change]:
    """Weekly times, a group a pair of doors, and every controller's grammar."""
    yield parse_times("office hours", "mon-fri 07:00-19:00, sat 09:00-12:00")
    doors = list(view.doors)
    for i, door in enumerate(doors):
        following = doors[(i + 1) % len(doors)]
        yield Group(f"G{i}", (Grant(door, "office hours"), Grant(following, "office hours")))
    for i, controller in enumerate(view.controllers):
        yield ControllerSetUp(controller, GRAMMARS[i % len(GRAMMARS)])


def people(register: Register) -> list[Change]:
    """Everybody, with a PIN; every third has a card too."""
    draft = Draft(register)
    rng = random.Random(1)
    for i in range(PEOPLE):
        person = draft.add_person(f"Person {i}", (f"G{i % CONTROLLERS}",))
        draft.give_pin(person.id, 6)
        if i % 3 == 0:
            value = rng.randrange(1 << 16) << 8 | i % 256 | i << 24 & 0xFF000000
            draft.give_card(person.id, "32-bit identifier", value + i, None, value, str(value + i))
    return draft.changes


def sheets(register: Register, view: SiteView, grammars: dict[str, Grammar]) -> tuple[int, int]:
    """Makes and proves every sheet; returns places and keys."""
    places = keys = 0
    for controller in view.controllers.values():
        made = controller_sheet(register, view, controller, grammars[controller.id], NOW.date())
        proof = prove(made.grammar, made.sheet)
        if not proof.holds:
            sys.exit(f"{controller.id}: {proof.differences[:3]}")
        places += len(made.sheet.ends_with.users)
        keys += proof.presses
    return places, keys


def main() -> None:
    """Measure and print."""
    view = site()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = create_store(folder, "Office", PASSPHRASE, NOW)
        store.commit(list(furnish(view)), "bench", NOW)
        start = time.perf_counter()
        store.commit(people(store.register), "bench", NOW)
        drawn = time.perf_counter()
        grammars = grammars_of(store.register, view, None)
        store.commit(settle(store.register, view, grammars, NOW.date()), "bench", NOW)
        settled = time.perf_counter()
        places, keys = sheets(store.register, view, grammars)
        done = time.perf_counter()
        print(f"PINs {drawn - start:.2f} s, places {settled - drawn:.2f} s, ", end="")
        print(f"sheets {done - settled:.2f} s: {places} places, {keys} keys")

        opening, stretching = [], []
        for _ in range(RUNS):
            begin = time.perf_counter()
            stretch_passphrase(PASSPHRASE, Stretch(salt=b"s" * 16))
            stretching.append(time.perf_counter() - begin)
            begin = time.perf_counter()
            register = open_store(folder, PASSPHRASE).register
            opening.append(time.perf_counter() - begin)

    begin = time.perf_counter()
    for i in range(1, 101):
        person = register.people[f"P{i * 97}"]
        doors_of(register, view, person)
        _ = [p for held in register.places.values() for p in held.values() if p.person == person.id]
    find_ms = (time.perf_counter() - begin) * 1000 / 100
    report(
        "codes",
        people_10000_s=done - start,
        find_ms=find_ms,
        open_s=min(opening),
        stretch_s=min(stretching),
        places=places,
        keys=keys,
    )


if __name__ == "__main__":
    main()
