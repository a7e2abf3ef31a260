"""What a fault does to a door of two locks, judged from the locks' states written by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest

from latchwork.behaviour import Event, LockState, Mode, Power, Situation
from latchwork.faults import Effect
from latchwork.faults.company import looked
from latchwork.faults.consequences import Judged, States, judge
from latchwork.faults.door_facts import Cases, DoorFacts

OPEN, SHUT, UNSURE = LockState.UNLOCKED, LockState.LOCKED, LockState.MARGINAL
EVENTS = (Event.NOBODY, Event.CREDENTIAL, Event.EXIT)
CASES = Cases([Situation(Power.MAINS, Mode.NORMAL, event) for event in EVENTS])
Door = Sequence[Sequence[LockState]]
"""For each lock its state with nobody, a card and an exit request."""


@dataclass(frozen=True)
class Late:
    """A door that is otherwise while a situation is held than as it begins."""

    begins: Door
    held: Door


NONE = ("", "")
ALONE: Door = ((SHUT, OPEN, OPEN), (SHUT, SHUT, SHUT))
"""A card and a button that free one lock of two, and with it nobody."""


def facts(
    *, leaf_each: bool = False, leave: bool = True, inward: tuple[str, ...] | None = None
) -> DoorFacts:
    pair, no, nodes = (0, 1), (False, False), ((0, 0), (0, 0))
    its = DoorFacts(
        NONE, pair, pair, (-1, -1), no, no, nodes, False, leave, False, (), leaf_each, (True, True)
    )
    return its if inward is None else replace(its, inward=True, reached=inward)


def judged(
    sound: Door | Late,
    faulty: Door | Late,
    cases: Cases,
    *,
    leaf_each: bool = False,
    leave: bool = True,
    inward: tuple[str, ...] | None = None,
) -> Judged:
    """Locks x one member x situations x moments."""
    before, now = (_moments(door) for door in (sound, faulty))
    seen = np.zeros((0, 1, len(cases.situations)), dtype=bool)
    whose = np.zeros(1, dtype=np.intp)
    its = facts(leaf_each=leaf_each, leave=leave, inward=inward)
    return judge(now, seen, before, seen, whose, its, cases)


def _moments(door: Door | Late) -> States:
    begins, held = (door.begins, door.held) if isinstance(door, Late) else (door, door)
    return np.stack([np.array(begins)[:, None], np.array(held)[:, None]], axis=3).astype(np.int8)


def effects(
    sound: Door, faulty: Door, *, leaf_each: bool = False, leave: bool = True
) -> set[Effect]:
    """All that a fault does in daily use."""
    its = judged(sound, faulty, CASES, leaf_each=leaf_each, leave=leave)
    return {its.effect(0), *its.also(0)}


@pytest.mark.parametrize("one", [0, 1])
def test_a_door_is_unlocked_only_when_every_lock_is(one: int) -> None:
    """By the glossary: one of two that no longer surely lets go is noticed as one walks up to it,
    and so is no silent fault."""
    free: Door = ((OPEN,) * 3,) * 2
    unsure = [list(lock) for lock in free]
    unsure[one] = [UNSURE] * 3
    assert {Effect.SHOWS, Effect.STOPS} <= effects(free, unsure)
    assert Effect.SILENT not in effects(free, unsure)


def test_what_opened_nothing_stops_at_nothing() -> None:
    """A card that frees one of two locks lets nobody in: a fault takes no way in away."""
    assert Effect.STOPS not in effects(ALONE, ((SHUT,) * 3,) * 2)
    both: Door = ((SHUT, OPEN, OPEN),) * 2
    its = judged(both, ALONE, CASES, leave=False)
    # Whoever asks stands there as it begins.
    assert (its.effect(0), its.moment[0]) == (Effect.STOPS, 0)


def test_a_leaf_that_opens_no_more_stops_though_the_other_is_always_held() -> None:
    """A card and a button free the leaf in use alone: whoever stands there notices (common
    practice, no source)."""
    for left in (SHUT, OPEN):
        # The card does nothing any more; the button neither, or as before.
        told = effects(ALONE, ((SHUT, SHUT, left), (SHUT,) * 3), leaf_each=True)
        assert Effect.STOPS in told
        assert Effect.SILENT not in told


@pytest.mark.parametrize("loose", [OPEN, UNSURE])
def test_one_leaf_of_two_that_gives_way_opens(loose: LockState) -> None:
    """Of two locks on one leaf the other still holds it; with a leaf each, one leaf is a way in."""
    shut: Door = ((SHUT,) * 3,) * 2
    one: Door = ((loose,) * 3, (SHUT,) * 3)
    assert Effect.OPENS in effects(shut, one, leaf_each=True)
    # Whoever pulls at the door finds it shut: nobody notices.
    assert effects(shut, one) == {Effect.SILENT}
    assert Effect.OPENS in effects(shut, ((loose,) * 3,) * 2)


def test_nobody_is_trapped_at_a_door_that_nobody_leaves_by() -> None:
    """A cabinet's button that fails is a nuisance (common practice, no source)."""
    free: Door = ((SHUT, OPEN, OPEN),) * 2
    dead: Door = ((SHUT, OPEN, SHUT),) * 2
    assert Effect.TRAPS in effects(free, dead)
    told = effects(free, dead, leave=False)
    assert Effect.STOPS in told
    assert not told & {Effect.TRAPS, Effect.BLOCKS}


