"""The sheet to key in at a controller: numbered steps, their keys, what one should hear and see."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from latchwork.codes.content import Content
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.choice import Item, choose_items, presses_of
from latchwork.codes.keypad.grammar import Edge, Grammar
from latchwork.codes.keypad.needs import Need, find_needs
from latchwork.codes.keypad.route import FAR, Ways, in_order
from latchwork.codes.keypad.simulator import Answer, Controller, Press
from latchwork.codes.keypad.vocabulary import SECRET_FIELDS


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered line. ``kind``: the grammar's step, the same for every person.

    ``lead``: how many of the presses only go to where the step is keyed. ``answers``: one a press.
    """

    kind: str
    what: str
    place: int
    presses: tuple[Press, ...]
    lead: int
    answers: tuple[Answer, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole programming, from ordinary service back to it."""

    steps: tuple[Step, ...]
    begins_with: Content
    ends_with: Content
    resets: bool

    @property
    def presses(self) -> tuple[Press, ...]:
        """Everything to key, in order."""
        return tuple(p for s in self.steps for p in s.presses)


def make_sheet(
    grammar: Grammar,
    now: Content,
    want: Content,
    from_reset: bool = False,
    card_names: Mapping[str, str] | None = None,
    card_bits: Mapping[str, int] | None = None,
) -> Sheet:
    """The shortest sheet found from what the controller holds to what it should hold.

    ``from_reset``: begins with a factory reset, whatever the controller holds. ``card_names``: what
    is printed on a card, ``card_bits``: how many bits it has on the wire, both by the number the
    controller counts it by. Raises CodesError where the grammar has no way.
    """
    steps: list[Step] = []
    base = now
    if from_reset:
        reset, codes = _plan_reset(grammar, now)
        steps += _emit(grammar, Ways(grammar, codes), reset, codes)
        base = _after(grammar, now, steps)
    possible = find_needs(grammar, base, want)
    if possible:
        items, ways = _plan(grammar, base, possible)
        steps += _emit(grammar, ways, items, base.codes, card_names)
    steps = [replace(s, presses=_with_bits(s.presses, card_bits or {})) for s in steps]
    return Sheet(_with_answers(grammar, now, steps), now, want, from_reset)


def _with_bits(presses: tuple[Press, ...], bits: Mapping[str, int]) -> tuple[Press, ...]:
    return tuple(
        replace(p, bits=bits[p.value]) if p.kind == "card" and p.value in bits else p
        for p in presses
    )


def _plan_reset(grammar: Grammar, now: Content) -> tuple[list[Item], Mapping[str, str]]:
    ways = Ways(grammar, now.codes)
    options = []
    for edge in grammar.edges:
        if "factory reset" in edge.does:
            presses = presses_of(grammar, edge, {}, now.codes)
            there = ways.cost(grammar.start, edge.state)
            if presses is not None and there < FAR:
                options.append((there + len(presses), Item(edge, {}, 0, len(presses))))
    if not options:
        raise CodesError(f"the grammar {grammar.name} has no factory reset that can be reached")
    return [min(options, key=lambda o: o[0])[1]], now.codes


def _after(grammar: Grammar, now: Content, steps: list[Step]) -> Content:
    controller = Controller(grammar, now)
    for step in steps:
        controller.play(step.presses)
    return controller.memory.content()


def _plan(grammar: Grammar, now: Content, possible: list[list[Need]]) -> tuple[list[Item], Ways]:
    """The shortest of the possible ways, each tried with every set of steps."""
    ways = Ways(grammar, now.codes)
    best: tuple[int, list[Item]] = (FAR, [])
    for needs in possible:
        for edges in _realms(grammar):
            items = choose_items(grammar, needs, edges, now.codes)
            if items is None:
                continue
            ordered, cost = in_order(ways, items, grammar.start)
            if cost < best[0]:
                best = (cost, ordered)
    if best[0] >= FAR:
        raise CodesError(_no_way(grammar, ways, now, possible[0]))
    return best[1], ways


def _no_way(grammar: Grammar, ways: Ways, now: Content, needs: list[Need]) -> str:
    """Which operations fail, and why each does."""
    found: dict[str, None] = {}
    for need in needs:
        items = choose_items(grammar, [need], grammar.edges, now.codes)
        if not grammar.can(need.operation):
            found[f"{need.operation}: no step means it"] = None
        elif items is None:
            found[f"{need.operation}: its value does not fit the fields"] = None
        elif in_order(ways, items, grammar.start)[1] >= FAR:
            found[f"{need.operation}: a code on the way there is not known"] = None
    why = "; ".join(found) or "the steps are in parts that no one way joins"
    return f"the grammar {grammar.name} has no way to what is wanted: {why}"


def _realms(grammar: Grammar) -> list[list[Edge]]:
    """Sets of steps to plan with: those behind each single way in, and all together."""
    idle = {s.name for s in grammar.states.values() if s.idle}
    realms = []
    for entry in grammar.states[grammar.start].edges:
        if entry.does or entry.to in idle:
            continue
        seen, queue = {entry.to}, [entry.to]
        while queue:
            for edge in grammar.states[queue.pop()].edges:
                if edge.to not in seen and edge.to not in idle:
                    seen.add(edge.to)
                    queue.append(edge.to)
        realms.append([e for e in grammar.edges if e.state in seen])
    realms.append([e for e in grammar.edges if e.state not in idle])
    return realms


def _emit(
    grammar: Grammar,
    ways: Ways,
    items: list[Item],
    codes: Mapping[str, str],
    card_names: Mapping[str, str] | None = None,
) -> list[Step]:
    steps: list[Step] = []
    known = dict(codes)
    state = grammar.start
    for item in items:
        lead = _walk(grammar, ways.path(state, item.edge.state), known, steps)
        presses = presses_of(grammar, item.edge, item.values, known) or ()
        what = words(item.edge, item.values, card_names)
        steps.append(Step(item.edge.id, what, item.place, (*lead, *presses), len(lead)))
        known |= {k.removeprefix("new "): v for k, v in item.values.items() if k.startswith("new ")}
        state = item.edge.to
    _walk(grammar, ways.path(state, grammar.start), known, steps)
    return steps


def _walk(
    grammar: Grammar, path: list[Edge], codes: Mapping[str, str], steps: list[Step]
) -> list[Press]:
    """Goes along a path: opening and leaving become steps of their own, the rest is returned."""
    lead: list[Press] = []
    for edge in path:
        moved = presses_of(grammar, edge, {}, codes) or ()
        if grammar.start in (edge.state, edge.to):
            leaving = "Leave programming" if edge.to == grammar.start else "Open programming"
            steps.append(Step(edge.id, edge.what or leaving, 0, (*lead, *moved), len(lead)))
            lead = []
        else:
            lead += moved
    return lead


def words(
    edge: Edge, values: Mapping[str, str], card_names: Mapping[str, str] | None = None
) -> str:
    """The step's words with its values, no code among them."""
    shown = {
        k: "•" if k in SECRET_FIELDS and k != "new master card" else v
        for k, v in {**edge.given, **values}.items()
    }
    if "card" in shown:
        shown.setdefault("card number", shown["card"])
        shown["card"] = (card_names or {}).get(shown["card"], shown["card"])
    text = edge.what
    for name, value in shown.items():
        text = text.replace("{" + name + "}", value)
    return text


def _with_answers(grammar: Grammar, now: Content, steps: list[Step]) -> tuple[Step, ...]:
    controller = Controller(grammar, now)
    return tuple(replace(step, answers=tuple(controller.play(step.presses))) for step in steps)
