"""Proving a sheet on a simulated controller, and finding what each slip of a finger would do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from latchwork.codes.content import Content, User
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import memory_of
from latchwork.codes.keypad.sheet import Sheet, Step
from latchwork.codes.keypad.simulator import Answer, Controller, Press

_EACH_KIND = 2
"""How many steps of one kind are tried, slips that run into the next included."""
_ANOTHER_CARD = "1"


@dataclass(frozen=True, slots=True)
class Proof:
    """What a sheet, keyed in as it stands, ends with: no ``differences`` where it is right."""

    differences: tuple[str, ...]
    presses: int

    @property
    def holds(self) -> bool:
        """Whether exactly what was meant is in the controller, and it is back in service."""
        return not self.differences


def prove(grammar: Grammar, sheet: Sheet) -> Proof:
    """Keys the sheet in on a controller that knows the grammar only."""
    controller = Controller(grammar, sheet.begins_with)
    wrong: list[str] = []
    for number, step in enumerate(sheet.steps, 1):
        answers = controller.play(step.presses)
        if any(a.signal == "error" for a in answers):
            wrong.append(f"step {number} is refused")
        if tuple(answers) != step.answers:
            wrong.append(f"step {number} answers otherwise than the sheet says")
    if not controller.at_rest:
        wrong.append("the controller is not back in service")
    meant = memory_of(sheet.ends_with).content()
    wrong += differences(controller.memory.content(), meant)
    return Proof(tuple(wrong), len(sheet.presses))


def differences(found: Content, meant: Content) -> list[str]:
    """Where two contents differ, without saying a code."""
    wrong = []
    for place in sorted({*found.users, *meant.users}):
        if found.users.get(place) != meant.users.get(place):
            wrong.append(f"place {place}")
    for name in sorted({*found.settings, *meant.settings}):
        if found.settings.get(name) != meant.settings.get(name):
            wrong.append(name)
    for kind in sorted({*found.codes, *meant.codes}):
        if found.codes.get(kind) != meant.codes.get(kind):
            wrong.append(f"{kind} code")
    for number in sorted({*found.times, *meant.times}):
        if found.times.get(number) != meant.times.get(number):
            wrong.append(f"weekly times {number}")
    if found.holidays != meant.holidays:
        wrong.append("holidays")
    if found.clock != meant.clock:
        wrong.append("clock")
    return wrong


@dataclass(frozen=True, slots=True)
class Harm:
    """A slip that nobody hears or sees. ``slip``: wrong, left out or doubled.

    ``part``: the field it happens in, "keys" for the step's own keys, "way" for those that lead
    there. ``effects``: what is then otherwise (own code, own place, other place, deleted,
    setting, controller code, times, left open).
    """

    slip: str
    part: str
    effects: tuple[str, ...]
    ways: int


@dataclass(slots=True)
class KindOfStep:
    """How slips in one kind of step end. Counts of slips tried.

    ``what``: the grammar's words for it, with its fields in braces.
    """

    kind: str
    what: str
    caught: int = 0
    harmless: int = 0
    harms: list[Harm] = field(default_factory=list)

    @property
    def harmful(self) -> int:
        """Slips that change something unnoticed."""
        return sum(h.ways for h in self.harms)


def try_slips(grammar: Grammar, sheet: Sheet, each: int = _EACH_KIND) -> tuple[KindOfStep, ...]:
    """Every wrong, left-out and doubled key at every place of every kind of step.

    A person keys on as the sheet says and stops where an answer is not the expected one: then the
    slip is caught. Else the sheet is keyed to its end, and what is in the controller decides
    between harmless and harmful.
    """
    found: dict[str, KindOfStep] = {}
    tried: dict[str, int] = {}
    harms: dict[str, dict[tuple[str, str, tuple[str, ...]], int]] = {}
    generals = {e.id: e.what for e in grammar.edges}
    controller = Controller(grammar, sheet.begins_with)
    meant = memory_of(sheet.ends_with).content()
    for number, step in enumerate(sheet.steps):
        if tried.get(step.kind, 0) < each:
            tried[step.kind] = tried.get(step.kind, 0) + 1
            what = generals.get(step.kind) or step.what
            result = found.setdefault(step.kind, KindOfStep(step.kind, what))
            bucket = harms.setdefault(step.kind, {})
            rest = sheet.steps[number + 1 :]
            right = controller.copy()
            right.play(step.presses)
            for slip, at, presses, expected in slips(grammar, step):
                effects = _outcome(controller, right, presses, expected, rest, meant, step)
                if effects is None:
                    result.caught += 1
                elif not effects:
                    result.harmless += 1
                else:
                    key = (slip, _part(step, at), effects)
                    bucket[key] = bucket.get(key, 0) + 1
        controller.play(step.presses)
    for kind, bucket in harms.items():
        found[kind].harms = [Harm(*key, ways) for key, ways in bucket.items()]
    return tuple(found.values())


def _part(step: Step, at: int) -> str:
    if at < step.lead:
        return "way"
    return step.presses[at].role or "keys"


def slips(
    grammar: Grammar, step: Step
) -> Iterator[tuple[str, int, list[Press], list[Answer | None]]]:
    """Each slip: its kind, where, what is then pressed, and what the person expects to be answered.

    None is expected of a press the person does not know of.
    """
    presses, answers = list(step.presses), list(step.answers)
    for at, press in enumerate(presses):
        before, after = presses[:at], presses[at + 1 :]
        for wrong in _others(grammar, press):
            yield "wrong", at, [*before, wrong, *after], list(answers)
        yield "left out", at, [*before, *after], [*answers[:at], *answers[at + 1 :]]
        # Of a doubled key the second answer is the one that stays to be heard and seen.
        twice = [*before, press, press, *after]
        yield "doubled", at, twice, [*answers[:at], None, answers[at], *answers[at + 1 :]]


def _others(grammar: Grammar, press: Press) -> Iterator[Press]:
    if press.kind == "key":
        for key in grammar.keys:
            if key != press.value:
                yield Press("key", key)
    elif press.kind == "card":
        yield Press("card", _ANOTHER_CARD)


def _outcome(
    start: Controller,
    right: Controller,
    presses: Sequence[Press],
    expected: Sequence[Answer | None],
    rest: Sequence[Step],
    meant: Content,
    step: Step,
) -> tuple[str, ...] | None:
    """None where the slip is noticed; else what it changes, nothing where it is harmless."""
    controller = start.copy()
    last = len(presses) - 1
    for i, press in enumerate(presses):
        answer = controller.press(press)
        wanted = expected[i]
        if wanted is None:
            if answer.signal == "error":
                return None
        elif answer != wanted:
            return None
        if i == last and step.answers and answer != step.answers[-1]:
            return None
    same_place = controller.waiting_for == right.waiting_for
    if same_place and controller.memory.content() == right.memory.content():
        return ()
    for following in rest:
        if tuple(controller.play(following.presses)) != following.answers:
            return None
    effects = _effects(controller.memory.content(), meant, step.place)
    if not controller.at_rest:
        effects.add("left open")
    return tuple(sorted(effects))


def _effects(found: Content, meant: Content, own: int) -> set[str]:
    effects: set[str] = set()
    for place in {*found.users, *meant.users}:
        is_now, should = found.users.get(place), meant.users.get(place)
        if is_now == should:
            continue
        if place == own:
            effects.add(_own_effect(is_now, should))
        elif is_now is None:
            effects.add("deleted")
        else:
            effects.add("other place")
    if found.settings != meant.settings:
        effects.add("setting")
    if found.codes != meant.codes:
        effects.add("controller code")
    if (found.times, found.holidays, found.clock) != (meant.times, meant.holidays, meant.clock):
        effects.add("times")
    return effects


def _own_effect(is_now: User | None, should: User | None) -> str:
    if is_now is None or should is None:
        return "own place"
    return "own code" if (is_now.pin, is_now.cards) != (should.pin, should.cards) else "own rights"
