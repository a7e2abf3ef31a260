"""A state's steps laid over one another, key by key, and checked that no key means two things."""

from __future__ import annotations

from dataclasses import dataclass, field

from latchwork.codes.keypad.grammar import Edge, FieldSpec, Grammar, State, Token


@dataclass(slots=True)
class Node:
    """A place part-way through a state's steps."""

    keys: dict[str, Node] = field(default_factory=dict)
    spec: FieldSpec | None = None
    """The field that may begin here, keyed digit by digit."""
    after: Node | None = None
    inputs: dict[str, Node] = field(default_factory=dict)
    """Fields given in one piece (a card), by field name."""
    edge: Edge | None = None
    """The step that ends here."""
    shows: str = ""
    name: str = ""
    """The field that was just completed, where one was."""


@dataclass(frozen=True, slots=True)
class Clash:
    """Two readings of the same keys."""

    edge: Edge
    other: Edge
    text: str


def build(grammar: Grammar, state: State) -> tuple[Node, list[Clash]]:
    """The state's steps as one tree, and every place where a key could mean two things."""
    root = Node()
    clashes: list[Clash] = []
    through: dict[int, Edge] = {}
    for edge in state.edges:
        node = root
        for token in edge.tokens:
            if node.edge is not None:
                clashes.append(Clash(edge, node.edge, "begins with all the keys of another step"))
                break
            following = _follow(grammar, node, token, edge, through, clashes)
            if following is None:
                break
            node = following
            through[id(node)] = through.get(id(node), edge)
            if token.shows:
                if node.shows and node.shows != token.shows:
                    other = through[id(node)]
                    clashes.append(Clash(edge, other, "shows something else after the same keys"))
                node.shows = token.shows
        else:
            if node.edge is not None:
                clashes.append(Clash(edge, node.edge, "has the same keys as another step"))
            elif node.keys or node.spec or node.inputs:
                other = _any_edge(node)
                clashes.append(Clash(other, edge, "begins with all the keys of another step"))
            else:
                node.edge = edge
    _check_endings(root, None, clashes, state)
    return root, clashes


def _follow(
    grammar: Grammar,
    node: Node,
    token: Token,
    edge: Edge,
    through: dict[int, Edge],
    clashes: list[Clash],
) -> Node | None:
    if token.key:
        if node.spec is not None and token.key in node.spec.alphabet:
            text = f"key {token.key} could also be the first of {node.spec.name}"
            clashes.append(Clash(edge, through.get(id(node.after), edge), text))
            return None
        return node.keys.setdefault(token.key, Node())
    spec = grammar.fields[token.field]
    if spec.form == "input":
        kin = [
            f for f in node.inputs if grammar.fields[f].pattern == spec.pattern and f != spec.name
        ]
        if any({f, spec.name} != {"card", "master card"} for f in kin):
            other = _any_edge(node.inputs[kin[0]]) if kin else edge
            clashes.append(Clash(edge, other, f"a {spec.pattern} here could mean two things"))
            return None
        return node.inputs.setdefault(spec.name, Node(name=spec.name))
    if node.spec is not None and node.spec.name != spec.name:
        text = f"the keys here could be {node.spec.name} or {spec.name}"
        clashes.append(Clash(edge, through.get(id(node.after), edge), text))
        return None
    for key in node.keys:
        if key in spec.alphabet:
            text = f"key {key} could also be the first of {spec.name}"
            clashes.append(Clash(edge, _any_edge(node.keys[key]), text))
            return None
    if node.spec is None:
        node.spec, node.after = spec, Node(name=spec.name)
    return node.after


def _check_endings(node: Node, ended: FieldSpec | None, clashes: list[Clash], state: State) -> None:
    """A field of several lengths must end with a key that cannot be one of its own."""
    if ended is not None and ended.least < ended.most:
        edge = _any_edge(node)
        if node.edge is not None or node.inputs:
            clashes.append(
                Clash(edge, edge, f"{ended.name} has several lengths and no key ends it")
            )
        for key in node.keys:
            if key in ended.alphabet:
                text = f"key {key} could be one more of {ended.name}, or the end of it"
                clashes.append(Clash(edge, edge, text))
        if node.spec is not None and node.spec.alphabet & ended.alphabet:
            text = f"nothing tells where {ended.name} ends and {node.spec.name} begins"
            clashes.append(Clash(edge, edge, text))
    for following in (*node.keys.values(), *node.inputs.values()):
        _check_endings(following, None, clashes, state)
    if node.after is not None:
        _check_endings(node.after, node.spec, clashes, state)
    for key in state.cancel:
        if key in node.keys:
            edge = _any_edge(node)
            clashes.append(Clash(edge, edge, f"key {key} cancels in this state and is used too"))


def _any_edge(node: Node) -> Edge:
    while node.edge is None:
        following = [*node.keys.values(), *node.inputs.values()]
        if node.after is not None:
            following.append(node.after)
        node = following[0]
    return node.edge
