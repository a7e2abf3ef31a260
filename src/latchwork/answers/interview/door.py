"""The questions of a door, and the lines that their answers make."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from latchwork.answers.interview.asking import Answers, Ask, Known, WrongAnswer
from latchwork.job.problems import one_of
from latchwork.parts import Part, lever_frees
from latchwork.plan.fit import misfit
from latchwork.quantities import LENGTH, TIME, QuantityError, parse

LIKE_NONE = "no"
NONE = "none"
UNKNOWN = "unknown"
AT_THE_PANEL = "by the fire panel"
MECHANICAL = ("lever", "panic bar", "nothing mechanical")
DUTIES = ("stays locked", "unlocks")
ENTRIES: Mapping[str, Mapping[str, str]] = {
    "code": {"controller": "controller"},
    "card": {"controller": "controller, reader outside", "reader": "reader"},
    "card and code": {"controller": "controller, card and code"},
    "fingerprint": {"controller": "controller, fingerprint"},
}
"""How people come in: what that needs."""


def _usual(key: str, otherwise: Callable[[Known, Answers], str]) -> Callable[[Known, Answers], str]:
    """The job's usual value as the default, where it has one."""

    def default(known: Known, answers: Answers) -> str:
        return known.usual.get(key) or otherwise(known, answers)

    return default


def _own(check: Callable[[Known, Answers], bool]) -> Callable[[Known, Answers], bool]:
    """Asked of a door that is not like another."""
    return lambda known, answers: (
        answers.get("like", LIKE_NONE) == LIKE_NONE and check(known, answers)
    )


def lock_of(known: Known, answers: Answers) -> Part:
    """The lock that was chosen."""
    return known.part(answers["lock"], "lock")


def current_locks(lock: Part) -> bool:
    """Whether a lock needs power to lock."""
    return lock.facts.get("energised") == "locks"


def rated(answers: Answers) -> bool:
    """Whether the door is fire-rated."""
    return answers.get("fire-rating", NONE) != NONE


def _needs_power(known: Known, answers: Answers) -> bool:
    return current_locks(lock_of(known, answers))


def _not_freed(known: Known, answers: Answers) -> bool:
    mechanical = answers["out-by"] != MECHANICAL[2]
    return not (mechanical and lever_frees(lock_of(known, answers)))


def _locks(known: Known, answers: Answers) -> tuple[str, ...]:
    volts = _volts(known)
    if rated(answers):
        return (f"strike {volts} fail-secure, fire-listed", "motor lock 24 V, fire-listed")
    weather = ", weather" if answers.get("outside") == "weather" else ""
    return (
        f"strike {volts} fail-secure, wide range",
        f"strike {volts} fail-safe",
        f"magnet {volts}{weather}",
        f"bolt {volts} fail-secure",
        f"motor lock {volts} fail-secure",
    )


def _volts(known: Known) -> str:
    """The volts of the locks: those of the job's supplies, where they agree."""
    supplies = known.job.supplies.values() if known.job is not None else ()
    twelve = [s for s in supplies if "12 V" in s.use.part]
    return "12 V" if supplies and len(twelve) == len(supplies) else "24 V"


def _doors(known: Known) -> list[str]:
    return [*(known.job.doors if known.job is not None else ()), *known.said]


def _entry(known: Known) -> str | None:
    """How people come in usually; None where the usual controller is of none of the kinds."""
    usual = known.usual.get("controller")
    if usual is None:
        return "code"
    return next((word for word, devices in ENTRIES.items() if devices["controller"] == usual), None)


def _fire_devices(known: Known) -> list[str]:
    devices = known.job.devices if known.job is not None else {}
    return [name for name, use in devices.items() if use.part.startswith("fire relay")]


def own_fire(known: Known, answers: Answers) -> bool:
    """Whether the door has a fire contact of its own, at the end of a cable: one that doors share
    stands beside their supply."""
    return answers.get("fire", NONE) not in (NONE, *_fire_devices(known))


def _supplies(known: Known) -> list[str]:
    """Every supply, or its outputs where it has several: "S1 out 2"."""
    if known.job is None:
        return []
    return [
        f"{supply.id} out {output}" if output else supply.id
        for supply in known.job.supplies.values()
        for output in (supply.outputs or [""])
    ]


def _read_supply(known: Known, text: str) -> str:
    """One of the supplies, or by its id alone one that has a single output."""
    of_it = [offer for offer in _supplies(known) if offer.partition(" out ")[0] == text]
    if len(of_it) != 1:
        raise WrongAnswer(text, one_of(text, _supplies(known)))
    return of_it[0]


def _free_supply(known: Known, answers: Answers) -> str:
    """The first supply or output that no door uses yet, else the first."""
    del answers
    job = known.job
    offers = _supplies(known)
    used = {door.supply for door in job.doors.values()} if job is not None else set()
    free = [offer for offer in offers if offer.replace(" out ", ".") not in used]
    return (free or offers or [""])[0]


def read_part(slot: str, *, needed: bool = False) -> Callable[[Known, str], str]:
    """Reads the name of a part that fits a slot, or none where it is not needed."""

    def read(known: Known, text: str) -> str:
        if needed or text.casefold() != NONE:
            wanted = misfit(slot, known.part(text, slot))
            if wanted:
                raise WrongAnswer(text, wanted)
        return text

    return read


