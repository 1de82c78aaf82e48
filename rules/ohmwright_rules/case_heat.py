"""The steady temperature inside a closed case: everything that is lost in it leaves through its walls.

T = T_ambient + P / (h x A). P is what the solved state loses in wires, fuses, contacts and switches that lie in the case, in batteries (I2R), and in parts
(what they say they give off, else by efficiency, own drain and coil). Copper is at the temperature that comes out, iterated to first order: the circuit is
not solved again. A state that gives the temperature inside, and a zone with a range of its own, hold the rise already.

    warmth = warmths_of(study).inside("box", state)     # Warmth(low, high, ...), or Unwarmed("size of box", ...)
"""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_high
from ohmwright.circuit.networks import ASSUMED_EFFICIENCY
from ohmwright.references import Reference, Step
from ohmwright.study import SolvedState, Study
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.inverter import Converter, Inverter
from ohmwright_grammar.kinds.load import AcLoad, Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.records import record

from ohmwright_rules.case_contents import Contents, contents_of
from ohmwright_rules.conductors import AMBIENT, said_of_missing, temperature_of_zone
from ohmwright_rules.kept import kept
from ohmwright_rules.missing import Missing

__all__ = ["LONG_ENOUGH", "WALLS", "Loss", "Warmth", "Warmths", "free_area", "is_long", "wall_heat", "warmths_of"]

WALLS = 4.6  # W/m2K of a painted or plastic wall
WALLS_FROM = Reference("heat of sealed enclosures, 7.1 W/ft2 for 30 degF", "as a supplier quotes it", "", "secondary")
LONG_ENOUGH = 1800.0  # s: readings.md, L3 (a shorter state does not warm a case through)
_DAY = 86400.0  # s
_HOTTEST = 1000.0  # degC, the most that is told: beyond it the copper heats itself up without end
_ROUNDS = 60
_NEAR = 1e-9  # K
_LEAST = 1e-9  # W, A: less is rounding


@record
class Loss:
    """What is lost somewhere in a case [W] at 20 degC, and how it grows with the temperature of the copper [1/K].

    `high` is the most that it can be where a datum is missing (`missing`), else the same.
    """

    name: str
    low: float
    high: float
    alpha: float = 0.0
    missing: Missing | None = None

    def at(self, degrees: float, most: bool = False) -> float:
        """Return the loss [W] with the copper at a temperature [degC]."""
        return (self.high if most else self.low) * (1.0 + self.alpha * (degrees - 20.0))


@record
class Warmth:
    """How warm it is inside a case or zone in one state [degC].

    `low` takes what was not said at its kindest, `high` at its harshest; `missing` is the first such datum. `rise` and `power` are 0 where a range or state
    gives the temperature itself (`told`).
    """

    low: float
    high: float
    ambient: float
    power: float
    told: bool
    losses: tuple[Loss, ...] = ()
    steps: tuple[Step, ...] = ()
    missing: Missing | None = None

    @property
    def rise(self) -> float:
        """How much warmer it is inside than outside by the losses [K]."""
        return 0.0 if self.told else self.low - self.ambient


