"""Promises of what a build weighs, costs and measures, where it comes from, how it is built, and what can be touched."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.study import Study
from ohmwright.tables import load
from ohmwright.values import Amount, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.enclosure import Enclosure
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.requirement import Requirement

from ohmwright_rules.basis import TABLES
from ohmwright_rules.casing import case_of
from ohmwright_rules.net_voltages import net_voltages
from ohmwright_rules.promises import Answer
from ohmwright_rules.terminals import stud_at
from ohmwright_rules.voltage_lines import Gap, Line
from ohmwright_rules.wording import counted_beyond, listed

__all__ = ["carried_mass", "costing", "fitting", "from_suppliers", "lifting_limit", "touching", "weighing", "with_tools"]

_LIFTING = load(TABLES, "lifting")
_HEAVY = (Battery, Inverter, Charger, Controller, Enclosure)
_MASS = "sum of masses <= limit x factors of the task"


# mass --------------------------------------------------------------------------------------------------------------


def weighing(study: Study, requirement: Requirement) -> Answer:
    """Hold what is carried as one against a promised mass, or against what one person lifts (R6)."""
    parts = list(_carried(study))
    case = next((part for part in parts if isinstance(part, Enclosure)), None)
    subject = (case.name if case is not None else parts[0].name,) if parts else ("rig",)
    factor = float(requirement.lift_factor.low) if requirement.lift_factor is not None else 1.0
    reference = None
    if requirement.highest_mass is not None:
        base, unit, words = float(requirement.highest_mass.low), requirement.highest_mass.unit, "as promised"
    else:
        row = "one-handed" if case is not None and case.hands == 1 else "two-handed, NIOSH load constant"
        base, reference, words = lifting_limit(row)
        unit = "kg"
    limit = Amount(base * factor, "mass", unit)
    known, missing = _masses(study, parts)
    value = Amount(sum(mass for _, mass in known), "mass", unit)
    largest = max(known, key=lambda item: item[1], default=None)
    steps = [Step(f"m_{part.name}", part.name, mass, "kg", "as declared") for part, mass in known]
    steps.append(Step("m_limit", f"{base:.4g} kg x {factor:.3g}", limit.value, "kg", words))
    remedy = (
        f"Take {largest[0].name} ({shown(Amount(largest[1], 'mass', unit))}) out as a piece of its own"
        if largest is not None
        else "Carry it in two pieces"
    )
    return Answer(
        "over-limit",
        _MASS,
        subject,
        value if known else None,
        limit if known else None,
        steps=tuple(steps),
        words="what is carried as one weighs {value}; {limit} "
        + ("are promised" if requirement.highest_mass is not None else "is what one person lifts"),
        remedy=f"{remedy}, or use lighter parts.",
        missing=missing,
        related=tuple((part.name, part.span) for part, _ in sorted(known, key=lambda item: -item[1])[:3]),
        reference=reference or common_practice("as promised"),
    )


def _masses(study: Study, parts: list[Part]) -> tuple[list[tuple[Part, float]], Missing | None]:
    """Return the masses that are said [kg], and what is missing for their sum."""
    known = [(part, float(part.mass.high)) for part in parts if part.mass is not None]
    silent = [part for part in parts if part.mass is None and isinstance(part, _HEAVY)]
    if silent:
        others = f" and {len(silent) - 1} more" if len(silent) > 1 else ""
        return known, Missing(f"mass of {silent[0].name}{others}", silent[0].span, "weighs 2 kg")
    return known, None if known else Missing("masses of its parts", study.build.rig.span, "weighs 2 kg")


def carried_mass(study: Study) -> tuple[Enclosure | None, float, Missing | None, tuple[Step, ...]]:
    """Return the case that is carried as one, the sum of what is said of its masses [kg], what is missing for that, and the working."""
    parts = list(_carried(study))
    case = next((part for part in parts if isinstance(part, Enclosure)), None)
    known, missing = _masses(study, parts)
    steps = tuple(Step(f"m_{part.name}", part.name, mass, "kg", "as declared") for part, mass in known)
    return case, sum(mass for _, mass in known), missing, steps


def lifting_limit(row: str) -> tuple[float, Reference, str]:
    """Return what one person lifts by a row of the table [kg], what that rests on, and its words."""
    cell = _LIFTING.cell(row, "mass_kg")
    assert cell is not None
    return cell.value, cell.reference, f"one person, {row.partition(',')[0]}"


def _carried(study: Study) -> Iterator[Part]:
    """Yield the parts that are carried as one, in name order: the case that most lies in, and what lies in it; without a case all but arrays, loads and packs."""
    parts = study.build.parts
    packs = {name for row in study.build.rows for name in row.instances}
    inside = {name: case.name for name in parts if (case := case_of(study, name)) is not None}
    cases = [name for name, part in parts.items() if isinstance(part, Enclosure)]
    counts = {name: sum(1 for case in inside.values() if case == name) for name in cases}
    chief = max(sorted(cases), key=lambda name: counts[name], default="") if cases else ""
    for name in sorted(parts):
        if any(name.startswith(f"{pack}.") for pack in packs):
            continue
        if chief and counts[chief] > 0:
            if name == chief or inside.get(name) == chief:
                yield parts[name]
        elif not isinstance(parts[name], Array | Load):
            yield parts[name]


# cost --------------------------------------------------------------------------------------------------------------


def costing(study: Study, requirement: Requirement) -> Answer:
    """Hold the sum of all prices, with the reserve, against the highest cost (R15)."""
    highest = requirement.highest_cost
    assert highest is not None
    formula = "sum of prices x (1 + reserve) <= highest cost"
    reserve = float(requirement.cost_reserve.high) if requirement.cost_reserve is not None else 0.0
    for other in study.of(Requirement):
        if other.cost_reserve is not None:
            reserve = max(reserve, float(other.cost_reserve.high))
    parts = [study.build.parts[name] for name in sorted(study.build.parts)]
    known = [(part.name, float(part.price.high), part.price.unit) for part in parts if part.price is not None]
    conductors = [run.conductor for run in study.build.runs if not run.cable]
    known += [(item.name, float(item.price.high), item.price.unit) for item in conductors if item.price is not None]
    other_money = next((name for name, _, unit in known if unit != highest.unit), None)
    limit = Amount(float(highest.low), "money", highest.unit)
    if other_money is not None:
        missing = Missing(f"price of {other_money} in {highest.unit}", study.span(other_money), f"costs 10 {highest.unit}")
        return Answer("over-limit", formula, (other_money,), missing=missing)
    total = sum(price for _, price, _ in known)
    value = Amount(total * (1.0 + reserve), "money", highest.unit)
    silent = [part for part in parts if part.price is None]
    missing_price = None
    if silent:
        others = f" and {len(silent) - 1} more parts" if len(silent) > 1 else ""
        missing_price = Missing(f"price of {silent[0].name}{others}", silent[0].span, f"costs 10 {highest.unit}")
    dearest = sorted(known, key=lambda item: -item[1])[:3]
    steps = tuple(Step(f"c_{name}", name, price, unit, "as declared") for name, price, unit in known)
    return Answer(
        "over-limit",
        formula,
        (dearest[0][0] if dearest else "rig",),
        value,
        limit,
        steps=(*steps, Step("c", f"{total:.5g} x (1 + {reserve:.3g})", value.value, highest.unit, "with the reserve")),
        words="its parts cost {value}, the reserve counted; {limit} are promised",
        remedy=f"The dearest are {listed(name for name, _, _ in dearest)}." if dearest else "",
        missing=missing_price,
        related=tuple((name, study.span(name)) for name, _, _ in dearest),
        reference=common_practice("as promised"),
    )


# size --------------------------------------------------------------------------------------------------------------


def fitting(study: Study, requirement: Requirement) -> Answer:
    """Hold the outer size of the case against the room it must fit into, turned as it fits best (R16)."""
    room = requirement.fits
    assert room is not None
    formula = "each side of the case, the longest against the longest <= the room's"
    cases = sorted(study.of(Enclosure), key=lambda case: case.name)
    packs = {name for row in study.build.rows for name in row.instances}
    cases = [case for case in cases if not any(case.name.startswith(f"{pack}.") for pack in packs)] or cases
    silent = next((case for case in cases if case.size is None), None)
    if not cases or silent is not None:
        span = silent.span if silent is not None else study.build.rig.span
        what = f"outer size of {silent.name}" if silent is not None else "a case"
        declare = "size 400 x 300 x 250 mm" if silent is not None else "case box { size 400 x 300 x 250 mm }"
        return Answer(
            "cannot-do", formula, (silent.name,) if silent is not None else ("rig",), missing=Missing(what, span, declare)
        )
    sides = sorted((float(side.low) for side in (room.width, room.depth, room.height)), reverse=True)
    worst: tuple[float, float, float, Enclosure] | None = None
    for case in cases:
        assert case.size is not None
        own = sorted((float(side.high) for side in (case.size.width, case.size.depth, case.size.height)), reverse=True)
        for mine, theirs in zip(own, sides, strict=True):
            if worst is None or mine / theirs > worst[0]:
                worst = mine / theirs, mine, theirs, case
    assert worst is not None
    _, mine, theirs, case = worst
    return Answer(
        "cannot-do",
        formula,
        (case.name,),
        Amount(mine, "length", "mm"),
        Amount(theirs, "length", "mm"),
        steps=(Step("side", f"{case.name}, the side that fits worst", mine * 1000.0, "mm", "as declared"),),
        words=f"{case.name} has a side of {{value}} where the room has {{limit}}",
        remedy="Use a smaller case, or a larger room.",
        related=((case.name, case.place_of(Enclosure.size)),),
        reference=common_practice("as promised"),
    )


# tools and suppliers -----------------------------------------------------------------------------------------------


def with_tools(study: Study, requirement: Requirement) -> Answer:
    """Look whether every joint that names a tool is made with one of the tools that are allowed (R18)."""
    allowed = {tool.casefold() for tool in requirement.tools or ()}
    formula = "tools that joints need and that are not allowed = 0"
    needed: dict[str, list[str]] = {}
    silent: list[str] = []
    wired = {node for run in study.build.runs for node in (run.start, run.end)}
    for node in sorted(wired):
        terminal = stud_at(study, node)
        if terminal is not None and terminal.tool:
            needed.setdefault(terminal.tool, []).append(node)
        else:
            silent.append(node)
    wrong = sorted(
        tool for tool in needed if tool.casefold() not in allowed and tool.replace(" ", "_").casefold() not in allowed
    )
    missing = None
    if silent:
        others = f" and {len(silent) - 1} more terminals" if len(silent) > 1 else ""
        missing = Missing(
            f"tool that {silent[0]} needs{others}", study.span(study.build.nodes.get(silent[0], "")), "needs tool screwdriver"
        )
    chief = study.build.nodes.get(needed[wrong[0]][0], "rig") if wrong else "rig"
    words = "; ".join(f"{tool} at {counted_beyond(needed[tool], 'terminals')}" for tool in wrong)
    return Answer(
        "over-limit",
        formula,
        (chief,),
        Amount(float(len(wrong)), "count"),
        Amount(0.0, "count"),
        steps=tuple(
            Step(f"tool {tool}", listed(nodes), float(len(nodes)), "1", "terminals, as declared")
            for tool, nodes in sorted(needed.items())
        ),
        words=f"joints need tools that are not allowed: {words}",
        remedy="Use terminals for the tools at hand, or allow these.",
        missing=missing,
        reference=common_practice("as promised"),
    )


def from_suppliers(study: Study, requirement: Requirement) -> Answer:
    """Hold the number of suppliers that all parts can be bought from against what is promised (R18)."""
    formula = "suppliers that together sell every part <= promised"
    left = {name: set(part.suppliers) for name, part in study.build.parts.items() if part.suppliers}
    silent = sorted(name for name, part in study.build.parts.items() if not part.suppliers)
    chosen: list[str] = []
    while left:
        counts: dict[str, int] = {}
        for sold in left.values():
            for supplier in sold:
                counts[supplier] = counts.get(supplier, 0) + 1
        best = max(sorted(counts), key=lambda supplier: counts[supplier])
        chosen.append(best)
        left = {name: sold for name, sold in left.items() if best not in sold}
    missing = None
    if silent:
        others = f" and {len(silent) - 1} more parts" if len(silent) > 1 else ""
        missing = Missing(f"supplier of {silent[0]}{others}", study.span(silent[0]), 'bought from "the hardware store"')
    return Answer(
        "over-limit",
        formula,
        ("rig",),
        Amount(float(len(chosen)), "count"),
        Amount(float(requirement.most_sources or 0), "count"),
        steps=tuple(Step(f"supplier {number}", name, None, "", "as declared") for number, name in enumerate(chosen, start=1)),
        words=f"its parts come from {{value}} suppliers ({listed(chosen)}), {{limit}} are promised",
        remedy="Use parts that fewer suppliers sell together.",
        missing=missing,
        reference=common_practice("as promised"),
    )


# voltage -----------------------------------------------------------------------------------------------------------


def touching(study: Study, requirement: Requirement) -> Answer:
    """Hold the highest voltage of any net of the DC side, cold panels among them, against the highest that may be touched (R13)."""
    promised = requirement.touch_voltage
    assert promised is not None
    formula = "highest voltage of any net, arrays at the record low <= promised"
    limit = Amount(float(promised.low), "voltage", promised.unit)
    nets = net_voltages(study)
    best: tuple[Line, str] | None = None
    gaps: list[Gap] = []
    for node in sorted({pole for source in study.circuit.sources for pole in (source.plus, source.minus)}):
        found = nets.of(node)
        gaps.extend(found.gaps)
        if found.line is not None and (best is None or found.line.value > best[0].value):
            best = found.line, node
    missing = Missing(gaps[0].missing, gaps[0].span, gaps[0].declare) if gaps else None
    if best is None:
        return Answer("cannot-do", formula, ("rig",), missing=missing or Missing("a source", study.build.rig.span))
    line, node = best
    return Answer(
        "cannot-do",
        formula,
        (line.holder if line.holder in study.build.parts else study.build.nodes.get(node, "rig"),),
        Amount(line.value, "voltage", promised.unit),
        limit,
        steps=line.steps,
        words=f"{{value}} can stand at {node} ({line.words}); {{limit}} is the most that may be touched",
        remedy="Put fewer panels or batteries in series, or cover everything on that net.",
        missing=missing,
        related=((line.holder, study.span(line.holder)),),
        reference=common_practice("as promised"),
    )
