"""Random boxes as build texts, and their circuits read from the typed model by the few lines here: nothing of the linter's own circuit.

A box has batteries with fuses at their posts, bars joined by cables (loops among them), feeders that branch, switches, plugs and loads, and returns of their own.
Wires of returns have names that begin with "back".
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.fuse import Fuse
from ohmwright_grammar.kinds.switch import Switch
from ohmwright_grammar.model import Build

__all__ = ["Edge", "Plain", "Wiring", "box_text", "ohm_at", "plain"]

RHO = 0.017241  # ohm mm2/m: annealed copper at 20 degC (IEC 60028), from memory
ALPHA = 0.00393  # 1/K (IEC 60028), from memory
CLASS_5 = {
    "1.5": 13.3,
    "2.5": 7.98,
    "4": 4.95,
    "6": 3.3,
    "10": 1.91,
    "16": 1.21,
    "25": 0.78,
    "35": 0.554,
}  # ohm/km (IEC 60228), from memory
CONTACT = 0.5e-3  # ohm: of a contact that says nothing (common practice)
THICK = ("6 AWG", "4 AWG", "2 AWG", "16 mm2", "25 mm2", "35 mm2")
THIN = ("16 AWG", "14 AWG", "12 AWG", "10 AWG", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2")


@dataclass
class Wiring:
    """A box under way."""

    dice: random.Random
    lines: list[str] = field(default_factory=list)
    count: int = 0

    def wire(self, one: str, two: str, sizes: tuple[str, ...], longest: float, back: bool = False) -> None:
        """Put a wire between two nodes."""
        self.count += 1
        name = f"{'back' if back else 'feed'}{self.count}"
        if self.dice.random() < 0.1:
            says = f"measured {self.dice.uniform(0.2, 20):.3f} mohm"
        else:
            says = f"{self.dice.choice(sizes)}, {self.dice.uniform(0.1, longest):.3f} m"
        self.lines.append(f"wire {name} from {one} to {two} {{ {says.replace(', ', '; ')} }}")

    def fuse(self, name: str, ampere: int) -> str:
        """Put in a fuse and return its name."""
        self.lines.append(
            f"fuse {name} {{ {ampere} A; breaks 1 A at 32 V dc; resistance {self.dice.uniform(0.1, 4):.3f} mohm }}"
        )
        return name


def box_text(seed: int) -> str:
    """Return a random box as the text of a build."""
    dice = random.Random(seed)
    box = Wiring(
        dice, [f'rig "Box {seed}", revision 1', "basis us-small-craft", "system 12 V", "site { ambient -5 degC to 25 degC }"]
    )
    box.lines.append("all wires { copper; 105 degC insulation; in free air }")
    bars = [f"bar{k}" for k in range(1, dice.randint(2, 4))]
    posts = [f"post{k}" for k in range(1, dice.randint(2, 3))]
    box.lines += [f"bus {name}" for name in (*bars, *posts)]
    for near, far in pairwise(bars):
        box.wire(near, far, THICK, 2.0)
        if dice.random() < 0.4:
            box.wire(near, far, THICK, 2.0)  # two cables side by side
    if len(bars) > 2 and dice.random() < 0.5:
        box.wire(bars[0], bars[-1], THICK, 3.0)  # a ring
    for near, far in pairwise(posts):
        box.wire(near, far, THICK, 2.0, back=True)
    for k in range(1, dice.randint(2, 5)):
        _battery(box, k, dice.choice(bars), dice.choice(posts))
    for k in range(1, dice.randint(2, 7)):
        _feeder(box, f"{k}", dice.choice(bars), posts, 0)
    return "\n".join(box.lines) + "\n"


def _battery(box: Wiring, k: int, bar: str, post: str) -> None:
    """Put in a battery, or two in series, with a fuse of its own."""
    dice = box.dice
    cells = dice.random() < 0.25
    names = [f"battery{k}a", f"battery{k}b"] if cells else [f"battery{k}"]
    for name in names:
        full = dice.uniform(13.2, 13.8) / len(names)
        low = dice.uniform(2.0, 8.0)
        ohm = (
            f"short-circuit current {dice.randint(1500, 4000)} A"
            if dice.random() < 0.2
            else f"internal resistance {low:.2f} mohm plus or minus 0.5 mohm"
        )
        box.lines.append(
            f"battery {name} {{ LFP; {4 // len(names)} cells; rest {full:.3f} V full; rest {full * 0.82:.3f} V empty; {ohm}; 100 Ah }}"
        )
    for upper, lower in pairwise(names):
        box.wire(f"{lower}.plus", f"{upper}.minus", THICK, 0.5)
    fuse = box.fuse(f"post_fuse{k}", 100)
    box.wire(f"{names[0]}.plus", f"{fuse}.line", THICK, 0.4)
    box.wire(f"{fuse}.load", bar, THICK, 2.0)
    box.wire(f"{names[-1]}.minus", post, THICK, 2.0, back=True)


def _feeder(box: Wiring, k: str, bar: str, posts: list[str], depth: int) -> None:
    """Put in a feeder: a fuse, then a load over a switch or a plug, or a bar with feeders of its own."""
    dice = box.dice
    fuse = box.fuse(f"fuse{k}", (60, 30, 10)[depth])
    box.wire(bar, f"{fuse}.line", THICK if depth == 0 else THIN, 1.0)
    if depth < 2 and dice.random() < 0.4:
        box.lines.append(f"bus board{k}")
        box.wire(f"{fuse}.load", f"board{k}", THIN, 3.0)
        for number in range(dice.randint(1, 3)):
            _feeder(box, f"{k}_{number}", f"board{k}", posts, depth + 1)
        return
    box.lines.append(f"load load{k} {{ {dice.uniform(0.1, 1.5):.2f} A }}")
    plus, minus = f"load{k}.plus", f"load{k}.minus"
    kind = dice.random()
    if kind < 0.35:
        says = f"; contact resistance {dice.uniform(0.2, 3):.3f} mohm" if dice.random() < 0.5 else ""
        box.lines.append(f"switch switch{k} {{ 40 A{says} }}")
        box.wire(f"{fuse}.load", f"switch{k}.line", THIN, 4.0)
        box.wire(f"switch{k}.load", plus, THIN, 4.0)
    elif kind < 0.7:
        box.lines.append(f'connector socket{k} with plug{k} {{ pin 1 plus "load"; pin 2 minus "return" }}')
        box.wire(f"{fuse}.load", f"socket{k}.1", THIN, 4.0)
        box.wire(f"plug{k}.1", plus, THIN, 4.0)
        box.wire(f"plug{k}.2", minus, THIN, 4.0, back=True)
        minus = f"socket{k}.2"
    else:
        box.wire(f"{fuse}.load", plus, THIN, 6.0)
    box.wire(minus, dice.choice(posts), THIN, 6.0, back=True)


# the circuit ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Edge:
    """A way between two nodes: a wire, a device, a switch, a contact; its resistance at 20 degC [ohm]."""

    name: str
    kind: str
    one: str
    two: str
    ohm: float
    was_measured: bool = False

    @property
    def is_return(self) -> bool:
        """Tell whether it is a wire of a return."""
        return self.name.startswith("back")


@dataclass(frozen=True)
class Plain:
    """The circuit of a build, read from its typed model."""

    edges: tuple[Edge, ...]
    batteries: tuple[Battery, ...]


def plain(build: Build) -> Plain:
    """Read the circuit of a build."""
    return Plain(tuple(_edges(build)), tuple(sorted(build.of(Battery), key=lambda part: part.name)))


def _edges(build: Build) -> Iterator[Edge]:
    for run in build.runs:
        yield Edge(run.name, "wire", run.start, run.end, _ohm_of(run.conductor), run.conductor.measured_resistance is not None)
    for part in build.parts.values():
        if isinstance(part, Fuse):
            assert part.resistance is not None
            yield Edge(part.name, "device", f"{part.name}.line", f"{part.name}.load", float(part.resistance.high))
        elif isinstance(part, Switch):
            said = part.contact_resistance
            yield Edge(
                part.name, "switch", f"{part.name}.line", f"{part.name}.load", float(said.high) if said is not None else 0.0
            )
    for mating in build.matings:
        for one, two in mating.pins:
            yield Edge(f"{mating.name} {one}", "contact", f"{mating.first}.{one}", f"{mating.second}.{two}", CONTACT)


def _ohm_of(conductor: Conductor) -> float:
    """Return the resistance of a wire at 20 degC [ohm]: by the law of the AWG diameters, or the table of IEC 60228, class 5."""
    if conductor.measured_resistance is not None:
        return float(conductor.measured_resistance.nominal)
    assert conductor.gauge is not None and conductor.length is not None
    number, unit = conductor.gauge.text.split()
    length = float(conductor.length.nominal)
    if unit == "AWG":
        diameter = 0.127 * 92 ** ((36 - int(number)) / 39)
        return RHO * length / (3.141592653589793 * diameter**2 / 4)
    return CLASS_5[number] * 1e-3 * length


def ohm_at(edge: Edge, celsius: float) -> float:
    """Return the resistance of an edge [ohm] with copper at a temperature; what was measured, or is no copper, stays as it is."""
    copper = edge.kind == "wire" and not edge.was_measured
    return edge.ohm * (1 + ALPHA * (celsius - 20.0)) if copper else edge.ohm
