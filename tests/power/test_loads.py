"""Which moment is named as the one in which a supply gives most."""

from __future__ import annotations

from dataclasses import replace

import pytest

from latchwork.answers.check import finding_line
from latchwork.answers.model import FindingLine
from latchwork.behaviour import Case, Event, Mode, Power, behave
from latchwork.power.keys import EACH_AT_MOST, EVERYBODY
from latchwork.power.loads import SupplyLoad, supply_loads
from latchwork.power.standby import standbys
from latchwork.rules import judge
from tests.faults.known import jobs
from tests.rules.jobs import MAGNET, Door, but, job, outcome
from tests.rules.jobs import STRIKE as STRIKE_DOOR
from tests.truth.solved import wired

STRIKE = next(text for name, text in jobs().items() if name.startswith("Fire-rated door"))


def test_rounding_does_not_choose_between_loads_that_are_one() -> None:
    """One door's strike held open is every door of its supply granted at once: the difference is
    what rounding leaves, whatever the amperes."""
    site = behave(wired(STRIKE))
    door, cases = next(iter(site.outcomes.items()))
    named = set()
    for n in range(200):
        scaled = {case: replace(r, feed_a=r.feed_a * (1.0 + n / 1000)) for case, r in cases.items()}
        (load,) = supply_loads(replace(site, outcomes={door: scaled}))
        named.add(load.most_when)
    assert len(named) == 1
    assert EVERYBODY not in named


def one_supply(*doors: Door, supply: str = "supply 24 V", ah: float = 7) -> SupplyLoad:
    supplies = f'S1: {{part: "{supply}", battery: 2 x 12 V {ah:g} Ah}}'
    (load,) = supply_loads(outcome(job(*doors, supplies=supplies)))
    return load


def test_what_a_supply_is_called_changes_nothing_of_its_load() -> None:
    """A supply by the charger gives a magnet of 0.25 A and its controller no less for its name."""
    door = but(MAGNET, {"supply": "charge"})
    (load,) = supply_loads(outcome(job(door, supplies="charge: {part: supply 24 V}")))
    (other,) = supply_loads(outcome(job(MAGNET, supplies="S1: {part: supply 24 V}")))
    assert load.loads_a == pytest.approx(other.loads_a)
    assert load.most_a == pytest.approx(other.most_a)
    assert load.most_a > 0.25


@pytest.mark.parametrize("device", ["exit", "controller"])
def test_a_relay_that_is_energised_when_idle_takes_its_current_at_rest(device: str) -> None:
    """What is taken while a relay is up is taken with nobody about where it is up then: 55 mA
    instead of 30 are 25 more (by hand)."""
    figures = "current: 30 mA, busy current: 55 mA, relay: energised "
    part = {"exit": "exit sensor", "controller": "controller 24 V"}[device]
    volts = "works up to: 30 V, " if device == "exit" else ""
    loads = {
        sense: one_supply(but(MAGNET, {device: f"{{part: {part}, {volts}{figures}{sense}}}"}))
        for sense in ("on grant", "when idle")
    }
    usual = f"{Power.MAINS}/{Mode.NORMAL}"
    more = loads["when idle"].loads_a[usual] - loads["on grant"].loads_a[usual]
    assert more == pytest.approx(0.025, abs=1e-4)


def test_a_relay_that_the_clock_keeps_up_takes_its_current_as_long() -> None:
    """30 mA at rest and 55 with the relay up are 25 more, a strike held by it besides: what the
    door takes as it is granted, for hours (by hand)."""

    def unlocked_a(busy: str) -> float:
        figures = f"{{part: controller 24 V, current: 30 mA, busy current: {busy}}}"
        load = one_supply(but(STRIKE_DOOR, {"controller": figures}))
        return load.loads_a[f"{Power.MAINS}/{Mode.TIMED_UNLOCK}"]

    assert unlocked_a("55 mA") - unlocked_a("30 mA") == pytest.approx(0.025, abs=1e-4)


def test_a_charger_takes_a_tenth_of_the_capacity() -> None:
    """C/10 for a battery that comes back from an outage, whatever a full one takes (common
    practice, no source)."""
    load = one_supply(MAGNET, ah=17)
    assert load.charge_a == pytest.approx(1.7)
    assert load.float_a == pytest.approx(0.0015 * 17)
    assert load.limit_a is not None
    assert load.margin == pytest.approx(load.limit_a / (load.most_a + 1.7))