def test_of_two_leaves_the_active_one_traps() -> None:
    """The other leaf is bolted all the time: its lock has no part in anybody's way out."""
    its = replace(facts(leaf_each=True), ways=(True, False))
    before, now = _moments(ALONE), _moments(((SHUT,) * 3,) * 2)
    seen, whose = np.zeros((0, 1, len(EVENTS)), dtype=bool), np.zeros(1, dtype=np.intp)
    told = judge(now, seen, before, seen, whose, its, CASES)
    assert told.effect(0) is Effect.TRAPS
    both = replace(its, ways=(True, True))
    assert judge(now, seen, before, seen, whose, both, CASES).effect(0) is not Effect.TRAPS


MANY = {
    "mains/normal/nobody": SHUT,
    "mains/normal/exit request": OPEN,
    "mains/normal/emergency release": OPEN,
    "mains/normal/outside unit dead": OPEN,
    "battery/normal/nobody": SHUT,
    "battery/normal/exit request": OPEN,
    "mains/fire alarm/nobody": OPEN,
    "mains/fire alarm/exit request": OPEN,
    "mains/fire panel lost/nobody": OPEN,
    "mains/fire panel lost/exit request": OPEN,
}
"""What a sound lock does that a button, a release and a fire alarm unlock."""
DEAD, ON_BATTERY, ALARM = list(MANY)[3], list(MANY)[5], list(MANY)[6]
PULLED, ASKED = "mains/normal/emergency release", "mains/fire alarm/exit request"


@pytest.mark.parametrize(
    ("shut", "effect", "where"),
    [
        ((ON_BATTERY,), Effect.BLOCKS, ON_BATTERY),
        ((DEAD,), Effect.BLOCKS, DEAD),
        ((PULLED,), Effect.RELEASE, PULLED),
        ((PULLED, ON_BATTERY), Effect.TRAPS, ON_BATTERY),
        ((PULLED, DEAD), Effect.TRAPS, DEAD),
        ((ALARM,), Effect.HOLDS, ALARM),
        ((ALARM, ASKED), Effect.BLOCKS, ASKED),
        (("mains/fire panel lost/nobody",), Effect.SILENT, "mains/fire panel lost/nobody"),
    ],
)
def test_what_a_lock_does_is_told_of_the_situation_it_does_it_in(
    shut: tuple[str, ...], effect: Effect, where: str
) -> None:
    """By the glossary: blocked is who only the emergency release lets out, trapped whom nothing
    does, each where it is so: on battery, or with the unit outside dead; by one lock of two."""
    parts = (key.split("/") for key in MANY)
    cases = Cases([Situation(Power(p), Mode(m), Event(e)) for p, m, e in parts])
    sound = [list(MANY.values())] * 2
    faulty = [[SHUT if key in shut else state for key, state in MANY.items()], sound[1]]
    its = judged(sound, faulty, cases)
    assert its.effect(0) is effect
    assert cases.keys[its.column[0]] == where
    # Whoever does something stands there as it begins; an alarm goes on.
    assert its.moment[0] == (where.endswith(Event.NOBODY))
    (look,) = looked(its, cases)
    assert look.effects[effect] == where
    # Nothing of it shows in daily use; what blocks or traps is no fault to wait for another.
    assert look.waits is (effect not in (Effect.BLOCKS, Effect.TRAPS))


def test_a_unit_that_dies_may_lock_a_door_that_stood_unlocked() -> None:
    """Unlocked with nobody about, the door lets everybody out; locked as its unit outside dies, and
    deaf to the button, it lets out by the release alone: by the glossary that blocks the exit."""
    events = (Event.NOBODY, Event.EXIT, Event.RELEASE, Event.DEAD)
    cases = Cases([Situation(Power.MAINS, Mode.NORMAL, event) for event in events])
    its = judged(((OPEN,) * 4,) * 2, ((OPEN, OPEN, OPEN, SHUT),) * 2, cases)
    assert its.effect(0) is Effect.BLOCKS
    assert cases.keys[its.column[0]] == DEAD


