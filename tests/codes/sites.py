"""A site for tests: three doors, two controllers of their own and one shared by two doors."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Iterable, Mapping
from importlib.resources import files

from latchwork.codes.access.times import parse_times
from latchwork.codes.access.who import who_could
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.job_sheet import controller_sheet
from latchwork.codes.keypad.read import read_grammar
from latchwork.codes.keypad.shelf import shipped_grammars
from latchwork.codes.keypad.wanted import Note
from latchwork.codes.register import changes as c
from latchwork.codes.register.people import Draft
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from latchwork.codes.site import ControllerOnSite, SiteView

DAY = dt.date(2026, 3, 2)
AT = dt.datetime(2026, 3, 2, 8, 0, tzinfo=dt.UTC)

SITE = SiteView(
    "Fernhill sail loft",
    zoneinfo.ZoneInfo("Europe/Berlin"),
    {"D1": "Street door", "D2": "Archive", "D3": "Loft", "D4": "Yard"},
    {
        "C1": ControllerOnSite("C1", "C1", {"D1": "1", "D4": "2"}),
        "D2.controller": ControllerOnSite("D2.controller", "Archive", {"D2": ""}),
        "D3.controller": ControllerOnSite("D3.controller", "Loft", {"D3": ""}),
    },
)
NAMES = {"C1": "letter pairs", "D2.controller": "menus", "D3.controller": "case button"}
SETTINGS = {"D2.controller": {"reader format": "26"}}
FRIDAY_19 = dt.datetime(2026, 3, 6, 18, 0, tzinfo=dt.UTC)
FRIDAY_NOON = dt.datetime(2026, 3, 6, 11, 0, tzinfo=dt.UTC)
"""An hour earlier than on the clock in Berlin."""

GRAMMARS: dict[str, Grammar] = {c: shipped_grammars()[n] for c, n in NAMES.items()}


def entry(*changes: c.Change) -> c.Entry:
    return c.Entry(AT, "H1", "test", tuple(changes))


def small_register() -> Register:
    """Eight people in two groups, with PINs and some cards, places given."""
    register = Register()
    register.extend(
        [
            entry(
                parse_times("office hours", "mon-fri 07:00-19:00"),
                c.Group("staff", (c.Grant("D1", "office hours"), c.Grant("D3", "office hours"))),
                c.Group("keepers", (c.Grant("*"),)),
                *(c.ControllerSetUp(n, g, 6, SETTINGS.get(n, {})) for n, g in NAMES.items()),
                c.ControllerCode("C1", "installer", Secret("40927183")),
                c.ControllerCode("C1", "manager", Secret("860495")),
                c.ControllerCode("D3.controller", "master card", Secret("8123456")),
            )
        ]
    )
    draft = Draft(register)
    for i, name in enumerate(["Mara", "Tilo", "Enna", "Juro", "Sefa", "Oskin", "Lia", "Brand"]):
        person = draft.add_person(f"{name} Quill", ("keepers" if i % 4 == 0 else "staff",))
        draft.give_pin(person.id, 6)
        if i % 2 == 0:
            value = 45 << 16 | 12000 + i
            draft.give_card(person.id, "26-bit", value, 45, 12000 + i, f"45,{12000 + i}")
    register.extend([entry(*draft.changes)])
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    return register


def as_written(name: str, was: str = "", becomes: str = "") -> Grammar:
    """A shipped grammar, with one thing in it otherwise."""
    shipped = files("latchwork.codes.data") / "grammars" / f"{name.replace(' ', '-')}.yaml"
    text = shipped.read_text(encoding="utf-8")
    assert was in text
    return read_grammar(text.replace(was, becomes, 1).encode(), name)


def keyed_in(
    register: Register,
    controllers: Iterable[str] = (),
    grammars: Mapping[str, Grammar] = GRAMMARS,
) -> tuple[Note, ...]:
    """Confirms a sheet at these controllers, or at all. Returns what the sheets note."""
    notes: tuple[Note, ...] = ()
    for controller in controllers or grammars:
        at, grammar = SITE.controllers[controller], grammars[controller]
        made = controller_sheet(register, SITE, at, grammar, DAY)
        register.extend([entry(c.Programmed(controller, made.sheet.ends_with))])
        notes += made.notes
    return notes


def could(
    register: Register, door: str, at: dt.datetime, grammars: Mapping[str, Grammar] = GRAMMARS
) -> dict[str, tuple[bool, bool, str]]:
    """By first name: whether they may, whether they can, and why where the two differ."""
    return {
        p.name.split()[0]: (p.may, p.can, p.why)
        for p in who_could(register, SITE, grammars, door, at)
    }
