"""What a conductor ends in: the devices that bound what it lets out at its far end, and how far they stand from where current comes in.

A branch that has its own device needs none at its joint, if the device stands within the distance of the basis from it (catalogue, F9 and F1).
"""

from __future__ import annotations

from collections.abc import Collection

from ohmwright.circuit.graph import Branch
from ohmwright.protection.ways import DEVICE, ONE_WAY, Ways
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.records import record

from ohmwright_rules.guarding import Guarding

__all__ = ["OwnDevices", "busy_clusters", "own_devices"]


@record
class OwnDevices:
    """The devices at which everything ends that hangs on a conductor beyond one of its ends.

    `length` [m] is that of the longest way from the other end to one of them; `unmeasured` a conductor on the way whose length is not declared. `enclosed`
    tells whether all of it is, None where nobody says; `open_at` is a conductor that decides this.
    """

    devices: tuple[Branch, ...]
    length: float
    unmeasured: Branch | None
    enclosed: bool | None
    open_at: Branch | None


def own_devices(guard: Guarding, ways: Ways, wire: Branch, far: str, busy: Collection[int]) -> OwnDevices | None:
    """Return the devices that a conductor ends in beyond its node `far`; None where something hangs there without one, or where it is no dead end.

    `busy` are the clusters at which something hangs (`busy_clusters`).
    """
    edge = ways.edge_of[wire.name]
    start, near = ways.cluster[far], ways.cluster[wire.other(far)]
    if start == near:
        return None
    along = {start: ways.lengths[edge]}
    wires = {edge: None}
    devices: set[int] = set()
    queue = [start]
    for here in queue:
        if here == near or here in busy:
            return None
        for way, there in (*ways.out[here], *ways.back[here]):
            if way in wires:
                continue
            if ways.kinds[way] == DEVICE:
                devices.add(way)
            elif ways.kinds[way] == ONE_WAY or there in along:
                return None  # a diode lets out without bound; a ring has no longest way
            else:
                wires[way] = None
                along[there] = along[here] + ways.lengths[way]
                queue.append(there)
    if not devices:
        return None
    covers = [(guard.enclosed(branch), branch) for branch in map(ways.wire, wires)]
    bare = next((item for item in covers if item[0] is False), next((item for item in covers if item[0] is None), None))
    unmeasured = next((ways.wire(way) for way in wires if way in ways.unmeasured), None)
    return OwnDevices(
        tuple(sorted(map(ways.wire, devices), key=lambda device: device.name)),
        max(along.values()),
        unmeasured,
        True if bare is None else bare[0],
        None if bare is None else bare[1],
    )


def busy_clusters(guard: Guarding, ways: Ways) -> frozenset[int]:
    """Return the clusters at which something hangs that gives or takes: a source, a consumer, or a contact that something can be plugged into."""
    study = guard.study
    nodes = {node for source in study.circuit.sources for node in (source.plus, source.minus)}
    nodes |= {node for consumer in study.circuit.consumers for node in (consumer.plus, consumer.minus)}
    nodes |= {node for node in ways.cluster if isinstance(study.part(study.build.nodes.get(node, "")), Half)}
    return frozenset(ways.cluster[node] for node in nodes if node in ways.cluster)
