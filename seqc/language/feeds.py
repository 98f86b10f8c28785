"""The feed of a lane: selectors, nested to any sensible depth, down to the items they offer."""

from __future__ import annotations

from seqc.language.limits import MAX_FEED, MAX_NESTING
from seqc.language.scope import Scope
from seqc.language.source import Offer
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.parts import Branch, Feed, Gate, Item, Selector
from seqc.machine.wording import amount_of

INPUTS = 2


def read_feed(feed: Offer, scope: Scope) -> Feed | None:
    """What a feed means; None where it is unsound, which is reported."""
    order = _in_order(feed, scope.findings)
    if order is None:
        return None
    unique = _each_once(order, scope.findings)
    made: dict[int, Feed | None] = {}
    for offer in reversed(order):
        made[id(offer)] = _node(offer, [made[id(o)] for o in offer.inputs or ()], scope)
    return made[id(feed)] if unique else None


def _in_order(feed: Offer, findings: Findings) -> list[Offer] | None:
    """Every offer before its inputs; None where there are too many or they nest too deep."""
    order: list[Offer] = []
    waiting = [(feed, 0)]
    while waiting:
        offer, depth = waiting.pop()
        order.append(offer)
        if depth > MAX_NESTING:
            message = f"selectors nest deeper than {MAX_NESTING}"
            hint = "a tree of selectors that is less deep offers as many items"
            findings.error("too-deep", message, offer.word.place, hint)
            return None
        if len(order) > MAX_FEED:
            message = f"more than {MAX_FEED} inputs in one lane"
            findings.error("too-many-inputs", message, offer.word.place, "leave some out")
            return None
        waiting += [(inner, depth + 1) for inner in reversed(offer.inputs or ())]
    return order


def _each_once(order: list[Offer], findings: Findings) -> bool:
    """Whether no selector stands twice; an item may, since it can have several magazines."""
    first: dict[str, Place] = {}
    unique = True
    for offer in (offer for offer in order if offer.inputs is not None):
        before = first.setdefault(offer.word.text, offer.word.place)
        if before != offer.word.place:
            message = f"`{offer.word.text}` stands twice in one lane"
            related = Related(before, "first here")
            hint = "declare a second selector for the second place"
            findings.error("repeated-part", message, offer.word.place, hint, related)
            unique = False
    return unique


def _node(offer: Offer, inputs: list[Feed | None], scope: Scope) -> Feed | None:
    entry = scope.stations.find(offer.word)
    if entry is None:
        return None
    match entry.kind:
        case "item":
            return _item(offer, entry.value, scope.findings)
        case "selector":
            return _branch(offer, entry.value, inputs, scope.findings)
        case _:
            message = f"`{offer.word.text}` is a gate, but a lane ends in its items"
            hint = "go on with `<- SELECTOR(ITEM, ITEM)`, or with an item"
            related = Related(entry.word.place, "declared here")
            scope.findings.error("wrong-role", message, offer.word.place, hint, related)
            return None


def _item(offer: Offer, item: Item | Selector | Gate | None, findings: Findings) -> Feed | None:
    if offer.inputs is not None:
        message = f"`{offer.word.text}` is an item and has no inputs"
        findings.error("item-with-inputs", message, offer.word.place, "leave out the brackets")
        return None
    return item if isinstance(item, Item) else None


def _branch(
    offer: Offer,
    selector: Item | Selector | Gate | None,
    inputs: list[Feed | None],
    findings: Findings,
) -> Feed | None:
    if len(inputs) != INPUTS:
        given = amount_of(len(inputs), "input")
        message = f"selector `{offer.word.text}` has {given} here, and needs {INPUTS}"
        hint = f"write `{offer.word.text}(ITEM, ITEM)`: the first is offered at rest"
        findings.error("wrong-inputs", message, offer.word.place, hint)
        return None
    rest, thrown = inputs
    if rest is None or thrown is None or not isinstance(selector, Selector):
        return None
    return Branch(selector, rest, thrown)