class Warmths:
    """The temperatures inside every case of a build, worked out state by state when they are asked for."""

    def __init__(self, study: Study) -> None:
        self.study = study
        self.contents = {found.case.name: found for found in contents_of(study)}
        self._case_of = {zone: name for name, found in self.contents.items() for zone in found.zones}
        self._areas = {name: free_area(found.case) for name, found in self.contents.items()}
        self._known: dict[tuple[str, str], Warmth | Missing] = {}
        self._ranged = {name for name, zone in study.networker.zones.items() if zone.temperature is not None}

    def of_zone(self, zone: str, state: SolvedState) -> Warmth | Missing:
        """Return how warm a zone is in a state: told, or by the losses in its case; outside of every case as warm as the air there."""
        inside = state.setup.inside
        if (inside is not None and zone in state.temperatures.by_zone) or zone in self._ranged:
            degrees = state.temperatures.of(zone)
            return Warmth(degrees, degrees, degrees, 0.0, True)
        case = self._case_of.get(zone)
        if case is not None:
            return self.inside(case, state)
        degrees, known = temperature_of_zone(self.study, zone, state)
        return Warmth(degrees, degrees, degrees, 0.0, True) if known else _ambient(self.study)

    def inside(self, case: str, state: SolvedState) -> Warmth | Missing:
        """Return how warm it gets inside a case in a state by its losses, or the datum that is missing to tell."""
        key = (case, state.name)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._work_out(self.contents[case], state)
        return found

    def _work_out(self, contents: Contents, state: SolvedState) -> Warmth | Missing:
        case = contents.case
        if state.setup.inside is not None:
            return Warmth(state.setup.inside, state.setup.inside, state.setup.inside, 0.0, True)
        ambient, known = temperature_of_zone(self.study, "", state)
        if not known:
            return _ambient(self.study)
        area = self._areas[case.name]
        losses = tuple(loss for loss in self._losses(contents, state) if loss.high > _LEAST)
        if not losses:
            return Warmth(ambient, ambient, ambient, 0.0, False)
        if area is None:
            return Missing(f"size of {case.name}", case.span, "size 400 x 300 x 250 mm")
        heat, where = wall_heat(case)
        low = _settled(losses, ambient, heat * area, most=False)
        high = _settled(losses, ambient, heat * area, most=True)
        power = sum(loss.at(low) for loss in losses)
        steps = (
            Step("A", f"walls of {case.name} without the faces that are blocked", area, "m2", "as declared"),
            *_loss_steps(losses, low),
            Step("P", "sum of the losses inside", power, "W", f"state {state.name!r}, solved"),
            Step("h", "heat through the walls", heat, "W/m2K", where),
            Step("T", f"{ambient:.4g} degC + {power:.4g} W / ({heat:.4g} W/m2K x {area:.4g} m2)", low, "degC", "steady heat"),
        )
        missing = next((loss.missing for loss in losses if loss.missing is not None and loss.high > loss.low), None)
        return Warmth(low, high, ambient, power, False, losses, steps, missing)

    # what is lost ----------------------------------------------------------------------------------------------------

    def _losses(self, contents: Contents, state: SolvedState) -> Iterator[Loss]:
        copper: dict[float, float] = {}
        contacts: dict[str, float] = {}
        for branch in contents.branches:
            current = state.current(branch.name)
            if abs(current) <= _LEAST or branch.ohm <= 0.0:
                continue
            watts = current * current * branch.ohm
            own = branch.conductor.own_temperature if branch.conductor is not None else None
            if own is not None:
                contacts["wires"] = contacts.get("wires", 0.0) + watts * (1.0 + branch.alpha * (float(own.high) - 20.0))
            elif branch.conductor is not None:
                copper[branch.alpha] = copper.get(branch.alpha, 0.0) + watts
            elif branch.kind != "diode":
                contacts[branch.part or branch.name] = contacts.get(branch.part or branch.name, 0.0) + watts
        for branch in contents.branches:
            if branch.kind == "diode":
                watts = abs(state.point.operation.powers.get(branch.name, 0.0))
                contacts[branch.part] = contacts.get(branch.part, 0.0) + watts
        for alpha, watts in sorted(copper.items()):
            yield Loss("wires", watts, watts, alpha)
        for name, watts in sorted(contacts.items()):
            yield Loss(name, watts, watts)
        for part in contents.parts:
            yield from self._of_part(part, state)

    def _of_part(self, part: Part, state: SolvedState) -> Iterator[Loss]:
        powers, setup, name = state.point.operation.powers, state.setup, part.name
        current = abs(state.current(name))
        for more in ("drain", "coil"):
            watts = abs(powers.get(f"{name} {more}", 0.0))
            if watts > _LEAST:
                yield Loss(name, watts, watts)
        if isinstance(part, Battery):
            if current > _LEAST:
                yield _battery(part, current)
            return
        if part.heat is not None:
            if _works(part, state):
                yield Loss(name, float(part.heat.high), float(part.heat.high))
            return
        if isinstance(part, Inverter):
            taken = abs(powers.get(name, 0.0))
            running = setup.inverters.get(name)
            if taken > _LEAST and running is not None:
                lost = max(0.0, taken - self.study.networker.inverter_output(part, running, setup))
                yield Loss(name, lost, lost)
        elif isinstance(part, Controller):
            given = abs(powers.get(f"{name}.out", 0.0))
            share = _lost_share(part.efficiency.low) if part.efficiency is not None else 0.0
            most = share if part.efficiency is not None else _lost_share(ASSUMED_EFFICIENCY)
            missing = None if part.efficiency is not None else Missing(f"efficiency of {name}", part.span, "efficiency 97 %")
            yield Loss(name, given * share, given * most, missing=missing)
        elif isinstance(part, Charger):
            if f"{name}.out" in powers:
                lost = abs(powers.get(name, 0.0))
            else:
                efficiency = float(part.efficiency.low) if part.efficiency is not None else ASSUMED_EFFICIENCY
                lost = abs(powers.get(name, 0.0)) * _lost_share(efficiency)
            yield Loss(name, lost, lost)
        elif isinstance(part, Converter):
            lost = abs(powers.get(name, 0.0))
            yield Loss(name, lost, lost)
        elif isinstance(part, AcLoad):
            if name in setup.running and part.power is not None:
                yield Loss(name, float(part.power.high), float(part.power.high))
        elif isinstance(part, Load):
            taken = abs(powers.get(name, 0.0))
            yield Loss(name, taken, taken)


