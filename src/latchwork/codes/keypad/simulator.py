"""A controller on the bench that knows its grammar and nothing else.

It takes keys, cards and waiting, one at a time, and answers with what a person hears and sees.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache

from latchwork.codes.content import Content
from latchwork.codes.keypad.fieldspec import base_name, from_keys
from latchwork.codes.keypad.grammar import Edge, Grammar
from latchwork.codes.keypad.memory import Memory, memory_of
from latchwork.codes.keypad.operations import Refused, perform
from latchwork.codes.keypad.trie import Node, build
from latchwork.codes.keypad.vocabulary import CODES


@dataclass(frozen=True, slots=True)
class Press:
    """One thing a person does: a key, a card held up, a finger, or waiting.

    ``kind``: key, card, finger or wait. ``value``: the key, the card's number, or seconds.
    ``secret``: part of a code, shown to people only when they ask. ``role``: the field it belongs
    to, "" for a key of the step itself. ``bits``: of a card's number on the wire, 0 where that is
    not known.
    """

    kind: str
    value: str
    secret: bool = False
    role: str = ""
    bits: int = field(default=0, compare=False)

    def __repr__(self) -> str:
        return f"Press({self.kind}, {'•' if self.secret else self.value})"


@dataclass(frozen=True, slots=True)
class Answer:
    """What is heard or lights up (a signal's name), and what the display or lamp then shows."""

    signal: str
    shows: str


def reads(settings: Mapping[str, str], bits: int) -> bool:
    """Whether the reader format that is set lets a card of so many bits through; 0 is unknown."""
    return not bits or settings.get("reader format", str(bits)) == str(bits)


@cache
def trees_of(grammar: Grammar) -> dict[str, Node]:
    """Each state's steps as one tree, built once a grammar."""
    return {name: build(grammar, state)[0] for name, state in grammar.states.items()}


class Controller:
    """One simulated controller. ``memory`` is what it holds, ``state`` where it waits."""

    __slots__ = (
        "_buffer",
        "_captured",
        "_node",
        "_tree",
        "_trees",
        "grammar",
        "locked_out",
        "memory",
        "state",
        "wrong",
    )

    def __init__(self, grammar: Grammar, content: Content) -> None:
        self.grammar = grammar
        self.memory: Memory = memory_of(content)
        self.wrong = 0
        self.locked_out = False
        self._trees = trees_of(grammar)
        self._go(grammar.start)

    def copy(self) -> Controller:
        """A controller in the same state with a memory of its own."""
        twin = object.__new__(Controller)
        twin.grammar, twin._trees = self.grammar, self._trees
        twin.memory = self.memory.copy()
        twin.state, twin._tree, twin._node = self.state, self._tree, self._node
        twin._buffer, twin._captured = self._buffer, dict(self._captured)
        twin.wrong, twin.locked_out = self.wrong, self.locked_out
        return twin

    @property
    def at_rest(self) -> bool:
        """Whether it is in ordinary service with nothing half keyed."""
        state = self.grammar.states[self.state]
        return state.idle and self._node is self._tree and not self._buffer and not self.locked_out

    @property
    def waiting_for(self) -> tuple[object, ...]:
        """State and what was keyed of a step: equal only where the same keys go on the same way."""
        return self.state, id(self._node), self._buffer, tuple(self._captured.items())

    def _go(self, state: str) -> None:
        self.state = state
        self._tree = self._node = self._trees[state]
        self._buffer = ""
        self._captured: dict[str, str] = {}

    def play(self, presses: Iterable[Press]) -> list[Answer]:
        """Does one after another; one answer each."""
        return [self.press(press) for press in presses]

    def press(self, press: Press) -> Answer:
        """One key, card, finger or wait."""
        if press.kind == "key":
            return self._key(press.value)
        if press.kind == "wait":
            return self._wait(int(press.value))
        return self._given(press)

    def _key(self, key: str) -> Answer:
        if self.locked_out:
            return self._answer("error")
        node, buffer = self._node, self._buffer
        if buffer:
            spec = node.spec
            assert spec is not None
            if key in spec.alphabet and len(buffer) < spec.most:
                return self._take_digit(key)
            if len(buffer) >= spec.least and node.after is not None and key in node.after.keys:
                self._capture(spec.name, buffer)
                return self._enter(node.after.keys[key])
        elif key in node.keys:
            return self._enter(node.keys[key])
        elif node.spec is not None and key in node.spec.alphabet:
            return self._take_digit(key)
        state = self.grammar.states[self.state]
        if key in state.cancel:
            self._go(self.state)
            return self._answer("key")
        return self._error()

    def _take_digit(self, key: str) -> Answer:
        node = self._node
        spec = node.spec
        assert spec is not None
        self._buffer += key
        if len(self._buffer) == spec.most == spec.least:
            self._capture(spec.name, self._buffer)
            assert node.after is not None
            return self._enter(node.after)
        return self._answer("key")

    def _capture(self, name: str, keyed: str) -> None:
        self._captured[name] = keyed
        self._buffer = ""

    def _enter(self, node: Node) -> Answer:
        self._node = node
        if node.edge is not None:
            return self._finish(node.edge)
        return self._answer("key")

    def _given(self, press: Press) -> Answer:
        kind, value = press.kind, press.value
        if self.locked_out:
            return self._answer("error")
        if self._buffer or not reads(self.memory.settings, press.bits):
            return self._error()
        for name, node in self._node.inputs.items():
            if self.grammar.fields[name].pattern != kind:
                continue
            if name == "master card" and self.memory.codes.get(name) != value:
                continue
            if name == "card" and self.memory.codes.get("master card") == value:
                continue
            self._captured[name] = value
            return self._enter(node)
        return self._error()

    def _wait(self, seconds: int) -> Answer:
        if self.locked_out:
            if seconds >= int(self.memory.settings.get("lock-out time", "0")):
                self.locked_out, self.wrong = False, 0
            return self._answer("key")
        if seconds < self.grammar.times_out_s:
            return self._answer("key")
        idle = self.grammar.states[self.state].idle
        self._go(self.state if idle else self.grammar.start)
        return self._answer("key" if idle else "error")

    def _finish(self, edge: Edge) -> Answer:
        try:
            values = self._values(edge)
            perform(self.grammar, self.memory, edge.does, values)
        except Refused:
            return self._error()
        self.wrong = 0
        self._go(edge.to)
        return self._answer(edge.signal)

    def _values(self, edge: Edge) -> dict[str, str]:
        values = dict(edge.given)
        for name, keyed in self._captured.items():
            spec = self.grammar.fields[name]
            value = keyed if spec.form == "input" else from_keys(spec, keyed)
            if value is None:
                raise Refused
            if name in CODES and self.memory.codes.get(name) != value:
                raise Refused
            base = base_name(name)
            if base != name and values.get(base) != value:
                raise Refused
            values[base] = value
        if "card number" in values:
            values["card"] = values["card number"]
        return values

    def _error(self) -> Answer:
        state = self.grammar.states[self.state]
        if state.idle:
            self.wrong += 1
            most = int(self.memory.settings.get("wrong attempts", "0"))
            does = self.memory.settings.get("wrong attempts do", "lock-out")
            if most and self.wrong >= most and does != "alarm":
                self.locked_out = int(self.memory.settings.get("lock-out time", "0")) > 0
        self._go(state.error_to)
        return self._answer("error")

    def _answer(self, signal: str) -> Answer:
        node = self._node
        shows = node.shows or self.grammar.states[self.state].shows
        if self._buffer and node.spec is not None:
            typed = self._buffer if node.spec.shown else "*" * len(self._buffer)
            shows = f"{shows} {typed}" if self.grammar.display else shows
        return Answer(signal, shows)
