"""A menu written in one piece becomes one state an item."""

from __future__ import annotations

from latchwork.codes.keypad.grammar import Edge, State, Token
from latchwork.codes.yamlfile import Node, Reader


def expand_menu(reader: Reader, name: str, node: Node, keys: tuple[str, ...]) -> dict[str, State]:
    """The states of ``menu: {next, previous, choose, back, back to, items: {SHOWN: state}}``.

    Item "USERS" of the menu "main" is the state "main/USERS"; the last is followed by the first.
    """
    where = f"states.{name}.menu"
    found = reader.map(node, where)
    reader.known(found, where, ("next", "previous", "choose", "back", "back to", "items"))
    pressed = {}
    for role in ("next", "previous", "choose", "back"):
        pressed[role] = reader.text(found.get(role), f"{where}.{role}")
        if pressed[role] not in keys and (role in found or role in ("next", "choose")):
            reader.wrong(
                node, f"{where}.{role}", pressed[role] or "nothing", "one of " + " ".join(keys)
            )
    items = reader.map(found.get("items"), f"{where}.items")
    if not items:
        reader.wrong(node, where, "no items", "items: {SHOWN: state}")
    back_to = reader.text(found.get("back to"), f"{where}.back to")
    shown = list(items)
    states = {}
    for index, label in enumerate(shown):
        state = f"{name}/{label}"

        def edge(role: str, to: str, state: str = state, line: int = items[label].line) -> Edge:
            return Edge(
                f"{state}#{role}", state, (Token(pressed[role]),), to, signal="key", line=line
            )

        following = shown[(index + 1) % len(shown)]
        edges = [edge("choose", reader.text(items[label], f"{where}.items.{label}"))]
        if len(shown) > 1:
            edges.append(edge("next", f"{name}/{following}"))
            if pressed["previous"]:
                edges.append(edge("previous", f"{name}/{shown[index - 1]}"))
        if pressed["back"]:
            edges.append(edge("back", back_to))
        states[state] = State(state, label, tuple(edges), state, line=items[label].line)
    return states