def test_a_reader_behind_a_converter_counts_with_its_watts() -> None:
    """At rest 0.325 A instead of 0.07 A at 12 V, on a supply of 27.3 V; at most 0.4 A instead of
    0.09 A, on one that gives least (P = U * I, the converter's loss is the unit's own). One that
    takes 0.5 A while it acts takes that at most, and no more than another at rest."""

    def fed(reader: str) -> SupplyLoad:
        own = '{part: "controller, reader outside", reader volts: 12 V}'
        return one_supply(but(MAGNET, {"controller": own, "reader": reader}))

    plain, hungry = fed("reader"), fed('"reader, long range"')
    rest_a = hungry.loads_a["mains/normal"] - plain.loads_a["mains/normal"]
    assert rest_a == pytest.approx((0.325 - 0.07) * 12 / 27.3)
    assert hungry.most_a - plain.most_a == pytest.approx((0.4 - 0.09) * 12 / 27.3, rel=0.02)
    acting = fed("{part: reader, busy current: 0.5 A}")
    assert acting.loads_a["mains/normal"] == pytest.approx(plain.loads_a["mains/normal"])
    assert acting.most_a - plain.most_a == pytest.approx((0.5 - 0.09) * 12 / 27.3, rel=0.02)
    in_watts = fed("{part: reader, power: 3.9 W, busy power: 6 W}")
    assert in_watts.loads_a["mains/normal"] == pytest.approx(hungry.loads_a["mains/normal"])
    assert in_watts.most_a == pytest.approx(acting.most_a)


@pytest.mark.parametrize(
    ("lock", "throw", "shut", "opened"),
    [
        ('"strike 12 V fail-secure, diode"', "NO", 0.0, 0.25),
        ("{part: magnet 12 V, holds down to: 8.5 V}", "NC", 0.5, 0.0),
    ],
)
def test_a_lock_behind_a_converter_counts_with_its_watts(
    lock: str, throw: str, shut: float, opened: float
) -> None:
    """A lock on the 12 V that a network-fed unit gives its reader, 0.25 or 0.5 A of them: watts
    that the port gives at its own 50.5 V (P = U * I)."""
    rows = (
        f"[controller.R+, lead, controller.COM], [controller.{throw}, lock brown, lock.+], "
        "[lock.-, lock blue, controller.R-]"
    )
    kit = {
        "lock": lock,
        "diode": "-",
        "controller": "controller, network-fed",
        "reader": "reader",
        "runs": "{power: 30 m of category cable, lock: 3 m of 2 x 0.5 mm²}",
    }

    def load(wiring: str) -> SupplyLoad:
        door = but(STRIKE_DOOR, {**kit, "wiring": f"{{lock: [{wiring}]}}"})
        supplies = 'S1: "network port, class 4"'
        (found,) = supply_loads(outcome(job(door, supplies=supplies)))
        return found

    with_it, without = load(rows), load("[lock.-, lock blue, controller.R-]")
    volts = with_it.volts
    for mode, amps in ((Mode.NORMAL, shut), (Mode.TIMED_UNLOCK, opened)):
        key = f"{Power.MAINS}/{mode}"
        more = with_it.loads_a[key] - without.loads_a[key]
        assert more == pytest.approx(amps * 12.0 / volts, rel=0.02, abs=1e-3)
    assert with_it.most_a - without.most_a > (shut + opened) * 12.0 / volts


def test_a_reader_takes_what_it_takes_while_it_reads() -> None:
    """0.5 A as a card is shown, 0.07 A at rest, straight from the controller's feed."""

    def granted_a(said: str) -> float:
        kit = {"controller": "controller, reader outside", "reader": f"{{part: reader{said}}}"}
        return granted_more_a(one_supply(but(STRIKE_DOOR, kit)))

    acts_a = granted_a(", busy current: 0.5 A") - granted_a("")
    assert acts_a == pytest.approx(0.5 - 0.07, abs=0.005)


def test_a_reader_behind_a_converter_is_no_load_of_another_supply() -> None:
    """Their 0 V are joined, as data that crosses needs it: its amperes return to their own."""
    own = '{part: "controller, reader outside", reader volts: 12 V}'
    doors = but(MAGNET, {"controller": own}), but(STRIKE_DOOR, {"supply": "S2"})
    both = "S1: {part: supply 24 V}\nS2: {part: supply 24 V}"
    _, other = supply_loads(
        outcome(job(*doors, supplies=both, more="wiring: [[S1.-, lead, S2.-]]"))
    )
    (alone,) = supply_loads(outcome(job(STRIKE_DOOR, supplies="S1: {part: supply 24 V}")))
    assert other.most_a == pytest.approx(alone.most_a, rel=0.001)


def test_a_unit_may_be_said_in_watts_at_rest_and_in_amperes_while_it_acts() -> None:
    """A controller of 1 W at rest takes 0.037 A at 27.3 V and 0.5 A as it grants: 0.463 A more than
    one that takes no more than at rest (P = U * I). One of 0.1 A at rest and 6 W takes 0.22 A."""

    def acts_a(said: str) -> float:
        door = but(STRIKE_DOOR, {"controller": f"{{part: controller, {said}}}"})
        return granted_more_a(one_supply(door))

    amperes = acts_a("power: 1 W, busy current: 0.5 A") - acts_a("power: 1 W, busy power: 1 W")
    assert amperes == pytest.approx(0.5 - 1 / 27.3, abs=0.01)
    watts = acts_a("current: 0.1 A, busy power: 6 W") - acts_a(
        "current: 0.1 A, busy current: 0.1 A"
    )
    assert 6 / 27.3 - 0.1 <= watts < 6 / 27.3


