"""Which steps of a grammar meet the needs with the fewest keys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from latchwork.codes.keypad.fieldspec import DAYS, base_name, to_keys
from latchwork.codes.keypad.grammar import Edge, Grammar
from latchwork.codes.keypad.needs import Need
from latchwork.codes.keypad.simulator import Press
from latchwork.codes.keypad.vocabulary import CODES, SECRET_FIELDS


@dataclass(frozen=True, slots=True, repr=False)
class Item:
    """One step to be keyed: an edge with the values of its fields."""

    edge: Edge
    values: Mapping[str, str]
    place: int
    cost: int


def presses_of(
    grammar: Grammar, edge: Edge, values: Mapping[str, str], codes: Mapping[str, str]
) -> tuple[Press, ...] | None:
    """The keys of a step; None where a field cannot say its value."""
    presses: list[Press] = []
    for token in edge.tokens:
        if token.key:
            presses.append(Press("key", token.key))
            continue
        name = base_name(token.field)
        spec = grammar.fields[token.field]
        value = codes.get(name) if name in CODES else values.get(name)
        if name == "card number":
            value = values.get("card")
        if value is None:
            return None
        secret = name in SECRET_FIELDS
        if spec.form == "input":
            presses.append(Press(spec.pattern, value, secret and spec.pattern != "card", name))
            continue
        keyed = to_keys(spec, value)
        if keyed is None:
            return None
        presses += [Press("key", k, secret, name) for k in keyed]
    return tuple(presses)


def choose_items(
    grammar: Grammar, needs: Iterable[Need], edges: Iterable[Edge], codes: Mapping[str, str]
) -> list[Item] | None:
    """The cheapest steps for all needs, from these edges; None where one cannot be met."""
    by_operation: dict[str, list[Edge]] = {}
    for edge in edges:
        for operation in edge.does:
            by_operation.setdefault(operation, []).append(edge)
    bundles: dict[tuple[str, int] | int, list[Need]] = {}
    for index, need in enumerate(needs):
        bundles.setdefault(need.bundle if need.bundle[0] else index, []).append(need)
    items: list[Item] = []
    for bundle in bundles.values():
        for part in _days_apart(bundle, by_operation):
            chosen = _cover(grammar, part, by_operation, codes)
            if chosen is None:
                return None
            items += chosen
    return items


def _days_apart(bundle: list[Need], by_operation: dict[str, list[Edge]]) -> list[list[Need]]:
    """Weekly times for several days, day by day where no step takes a span of days."""
    need = bundle[0]
    spans = any("last day" in e.fields for e in by_operation.get("add times", ()))
    if need.operation != "add times" or spans:
        return [bundle]
    first, last = DAYS.index(need.values["day"]), DAYS.index(need.values["last day"])
    return [
        [Need(need.operation, {**need.values, "day": d, "last day": d})]
        for d in DAYS[first : last + 1]
    ]


def _cover(
    grammar: Grammar,
    bundle: list[Need],
    by_operation: dict[str, list[Edge]],
    codes: Mapping[str, str],
) -> list[Item] | None:
    """The cheapest set of edges that does exactly the bundle's operations."""
    operations = [n.operation for n in bundle]
    values: dict[str, str] = {}
    for need in bundle:
        values |= need.values
    options: list[tuple[int, Item]] = []
    for edge in {e.id: e for o in operations for e in by_operation.get(o, ())}.values():
        if not set(edge.does) <= set(operations):
            continue
        if any(values.get(k, v) != v for k, v in edge.given.items()):
            continue
        if _asks_for_a_card_that_is_gone(edge):
            continue
        presses = presses_of(grammar, edge, values, codes)
        if presses is not None:
            mask = sum(1 << i for i, o in enumerate(operations) if o in edge.does)
            options.append((mask, Item(edge, values, bundle[0].place, len(presses))))
    full = (1 << len(bundle)) - 1
    best: dict[int, tuple[int, tuple[Item, ...]]] = {0: (0, ())}
    for done in range(full):
        if done not in best:
            continue
        cost, chosen = best[done]
        for mask, item in options:
            following = done | mask
            if done & mask:
                continue
            total = cost + item.cost
            if following not in best or total < best[following][0]:
                best[following] = (total, (*chosen, item))
    return list(best[full][1]) if full in best else None


def _asks_for_a_card_that_is_gone(edge: Edge) -> bool:
    """A card is deleted by its number or place: a lost one cannot be held up."""
    return "delete card" in edge.does and "card" in edge.fields
