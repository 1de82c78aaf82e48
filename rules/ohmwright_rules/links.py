"""The links of a chain of packs: what lies in series between the packs beyond it and all others."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch, Consumer, Source
from ohmwright.protection.bridges import bridges
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.records import record, replace

from ohmwright_rules.kept import kept
from ohmwright_rules.nets import layout_of
from ohmwright_rules.packs import Bank, Pack, core_of

__all__ = ["Link", "Outage", "links_of", "outages"]

_MOST_SOLVED, _FEWEST_SOLVED = 48, 8  # states with a pack taken out, of one bank
_MOST_BRANCHES = 60_000  # branches in all of them together


@record
class Link:
    """The branches that carry what the packs beyond them give or take, in the order of the circuit."""

    beyond: tuple[Pack, ...]
    branches: tuple[Branch, ...]

    @property
    def words(self) -> str:
        """How many packs lie beyond."""
        return self.beyond[0].name if len(self.beyond) == 1 else f"{len(self.beyond)} packs"


@record
class Outage:
    """A state as another one becomes when a pack is empty, disconnected or tripped."""

    state: SolvedState
    before: SolvedState
    out: Pack


def links_of(study: Study, bank: Bank) -> tuple[Link, ...]:
    """Return the links of a bank, those with most packs beyond them first: two packs and more, or one that is plugged on.

    A pack's own lead to a busbar is none. Beyond is the side on which what takes and gives most is not.
    """
    core = tuple(branch for branch in core_of(study) if not branch.gate or branch.gate not in bank.open_gates)
    number: dict[str, int] = {}
    edges = [
        (place, number.setdefault(branch.start, len(number)), number.setdefault(branch.end, len(number)))
        for place, branch in enumerate(core)
    ]
    found = bridges(len(number), edges)
    groups: dict[tuple[str, ...], list[Branch]] = {}
    for rail in ("plus", "minus"):
        poles = {getattr(pack, rail): pack for pack in bank.packs}
        start = _hub(study, rail, number, core) or getattr(bank.packs[0], rail)
        for place, beyond in _beyond(bank, number.get(start), number, edges, found, poles):
            groups.setdefault(tuple(pack.name for pack in beyond), []).append(core[place])
    by_name = {pack.name: pack for pack in bank.packs}
    links = []
    for names, branches in groups.items():
        if len(names) > 1 or any(branch.kind == "contact" for branch in branches):
            ordered = tuple(branch for branch in core if branch in branches)
            links.append(Link(tuple(by_name[name] for name in names), ordered))
    return tuple(sorted(links, key=lambda link: (-len(link.beyond), link.beyond[0].name)))


def _beyond(
    bank: Bank,
    start: int | None,
    number: dict[str, int],
    edges: list[tuple[int, int, int]],
    found: set[int],
    poles: dict[str, Pack],
) -> Iterator[tuple[int, tuple[Pack, ...]]]:
    """Yield every bridge of one rail with the packs that lie beyond it, as seen from a node of that rail."""
    near: dict[int, list[tuple[int, int]]] = {}
    for place, one, two in edges:
        near.setdefault(one, []).append((place, two))
        near.setdefault(two, []).append((place, one))
    if start is None:
        return
    at = {number[node]: pack for node, pack in poles.items() if node in number}
    came: dict[int, tuple[int, int]] = {start: (-1, -1)}
    order = [start]
    for here in order:
        for place, far in near.get(here, ()):
            if far not in came:
                came[far] = (here, place)
                order.append(far)
    under: dict[int, set[str]] = {}
    for here in reversed(order):
        names = under.setdefault(here, set())
        if here in at:
            names.add(at[here].name)
        before, place = came[here]
        if before >= 0:
            under.setdefault(before, set()).update(names)
            if place in found and names:
                yield place, tuple(pack for pack in bank.packs if pack.name in names)


def _hub(study: Study, rail: str, number: dict[str, int], core: tuple[Branch, ...]) -> str:
    """Return the node of one rail on which most hangs, by the largest current that any state brings; "" where nothing does."""
    weights = kept(study, _weights)
    names = {branch.name for branch in core}
    hanging: dict[str, str] = {}
    queue = list(number)
    for node in queue:
        hanging.setdefault(node, node)
        for branch in study.circuit.at_node.get(node, ()):
            other = branch.other(node)
            if branch.name not in names and other not in hanging and other not in number:
                hanging[other] = hanging[node]
                queue.append(other)
    sums: dict[str, float] = {}
    for item, weight in weights:
        foot = hanging.get(item.plus if rail == "plus" else item.minus)
        if foot is not None and weight > 0:
            sums[foot] = sums.get(foot, 0.0) + weight
    return max(sorted(sums), key=lambda node: sums[node], default="")


def _weights(study: Study) -> tuple[tuple[Consumer | Source, float], ...]:
    """Return everything that takes and gives but batteries, with the largest current of it in any state [A]."""
    solved = [state for state in study.states if state.solved]
    items: list[Consumer | Source] = [
        *(item for item in study.circuit.consumers if item.kind != "converter"),
        *(item for item in study.circuit.sources if item.kind != "battery"),
    ]
    return tuple((item, max((abs(state.current(item.name)) for state in solved), default=0.0)) for item in items)


def outages(study: Study, bank: Bank) -> tuple[tuple[Outage, ...], bool]:
    """Return states with one pack taken out, solved: of each setting of plugs and switches between them that in which the packs give most, and that in which they take most.

    Only settings in which at least two packs are joined, the strongest first. Whether these are all: of a large circuit only so many are solved.
    """
    most = max(_FEWEST_SOLVED, min(_MOST_SOLVED, _MOST_BRANCHES // max(1, len(study.circuit.branches))))
    found: list[Outage] = []
    between = frozenset(branch.gate for branch in core_of(study) if branch.gate)
    strongest: dict[tuple[frozenset[str], bool], tuple[float, SolvedState]] = {}
    for state in study.lasting_states:
        if not state.solved or state.setup.is_surge:
            continue
        total = sum(state.current(pack.members[0].name) for pack in bank.packs)
        key = (state.open_gates & between, total > 0)
        if total != 0 and (key not in strongest or abs(total) > strongest[key][0]):
            strongest[key] = (abs(total), state)
    for _, before in sorted(strongest.values(), key=lambda item: (-item[0], item[1].name)):
        layout = layout_of(study, before.open_gates)
        groups: dict[tuple[int, int], list[Pack]] = {}
        for pack in bank.packs:
            groups.setdefault((layout.net(pack.minus), layout.net(pack.plus)), []).append(pack)
        joined = max(groups.values(), key=len)
        for pack in joined if len(joined) > 1 else ():
            if len(found) >= most:
                return tuple(found), False
            names = frozenset(battery.name for battery in pack.members)
            setup = replace(
                before.setup,
                name=f"{before.name}, {pack.name} out",
                origin="reached",
                bms_open=before.setup.bms_open | names,
                parent=before.name,
            )
            found.append(Outage(study.solve_setup(setup, before), before, pack))
    return tuple(found), True