def _lost_share(efficiency: float) -> float:
    """Return what is lost for each watt that is given, at an efficiency of at least 1 %."""
    return 1.0 / max(efficiency, 0.01) - 1.0


def _works(part: Part, state: SolvedState) -> bool:
    """Tell whether a part that says what heat it gives off does so in a state."""
    if isinstance(part, Load):
        return part.name in state.setup.running
    if isinstance(part, Inverter | Charger | Controller | Converter):
        powers = state.point.operation.powers
        return any(abs(powers.get(name, 0.0)) > _LEAST for name in (part.name, f"{part.name}.in", f"{part.name}.out"))
    return True


def _battery(part: Battery, current: float) -> Loss:
    ohm = resistance_high(part)
    if ohm is None:
        missing = Missing(f"internal resistance of {part.name}", part.span, "internal resistance 10 mohm")
        return Loss(part.name, 0.0, float("inf"), missing=missing)
    return Loss(part.name, current * current * ohm, current * current * ohm)


def _settled(losses: tuple[Loss, ...], ambient: float, conductance: float, most: bool) -> float:
    """Return the temperature [degC] at which as much heat leaves as is lost, at most 1000 degC."""
    if conductance <= 0.0:
        return _HOTTEST
    degrees = ambient
    for _ in range(_ROUNDS):
        power = sum(loss.at(degrees, most) for loss in losses)
        warmer = ambient + power / conductance
        if warmer > _HOTTEST:
            return _HOTTEST
        if abs(warmer - degrees) <= _NEAR:
            return warmer
        degrees = warmer
    return degrees


_NAMED_LOSSES = 6  # so many are told one by one, the others as a sum


def _loss_steps(losses: tuple[Loss, ...], degrees: float) -> Iterator[Step]:
    by_name: dict[str, float] = {}
    for loss in losses:
        by_name[loss.name] = by_name.get(loss.name, 0.0) + loss.at(degrees)
    ordered = sorted(by_name.items(), key=lambda item: (-item[1], item[0]))
    for name, watts in ordered[:_NAMED_LOSSES]:
        yield Step(f"P_{name}", f"lost in {name}", watts, "W", "solved circuit")
    rest = ordered[_NAMED_LOSSES:]
    if rest:
        yield Step("P_others", f"lost in {len(rest)} others", sum(watts for _, watts in rest), "W", "solved circuit")


def _ambient(study: Study) -> Missing:
    site = study.networker.site
    return Missing(AMBIENT, site.span if site is not None else study.build.rig.span, said_of_missing(AMBIENT))


# the case ----------------------------------------------------------------------------------------------------------


def wall_heat(case: Enclosure) -> tuple[float, str]:
    """Return the heat through the walls of a case [W/m2K] and where that comes from: with its fan where it has one and says the figure."""
    if case.fan and case.heat_with_fan is not None:
        return float(case.heat_with_fan.low), "as declared, with the fan"
    if case.heat_through_walls is not None:
        return float(case.heat_through_walls.low), "as declared"
    return WALLS, str(WALLS_FROM)


def free_area(case: Enclosure) -> float | None:
    """Return the area of the walls through which heat can leave [m2]: the outer size, else the inner, without the blocked faces.

    Where no face is said to be blocked it is the base; a face of another name counts as the largest. None without a size.

    Catalogue, L5: 0.40 x 0.30 x 0.25 m, base blocked: 0.47 m2.
    """
    size = case.size or case.inside_size
    if size is None:
        return None
    width, depth, height = (float(side.low) for side in (size.width, size.depth, size.height))
    front, side, base = width * height, depth * height, width * depth
    areas = {
        "base": base,
        "bottom": base,
        "floor": base,
        "top": base,
        "lid": base,
        "front": front,
        "back": front,
        "rear": front,
        "left": side,
        "right": side,
    }
    areas |= {"side": side, "end": side, "face": max(front, side, base)}
    none = case.says_none(Enclosure.faces_blocked)
    blocked = () if none else case.faces_blocked or ("base",)
    faces = sum(areas.get(name.lower(), max(front, side, base)) for name in dict.fromkeys(blocked))
    return max(0.0, 2.0 * (front + side + base) - faces)


def is_long(state: SolvedState) -> bool:
    """Tell whether a state lasts long enough to warm a case through: 30 min, or as long as nobody says."""
    setup = state.setup
    if setup.lasts is not None:
        return setup.lasts >= LONG_ENOUGH
    return setup.duty is None or setup.duty * _DAY >= LONG_ENOUGH


def warmths_of(study: Study) -> Warmths:
    """Return the temperatures inside the cases of a build, kept with the study."""
    return kept(study, Warmths)