def test_charge_alone_is_weak_and_load_alone_fails() -> None:
    """A charger gives way to the doors; nothing gives way where these ask for too much."""

    def worst(*doors: Door) -> str:
        supplies = 'S1: {part: "supply 24 V, 1 A", battery: 2 x 12 V 7 Ah}'
        found = judge(outcome(job(*doors, supplies=supplies)))
        return next(f.severity.name for f in found if f.rule == "supply-overload")

    assert worst(MAGNET) == "WEAK"
    assert worst(MAGNET, MAGNET, MAGNET) == "FAILS"


@pytest.mark.parametrize(
    ("make", "limit_a"), [("supply 24 V", 0.445), ("supply 24 V, separate charging", 0.42)]
)
def test_a_supply_at_its_limit_fails_though_it_floats_a_battery(make: str, limit_a: float) -> None:
    """By hand: a full battery of 7 Ah takes up to 0.15 % of its capacity, 0.01 A, of what is given.
    The doors take 0.44 A at most; a battery that is charged apart gives them none of it on
    mains."""
    supplies = f'S1: {{part: "{make}", battery: 2 x 12 V 7 Ah, limit: {limit_a} A}}'
    site = outcome(job(MAGNET, supplies=supplies))
    (found,) = (f for f in judge(site) if f.rule == "supply-overload")
    assert found.severity.name == "FAILS"
    assert found.figures["load_a"] == pytest.approx(limit_a - 0.0015 * 7, abs=0.01)


def test_a_small_supply_that_folds_back_gives_no_more_than_its_limit() -> None:
    """Whoever says a limit below what such supplies fold back to has a smaller one: into a magnet
    of 0.5 A and a controller of 0.15 A it gives its 0.6 A at most, and not more as its volts
    fall."""
    supplies = 'S1: {part: "supply 12 V, folds back", limit: 0.6 A}'
    (load,) = supply_loads(outcome(job(but(MAGNET, {"lock": "magnet 12 V"}), supplies=supplies)))
    assert max(load.loads_a.values()) <= 0.6 + 1e-3


def test_which_situation_is_the_highest_does_not_hang_on_the_order_of_the_doors() -> None:
    """Only the strike takes more when it is asked, so that all together are no more than it."""
    orders = (STRIKE_DOOR, MAGNET), (MAGNET, STRIKE_DOOR)
    assert len({one_supply(*doors).most_when for doors in orders}) == 1


def test_a_supply_smaller_than_the_doors_at_rest_runs_its_battery_flat_on_mains() -> None:
    """By hand: a magnet of 0.25 A at 24 V takes 0.27 A at some 25.6 V, its controller and reader
    some 2.9 W there, 0.11 A: 0.38 A. Of it 0.18 A are wanting on a limit of 0.2 A, and 7 Ah last
    39 h. Without a battery the supply gives 0.2 A, which says nothing of what is asked."""

    def told(supplies: str) -> FindingLine:
        site = outcome(job(MAGNET, supplies=supplies))
        (found,) = (f for f in judge(site) if f.rule == "supply-overload")
        return finding_line(found, site)

    drained = told("S1: {part: supply 24 V, limit: 0.2 A, battery: 2 x 12 V 7 Ah}")
    assert drained.figures["idle_a"] == pytest.approx(0.38, abs=0.03)
    assert drained.figures["flat_h"] == pytest.approx(39, abs=7)
    assert "though the mains are on" in drained.why
    all_given = told('S1: {part: "supply 24 V, no battery", limit: 0.2 A}')
    assert all_given.figures["load_a"] == pytest.approx(0.2, abs=0.001)
    assert "asked for more than is shown" in all_given.why
    charging = told('S1: {part: "supply 24 V, 1 A", battery: 2 x 12 V 7 Ah}')
    assert "also" not in charging.figures


def test_what_a_battery_gives_is_no_load_on_the_limit() -> None:
    """By hand: a controller that takes so many watts takes at 21 V of a battery up to 1.3 times the
    amperes that it takes at 27.3 V; but a supply whose mains are off gives none of them, and no
    charge either."""
    motor = but(STRIKE_DOOR, {"lock": "motor lock 24 V", "diode": "-", "controller at": "supply",
                              "runs": "{lock: 55 m of 4 x 1.5 mm²}"})  # fmt: skip
    load = one_supply(motor)
    mains_a = load.loads_a["mains/normal"]
    assert mains_a < load.loads_a["battery at its end/normal"] <= 1.31 * mains_a
    assert not load.most_when.startswith("battery")


