"""Reading a programming grammar that somebody wrote from a manual."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from latchwork.codes.keypad import vocabulary as voc
from latchwork.codes.keypad.fieldspec import read_field
from latchwork.codes.keypad.grammar import (
    CASE_BUTTON,
    Edge,
    FieldSpec,
    Grammar,
    Manners,
    SettingSpec,
    Signal,
    State,
    Token,
)
from latchwork.codes.keypad.menus import expand_menu
from latchwork.codes.keypad.trie import build
from latchwork.codes.yamlfile import Node, Reader, read_yaml
from latchwork.job import one_of

_TOKEN = re.compile(r"\{([^{}]+)\}|\[([^\[\]]*)\]|(\S+?)(?=[\s{\[]|$)")
_TOP = (
    "latchwork grammar",
    "name",
    "what",
    "display",
    "keys",
    "start",
    "times out",
    "places",
    "manners",
    "factory codes",
    "reset keeps",
    "signals",
    "settings",
    "fields",
    "states",
)
_KEEPS = ("users", "settings", "codes", "times", "holidays", "clock")
_MANNERS = {
    "tells apart": ("PIN", "place", "card"),
    "place holds": ("everything", "one thing"),
    "used place": ("refused", "replaced"),
    "same code": ("refused", "moved"),
    "empty delete": ("refused", "passes"),
}


def read_grammar(data: bytes, file: str) -> Grammar:
    """A grammar, checked for ambiguity. Raises CodesError with all that is wrong in it."""
    reader, top = read_yaml(data, file, "latchwork grammar")
    reader.known(top, "file", _TOP)
    reader.number(top.get("latchwork grammar"), "latchwork grammar", 1, 1)
    keys = tuple(reader.text(top.get("keys"), "keys").split())
    if not keys or len(set(keys)) != len(keys):
        reader.wrong(
            top.get("keys"), "keys", "no keys, or one twice", "each key once, with spaces between"
        )
    fields = {
        name: read_field(reader, name, node, keys)
        for name, node in reader.map(top.get("fields"), "fields").items()
    }
    states = _states(reader, reader.map(top.get("states"), "states"), fields, keys)
    start = _state_name(states, reader.text(top.get("start"), "start"))
    first, last = _span(reader, top.get("places"), "places", 99999)
    grammar = Grammar(
        name=reader.text(top.get("name"), "name"),
        what=reader.text(top.get("what"), "what"),
        keys=keys,
        states=states,
        start=start,
        fields=fields,
        settings=_settings(reader, top.get("settings")),
        signals=_signals(reader, top.get("signals")),
        first_place=first,
        last_place=last,
        times_out_s=reader.number(top.get("times out"), "times out", 1, 3600),
        manners=_manners(reader, top.get("manners")),
        factory_codes=_factory_codes(reader, top.get("factory codes")),
        reset_keeps=_some_of(reader, top.get("reset keeps"), "reset keeps", _KEEPS),
        display=_yes(reader, top.get("display"), "display"),
        file=file,
    )
    reader.finish()
    _check(reader, grammar)
    reader.finish()
    return grammar


def _yes(reader: Reader, node: Node | None, where: str) -> bool:
    text = reader.text(node, where, "no")
    if text not in ("yes", "no"):
        reader.wrong(node, where, text[:20], "yes or no")
    return text == "yes"


def _span(reader: Reader, node: Node | None, where: str, most: int) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,6}) to (\d{1,6})", reader.text(node, where), re.ASCII)
    if match and int(match[1]) <= int(match[2]) <= most:
        return int(match[1]), int(match[2])
    reader.wrong(node, where, reader.text(node, where)[:40] or "nothing", "a span such as 1 to 400")
    return 0, 0


def _some_of(
    reader: Reader, node: Node | None, where: str, names: Iterable[str]
) -> tuple[str, ...]:
    found = tuple(reader.text(item, where) for item in reader.items(node, where))
    for text in found:
        if text not in names:
            reader.wrong(node, where, text[:40], one_of(text, names))
    return found


def _manners(reader: Reader, node: Node | None) -> Manners:
    found = reader.map(node, "manners")
    reader.known(found, "manners", (*_MANNERS, "most cards", "card bits"))
    chosen = {}
    for name, choices in _MANNERS.items():
        text = reader.text(found.get(name), f"manners.{name}", choices[0])
        if text not in choices:
            reader.wrong(found[name], f"manners.{name}", text[:40], " or ".join(choices))
        chosen[name.replace(" ", "_")] = text
    cards = reader.number(found.get("most cards"), "manners.most cards", 0, 9, 1)
    bits = reader.number(found.get("card bits"), "manners.card bits", 8, 64, 24)
    return Manners(most_cards=cards, card_bits=bits, **chosen)


def _factory_codes(reader: Reader, node: Node | None) -> dict[str, str]:
    found = reader.map(node, "factory codes")
    reader.known(found, "factory codes", voc.CODES)
    codes = {k: reader.text(v, f"factory codes.{k}") for k, v in found.items()}
    for kind, code in codes.items():
        if not (code.isascii() and code.isdecimal() and len(code) <= 12):
            reader.wrong(found[kind], f"factory codes.{kind}", "no digits", "up to 12 digits")
    return codes


def _signals(reader: Reader, node: Node | None) -> dict[str, Signal]:
    signals = {}
    for name, item in reader.map(node, "signals").items():
        found = reader.map(item, f"signals.{name}")
        reader.known(found, f"signals.{name}", ("hear", "see"))
        hear = reader.text(found.get("hear"), f"signals.{name}.hear")
        signals[name] = Signal(hear, reader.text(found.get("see"), f"signals.{name}.see"))
    for name in ("key", "ok", "error"):
        if name not in signals:
            reader.wrong(node, f"signals.{name}", "nothing", "{hear: …, see: …}")
    return signals


def _settings(reader: Reader, node: Node | None) -> dict[str, SettingSpec]:
    settings = {}
    for name, item in reader.map(node, "settings").items():
        where = f"settings.{name}"
        found = reader.map(item, where)
        reader.known(found, where, ("from factory", "takes"))
        kind = voc.SETTINGS.get(name)
        if kind is None:
            reader.wrong(item, where, name[:40], one_of(name, voc.SETTINGS))
            continue
        factory = reader.text(found.get("from factory"), f"{where}.from factory")
        if kind.choices:
            if factory not in kind.choices:
                reader.wrong(item, where, factory[:40], ", ".join(kind.choices))
            settings[name] = SettingSpec(factory)
        else:
            least, most = _span(reader, found.get("takes"), f"{where}.takes", 10**9)
            reader.number(found.get("from factory"), f"{where}.from factory", least, most)
            settings[name] = SettingSpec(factory, least, most)
    return settings


def _tokens(
    reader: Reader, node: Node, where: str, fields: dict[str, FieldSpec], keys: tuple[str, ...]
) -> tuple[Token, ...]:
    text = reader.text(node, where)
    tokens: list[Token] = []
    for match in _TOKEN.finditer(text):
        field, shows, key = match.groups()
        if shows is not None:
            if not tokens:
                reader.wrong(
                    node, where, "something shown before the first key", "a key or field first"
                )
                continue
            tokens[-1] = Token(tokens[-1].key, tokens[-1].field, shows)
        elif field is not None:
            if field not in fields:
                reader.wrong(node, where, field[:40], one_of(field, fields))
            tokens.append(Token(field=field))
        else:
            if key not in (*keys, CASE_BUTTON):
                reader.wrong(node, where, key[:20], "one of " + " ".join(keys))
            tokens.append(Token(key=key))
    if not tokens:
        reader.wrong(node, where, "no keys", "keys and {fields}")
    return tuple(tokens)


def _edge(
    reader: Reader,
    state: str,
    index: int,
    node: Node,
    fields: dict[str, FieldSpec],
    keys: tuple[str, ...],
) -> Edge:
    where = f"states.{state}.steps {index}"
    found = reader.map(node, where)
    reader.known(found, where, ("keys", "does", "with", "to", "signal", "what"))
    tokens = _tokens(reader, found.get("keys", node), f"{where}.keys", fields, keys)
    does = tuple(reader.text(i, where) for i in reader.items(found.get("does"), f"{where}.does"))
    given = {
        k: reader.text(v, f"{where}.with.{k}")
        for k, v in reader.map(found.get("with"), f"{where}.with").items()
    }
    have = {t.field.removesuffix(" number") for t in tokens} | given.keys()
    for operation in does:
        if operation.startswith("run "):
            continue
        if operation not in voc.OPS:
            reader.wrong(node, where, operation[:40], one_of(operation, voc.OPS))
        for need in voc.OPS.get(operation, ()):
            if need not in have:
                reader.wrong(node, where, operation, "{" + need + "} keyed, or said by with")
    _check_given(reader, node, where, given)
    return Edge(
        id=f"{state}#{index}",
        state=state,
        tokens=tokens,
        to=reader.text(found.get("to"), f"{where}.to", state),
        does=does,
        given=given,
        signal=reader.text(found.get("signal"), f"{where}.signal", "ok"),
        what=reader.text(found.get("what"), f"{where}.what"),
        line=node.line,
    )


def _check_given(reader: Reader, node: Node, where: str, given: dict[str, str]) -> None:
    allowed = {name: s.choices for name, s in voc.SETTINGS.items() if s.choices}
    allowed |= {"kind": voc.KINDS, "relay": voc.RELAYS}
    for name, value in given.items():
        if name not in voc.FIELDS:
            reader.wrong(node, f"{where}.with", name[:40], one_of(name, voc.FIELDS))
        elif name in allowed and value not in allowed[name]:
            reader.wrong(node, f"{where}.with.{name}", value[:40], ", ".join(allowed[name]))


def _states(
    reader: Reader, found: dict[str, Node], fields: dict[str, FieldSpec], keys: tuple[str, ...]
) -> dict[str, State]:
    states: dict[str, State] = {}
    for name, node in found.items():
        where = f"states.{name}"
        body = reader.map(node, where)
        reader.known(body, where, ("shows", "idle", "cancel", "after error", "steps", "menu"))
        if "menu" in body:
            states |= expand_menu(reader, name, body["menu"], keys)
            continue
        edges = tuple(
            _edge(reader, name, i, item, fields, keys)
            for i, item in enumerate(reader.items(body.get("steps"), f"{where}.steps"), 1)
        )
        states[name] = State(
            name=name,
            shows=reader.text(body.get("shows"), f"{where}.shows"),
            edges=edges,
            error_to=reader.text(body.get("after error"), f"{where}.after error", name),
            cancel=_some_of(reader, body.get("cancel"), f"{where}.cancel", keys),
            idle=_yes(reader, body.get("idle"), f"{where}.idle"),
            line=node.line,
        )
    return _joined(states)


def _state_name(states: dict[str, State], name: str) -> str:
    """A state by its name; a menu stands for its first item."""
    if name in states:
        return name
    return next((s for s in states if s.startswith(f"{name}/")), name)


def _joined(states: dict[str, State]) -> dict[str, State]:
    return {
        name: replace(
            state,
            error_to=_state_name(states, state.error_to),
            edges=tuple(replace(e, to=_state_name(states, e.to)) for e in state.edges),
        )
        for name, state in states.items()
    }


def _check(reader: Reader, grammar: Grammar) -> None:
    """What can only be seen with everything read: names that lead nowhere, keys of two meanings."""

    def at(line: int) -> Node:
        return Node("", line)

    if grammar.start not in grammar.states or not grammar.states[grammar.start].idle:
        reader.wrong(None, "start", grammar.start or "nothing", "a state that is idle")
    for state in grammar.states.values():
        if state.error_to not in grammar.states:
            reader.wrong(
                at(state.line),
                f"states.{state.name}",
                state.error_to,
                one_of(state.error_to, grammar.states),
            )
        for edge in state.edges:
            if edge.to not in grammar.states:
                reader.wrong(at(edge.line), edge.id, edge.to, one_of(edge.to, grammar.states))
            if edge.signal not in grammar.signals:
                reader.wrong(
                    at(edge.line), edge.id, edge.signal, one_of(edge.signal, grammar.signals)
                )
            for operation in edge.does:
                name = operation.removeprefix("set ")
                if name in voc.SETTINGS and name not in grammar.settings:
                    reader.wrong(
                        at(edge.line), edge.id, f"set {name}", f"{name} among the settings"
                    )
            for name in edge.fields:
                if name in voc.CODES and name not in grammar.factory_codes:
                    reader.wrong(
                        at(edge.line), edge.id, "{" + name + "}", f"{name} among the factory codes"
                    )
        _, clashes = build(grammar, state)
        for clash in clashes:
            beside = f" (line {clash.other.line})" if clash.other.line != clash.edge.line else ""
            found = f"{clash.text}{beside}"
            reader.wrong(at(clash.edge.line), clash.edge.id, found, "keys that mean one thing")
