"""How much can be pushed to a place: through overcurrent devices, from sources with and without a limit of their own."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable

from ohmwright.study import Study
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.records import record

__all__ = ["Feed", "largest_feed", "reaches_source"]


@record
class Feed:
    """The largest current [A] that devices and limits let pass to a node, and what holds it: a fuse or a source's limit.

    `value` is infinite, and `holder` empty, where nothing holds it. `unknown` names a device on the way whose rating is not declared.
    """

    value: float
    holder: str = ""
    unknown: str = ""


def _rating(study: Study, name: str) -> float | None:
    part = study.part(name)
    if isinstance(part, Fuse) and part.rated_current is not None:
        return float(part.rated_current.nominal)
    return None


def largest_feed(study: Study, node: str, without: Collection[str] = ()) -> Feed | None:
    """Return what can be pushed to a node out of the plus of any source, by its best way; None where no source reaches it.

    All switches and plugs count as closed; branches named in `without` are not gone through. A device without a rating holds nothing, and is named.
    """
    circuit = study.circuit
    starts = {
        source.plus: Feed(source.limit, source.name) if source.limit is not None else Feed(float("inf"))
        for source in sorted(circuit.sources, key=lambda source: (source.limit is None, source.limit or 0.0))
    }
    best: set[str] = set()
    queue = [(-feed.value, plus, feed.holder, feed.unknown) for plus, feed in starts.items()]
    heapq.heapify(queue)
    while queue:  # of two equal ways to a node the one whose holder comes first in name order
        lost, here, holder, unknown = heapq.heappop(queue)
        if here in best:
            continue
        best.add(here)
        feed = Feed(-lost, holder, unknown)
        if here == node:
            return feed
        for branch in circuit.at_node.get(here, ()):
            other = branch.other(here)
            if branch.name in without or other in best or branch.kind == "inside":
                continue
            onward = feed
            if branch.device:
                rating = _rating(study, branch.part)
                if rating is None:
                    onward = Feed(feed.value, feed.holder, feed.unknown or branch.part)
                elif rating < feed.value:
                    onward = Feed(rating, branch.part, feed.unknown)
            heapq.heappush(queue, (-onward.value, other, onward.holder, onward.unknown))
    return None


def reaches_source(study: Study, nodes: Iterable[str], without: Collection[str]) -> bool:
    """Tell whether any pole of a source is joined with one of the nodes once the branches named are taken away."""
    poles = {pole for source in study.circuit.sources for pole in (source.plus, source.minus)}
    reach = study.circuit.reach(nodes, lambda branch: branch.name not in without)
    return not poles.isdisjoint(reach)