def read_length(known: Known, text: str) -> str:
    """A length as it shall stand in the file."""
    del known
    try:
        found = parse(text, LENGTH)
    except QuantityError as error:
        raise WrongAnswer(error.found, error.expected) from None
    if found is not None and found.low < 0.0:
        raise WrongAnswer(text, "a length, such as about 20 m")
    return text


def _read_minutes(known: Known, text: str) -> str:
    del known
    if text.casefold() in (NONE, UNKNOWN):
        return text.casefold()
    try:
        parse(text, TIME)
    except QuantityError as error:
        raise WrongAnswer(error.found, f"{error.expected}, or none") from None
    return text


def length_guess(known: Known, metres: int) -> str:
    """A length nobody has measured, marked as such."""
    return f"about {round(metres * 3.28 / 5) * 5} ft" if known.us else f"about {metres} m"


DOOR = (
    Ask("name"),
    Ask(
        "like",
        needed=lambda known, answers: bool(_doors(known)),
        default=lambda known, answers: _doors(known)[0],
        offers=lambda known, answers: [*_doors(known), LIKE_NONE],
        closed=True,
    ),
    Ask(
        "outside",
        needed=_own(lambda known, answers: True),
        default=_usual("outside", lambda known, answers: "inside"),
        offers=lambda known, answers: ("inside", "outside", "weather"),
        closed=True,
    ),
    Ask(
        "fire-rating",
        needed=_own(lambda known, answers: True),
        default=lambda known, answers: NONE,
        offers=lambda known, answers: (NONE, UNKNOWN),
        read=_read_minutes,
    ),
    Ask(
        "lock",
        needed=_own(lambda known, answers: True),
        default=lambda known, answers: (
            _locks(known, answers)[0]
            if rated(answers)
            else known.usual.get("lock") or _locks(known, answers)[0]
        ),
        offers=_locks,
        read=read_part("lock", needed=True),
    ),
    Ask(
        "out-by",
        needed=_own(lambda known, answers: True),
        default=_usual(
            "out by",
            lambda known, answers: MECHANICAL[0 if lever_frees(lock_of(known, answers)) else 2],
        ),
        offers=lambda known, answers: MECHANICAL,
        closed=True,
    ),
    Ask(
        "bar",
        needed=_own(
            lambda known, answers: (
                answers["out-by"] == MECHANICAL[1] and not lever_frees(lock_of(known, answers))
            )
        ),
        default=lambda known, answers: "panic bar with two-pole switch",
        offers=lambda known, answers: ("panic bar with two-pole switch", NONE),
        read=read_part("bar"),
    ),
    Ask(
        "exit",
        needed=_own(
            lambda known, answers: _not_freed(known, answers) and answers.get("bar", NONE) == NONE
        ),
        default=_usual("exit", lambda known, answers: "exit button"),
        offers=lambda known, answers: ("exit button", "exit sensor", NONE),
        read=read_part("exit"),
    ),
    Ask(
        "power-lost",
        needed=_own(lambda known, answers: True),
        default=lambda known, answers: DUTIES[_needs_power(known, answers)],
        offers=lambda known, answers: DUTIES,
        closed=True,
    ),
    Ask(
        "fire-alarm",
        needed=_own(lambda known, answers: True),
        default=lambda known, answers: DUTIES[_needs_power(known, answers) and not rated(answers)],
        offers=lambda known, answers: DUTIES,
        closed=True,
    ),
    Ask(
        "fire",
        needed=_own(lambda known, answers: answers["fire-alarm"] == DUTIES[1]),
        default=_usual("fire", lambda known, answers: [*_fire_devices(known), "fire relay"][0]),
        offers=lambda known, answers: [*_fire_devices(known), "fire relay", NONE],
        read=read_part("fire"),
    ),
    Ask(
        "release",
        needed=_own(_needs_power),
        default=_usual("release", lambda known, answers: "release, double pole"),
        offers=lambda known, answers: ("release, double pole", NONE),
        read=read_part("release"),
    ),
    Ask(
        "entry",
        needed=_own(lambda known, answers: _entry(known) is not None),
        default=lambda known, answers: _entry(known) or "",
        offers=lambda known, answers: tuple(ENTRIES),
        closed=True,
    ),
    Ask(
        "supply",
        needed=lambda known, answers: len(_supplies(known)) > 1,
        taken=lambda known, answers: len(_supplies(known)) == 1,
        default=_free_supply,
        offers=lambda known, answers: _supplies(known),
        read=_read_supply,
    ),
    Ask(
        "length",
        default=lambda known, answers: length_guess(known, 20),
        read=read_length,
    ),
    Ask(
        "fire-length",
        needed=_own(own_fire),
        default=lambda known, answers: length_guess(known, 20),
        read=read_length,
    ),
    # At the end of that cable, where whoever wires it has to stand.
    Ask("fire-place", needed=_own(own_fire), default=lambda known, answers: AT_THE_PANEL),
)
"""The questions of a door, in their order. Keys are the options of the command line too."""