@pytest.mark.parametrize(("lever", "stays"), [(True, True), (True, False), (False, False)])
def test_a_magnet_beside_a_strike_holds_in_a_fire_where_a_lever_draws_the_strike(
    lever: bool, stays: bool
) -> None:
    """By the glossary a lever frees the lock it acts on and no other: with it the magnet alone bars
    the way, which is no latch; without it the strike, which stays locked in every alarm, bars it as
    it did before."""
    its = replace(facts(), lever_frees=(True, False), mechanical=lever, latch_stays=stays)
    usual = (Situation(Power.MAINS, Mode.NORMAL, event) for event in EVENTS)
    cases = Cases([*usual, Situation(Power.MAINS, Mode.FIRE_ALARM, Event.NOBODY)])
    strike, magnet = (SHUT,) * 4, (SHUT, OPEN, OPEN, OPEN)
    before, now = _moments((strike, magnet)), _moments((strike, (*magnet[:3], SHUT)))
    seen, whose = np.zeros((0, 1, 4), dtype=bool), np.zeros(1, dtype=np.intp)
    told = judge(now, seen, before, seen, whose, its, cases)
    assert (told.effect(0) is Effect.HOLDS) is lever


def test_a_strike_beside_a_magnet_holds_in_a_fire_that_freed_both() -> None:
    """Whoever is to come in finds it shut, whatever the lever does within."""
    its = replace(facts(), lever_frees=(True, False), mechanical=True)
    usual = (Situation(Power.MAINS, Mode.NORMAL, event) for event in EVENTS)
    cases = Cases([*usual, Situation(Power.MAINS, Mode.FIRE_ALARM, Event.NOBODY)])
    lock = (SHUT, OPEN, OPEN, OPEN)
    before, now = _moments((lock, lock)), _moments(((*lock[:3], SHUT), lock))
    seen, whose = np.zeros((0, 1, 4), dtype=bool), np.zeros(1, dtype=np.intp)
    assert judge(now, seen, before, seen, whose, its, cases).effect(0) is Effect.HOLDS


@pytest.mark.parametrize("mode", [Mode.FIRE_ALARM, Mode.PANEL_LOST, Mode.TAMPER])
@pytest.mark.parametrize("one", [0, 1])
def test_of_a_strike_and_a_magnet_the_strike_is_the_latch(one: int, mode: Mode) -> None:
    """It keeps a fire-rated door shut; that a magnet lets go there too is nothing to its latch
    (NFPA 80, from memory), nor is what happens without a fire."""
    its = replace(facts(), lever_frees=(True, False), mechanical=True, latch_stays=True)
    usual = (Situation(Power.MAINS, Mode.NORMAL, event) for event in EVENTS)
    cases = Cases([*usual, Situation(Power.MAINS, mode, Event.NOBODY)])
    lock = (SHUT, OPEN, OPEN, SHUT)
    free = [(*lock[:3], OPEN) if n == one else lock for n in (0, 1)]
    before, now = _moments((lock, lock)), _moments(free)
    seen, whose = np.zeros((0, 1, 4), dtype=bool), np.zeros(1, dtype=np.intp)
    told = judge(now, seen, before, seen, whose, its, cases)
    fire = one == 0 and mode is not Mode.TAMPER
    assert (told.effect(0), told.moment[0]) == (Effect.LATCH if fire else Effect.SILENT, 1)


def test_a_release_that_does_nothing_on_battery_may_be_stopped_on_mains() -> None:
    """It asks a controller that the battery does not feed: on mains it is there to be missed."""
    powers, events = (Power.MAINS, Power.BATTERY), (Event.NOBODY, Event.EXIT, Event.RELEASE)
    cases = Cases([Situation(p, Mode.NORMAL, e) for p in powers for e in events])
    sound, faulty = (SHUT, OPEN, OPEN, SHUT, OPEN, SHUT), (SHUT, OPEN, SHUT, SHUT, OPEN, SHUT)
    its = judged((sound,) * 2, (faulty,) * 2, cases)
    assert (its.effect(0), cases.keys[its.column[0]]) == (Effect.RELEASE, PULLED)
    assert judged((sound,) * 2, (sound,) * 2, cases).effect(0) is Effect.NOTHING


@pytest.mark.parametrize("stays", [True, False])
def test_a_latch_that_is_to_stay_thrown_is_not_missed_in_a_fire(stays: bool) -> None:
    """A strike that an alarm frees: on a fire-rated door that was wrong (NFPA 80, from memory), on
    any other people come in by it."""
    its = replace(facts(), lever_frees=(True, True), mechanical=True, latch_stays=stays)
    usual = (Situation(Power.MAINS, Mode.NORMAL, event) for event in EVENTS)
    cases = Cases([*usual, Situation(Power.MAINS, Mode.FIRE_ALARM, Event.NOBODY)])
    before, now = (_moments(((SHUT, OPEN, OPEN, last),) * 2) for last in (OPEN, SHUT))
    seen, whose = np.zeros((0, 1, 4), dtype=bool), np.zeros(1, dtype=np.intp)
    told = judge(now, seen, before, seen, whose, its, cases)
    assert (told.effect(0) is Effect.HOLDS) is not stays


