"""Overcurrent protection as a property of the circuit's graph.

What lives here: walks over the circuit of a build that know devices, sources and lengths. What may not: a limit of a basis; those come in as functions.

- `ways`: the graph that fault current can take, under one setting of everything that cannot be closed at the same time;
- `poles`: which pole of each source is the live one, and which conductors are returns;
- `walking`: one walk from a source, with lengths, covers and devices along it;
- `reaching`: which source reaches which conductor past everything that is small enough for it;
- `flows`: the most that can flow into either end of a conductor;
- `prospective`: the current of a bolted short at each device;
- `far_ends`: where a short lies far from the source, and the way there and back.
"""

from __future__ import annotations

__all__: list[str] = []