def granted_more_a(load: SupplyLoad) -> float:
    return load.loads_a[EVERYBODY] - load.loads_a["mains/normal"]


def test_a_magnet_that_lets_go_takes_less() -> None:
    """Granted, a magnet of 0.25 A at 24 V takes nothing, at 27.3 V 0.28 A less; a meter reads the
    sum over all doors (Kirchhoff), and the supply is sized for those that take more."""
    magnets, strike = one_supply(MAGNET, MAGNET), one_supply(STRIKE_DOOR)
    assert granted_more_a(magnets) == pytest.approx(-2 * 0.25 * 27.3 / 24, rel=0.1)
    assert magnets.most_a > magnets.loads_a["mains/normal"]
    strikes_a = 4 * granted_more_a(strike)
    mixed = one_supply(MAGNET, *[STRIKE_DOOR] * 4)
    assert granted_more_a(mixed) == pytest.approx(strikes_a + granted_more_a(magnets) / 2, rel=0.02)
    assert mixed.most_when == EACH_AT_MOST
    assert one_supply(STRIKE_DOOR, STRIKE_DOOR).most_when == EVERYBODY
    assert mixed.most_a > mixed.loads_a["mains/normal"] + strikes_a


DESK = """
latchwork: 1
site: {standby: 4 h}
supplies: {S1: {part: supply 12 V, battery: 1 x 12 V 7 Ah}}
devices: {B1: exit button}
usual:
  supply: S1
  lock: LOCK
  controller: controller
  controller at: supply
  out by: lever
  exit: EXIT
  grants an hour: 300
  runs: {lock: 4 m of 2 x 1.0 mm², exit: 4 m of 2 x 0.5 mm²}
doors: {D1: {}, D2: {}, D3: {}, D4: {}}
"""
"""Four doors; one button at the desk opens them all, or each has its own."""


@pytest.mark.parametrize(
    ("lock", "coil_a"),
    [("strike 12 V fail-secure", 0.25 * 13.65 / 12), ("magnet 12 V", -0.5 * 13.65 / 12)],
)
def test_one_button_for_four_doors_counts_once(lock: str, coil_a: float) -> None:
    """Four strikes of 0.25 A at 12 V take 1.14 A at 13.65 V, four magnets of 0.5 A give 2.28 A
    back, whoever presses what; beside that each controller's own relay, below 0.1 A."""
    one, own = (
        outcome(DESK.replace("LOCK", lock).replace("EXIT", button))
        for button in ("B1", "exit button")
    )
    (together,), (each,) = supply_loads(one), supply_loads(own)
    assert 4 * coil_a < granted_more_a(together) < 4 * (coil_a + 0.1)
    assert granted_more_a(together) == pytest.approx(granted_more_a(each), abs=0.01)
    assert together.most_a == pytest.approx(each.most_a, abs=0.01)
    (hours,), (like,) = standbys(one), standbys(own)
    assert hours.holds_h == pytest.approx(like.holds_h, rel=0.01)


def test_one_button_beside_cards_counts_no_lock_twice() -> None:
    """A strike and a small magnet behind one button. By card the strike takes its 0.25 A at 12 V
    while the magnet holds: no more than with a button at each door."""
    doors = "doors: {D1: {lock: 'magnet 12 V, cabinet'}, D2: {lock: strike 12 V fail-secure}}"
    text = DESK.replace("LOCK", "magnet 12 V").rpartition("doors:")[0] + doors
    (together,), (each,) = (
        supply_loads(outcome(text.replace("EXIT", button))) for button in ("B1", "exit button")
    )
    assert together.most_a == pytest.approx(each.most_a, abs=0.02)


def test_the_situation_that_is_named_does_not_hang_on_the_order_of_the_doors() -> None:
    """A tenth of a milliampere, which is what one door's run knows of the other's, decides
    nothing: of two situations with the most the first is named, whichever door stands first."""
    site = outcome(job(MAGNET, MAGNET))
    (group,) = site.groups
    bumped = {}
    for (door, cases), mode in zip(site.outcomes.items(), (Mode.NORMAL, Mode.TAMPER), strict=True):
        result = cases[Case.NOMINAL]
        column, feed_a = result.at(Power.MAINS, mode, Event.NOBODY), result.feed_a.copy()
        feed_a[:, column] *= 1.0001
        bumped[door] = {Case.NOMINAL: replace(result, feed_a=feed_a)}
    named = set()
    for doors in (group.doors, group.doors[::-1]):
        turned = replace(site, groups=(replace(group, doors=doors),), outcomes=bumped)
        (load,) = supply_loads(turned)
        named.add(load.most_when)
    assert named == {"mains/normal/nobody"}