PULL = Cases([Situation(Power.MAINS, Mode.NORMAL, e) for e in (*EVENTS, Event.RELEASE)])


@pytest.mark.parametrize(
    ("inward", "shut", "where"),
    [
        # The alarm lets people in from outside too; without it the door waits for the alarm.
        ((), (ALARM,), ALARM),
        # A button of the inner side is nothing to those outside, nor is its release.
        ((), (PULLED, ON_BATTERY), None),
        # A release out there is theirs, in an alarm as well; a button out there likewise.
        (("release",), (PULLED,), PULLED),
        (("release",), (ALARM,), None),
        (("exit", ""), (ON_BATTERY,), ON_BATTERY),
        # Nobody is to come in at all.
        (None, (ALARM, PULLED), None),
    ],
)
def test_whoever_escapes_inward_has_what_is_within_reach_outside(
    inward: tuple[str, ...] | None, shut: tuple[str, ...], where: str | None
) -> None:
    """By the glossary's way in of those who have no right to a door: it is open with nobody about,
    or by an exit device or release that stands outside. One lock of two is enough to bar it."""
    parts = (key.split("/") for key in MANY)
    cases = Cases([Situation(Power(p), Mode(m), Event(e)) for p, m, e in parts])
    sound = [list(MANY.values())] * 2
    faulty = [[SHUT if key in shut else state for key, state in MANY.items()], sound[1]]
    its = judged(sound, faulty, cases, inward=inward)
    told = {effect for n, effect in enumerate(Effect) if its.effects[0, n]}
    assert (Effect.INWARD in told) is (where is not None)
    if where is not None:
        assert cases.keys[its.columns[0, list(Effect).index(Effect.INWARD)]] == where
        if its.effect(0) is Effect.INWARD:
            assert its.moment[0] == (where == ALARM)


def test_a_release_that_springs_back_is_judged_as_it_is_pulled() -> None:
    """What it frees it frees in that moment: people push the door as they pull it."""
    freed: Door = ((SHUT, OPEN, SHUT, OPEN),) * 2
    back: Door = ((SHUT,) * 4,) * 2
    springs, dead = Late(freed, back), Late(((SHUT, OPEN, SHUT, SHUT),) * 2, back)
    its = judged(springs, dead, PULL)
    # By the glossary: no exit request frees the door, and the release was what still did.
    assert its.effect(0) is Effect.TRAPS
    assert Effect.RELEASE in its.also(0)
    assert judged(springs, springs, PULL).effect(0) is Effect.NOTHING
    # Out there it is what whoever escapes inward pulls.
    its = judged(springs, dead, PULL, inward=("release",))
    assert Effect.INWARD in its.also(0)


def test_a_door_that_stands_unlocked_and_then_locks_by_itself_shows() -> None:
    """Nobody does anything, and it is shut that stood open all day: whoever comes next notices, as
    nobody would that a held button ends early (common practice, no source)."""
    free: Door = ((OPEN,) * 3,) * 2
    locks = judged(free, Late(free, ((SHUT, OPEN, OPEN),) * 2), CASES)
    ends = judged(free, Late(free, ((OPEN, OPEN, SHUT),) * 2), CASES)
    assert (locks.effect(0), ends.effect(0)) == (Effect.SHOWS, Effect.SILENT)


def test_a_door_that_one_has_to_wait_at_shows_where_it_does_not_open() -> None:
    """It opens for whoever keeps at it: nobody goes away from a shut door as from an open one."""
    shut: Door = ((SHUT,) * 3,) * 2
    waits = Late(shut, ((SHUT, OPEN, OPEN),) * 2)
    assert judged(waits, shut, CASES).effect(0) is Effect.SHOWS


def test_one_lock_of_two_that_chatters_shows() -> None:
    """It rattles, be the door held by the other (common practice, no source)."""
    shut: Door = ((SHUT,) * 3,) * 2
    assert effects(shut, ((LockState.CHATTER,) * 3, (SHUT,) * 3)) == {Effect.SHOWS}


def test_a_door_that_opens_for_a_time_opens() -> None:
    """Nobody asks, and it gives way as the situation begins: whoever waits for that walks in."""
    shut: Door = ((SHUT, OPEN, OPEN),) * 2
    for_a_time = Late(((OPEN,) * 3,) * 2, shut)
    its = judged(shut, for_a_time, CASES)
    assert its.effect(0) is Effect.OPENS
    assert its.moment[0] == 0
