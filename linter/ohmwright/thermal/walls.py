"""Through what the heat of a case leaves: the free area of its walls, what passes them, and whether air passes beside them."""

from __future__ import annotations

from ohmwright_grammar.kinds.enclosure import Enclosure

from ohmwright.missing import Missing
from ohmwright.references import Reference

__all__ = ["WALLS", "WALLS_FROM", "free_area", "is_closed", "unsure_of", "wall_heat"]

WALLS = 4.6  # W/m2K of a painted or plastic wall
WALLS_FROM = Reference("heat of sealed enclosures, 7.1 W/ft2 for 30 degF", "as a supplier quotes it", "", "secondary")
_SPLASH_PROOF = "456789"  # second digit of an ingress code from which a case counts as closed


def wall_heat(case: Enclosure) -> tuple[float, str]:
    """Return the heat through the walls of a case [W/m2K] and where that comes from: with its fan where it has one and says the figure."""
    if case.fan and case.heat_with_fan is not None:
        return float(case.heat_with_fan.low), "as declared, with the fan"
    if case.heat_through_walls is not None:
        return float(case.heat_through_walls.low), "as declared"
    return WALLS, str(WALLS_FROM)


def is_closed(case: Enclosure) -> bool | None:
    """Tell whether a case is closed: as said, by its gasket, or by an ingress code from X4 up; None where nothing is said."""
    if case.closed is not None:
        return case.closed
    if case.gasketed:
        return True
    code = case.ingress or ""
    return True if len(code) > 3 and code[3] in _SPLASH_PROOF else None


def unsure_of(case: Enclosure) -> Missing | None:
    """Return what would have to be said before the heat of a case counts: whether it is closed, and its walls' figure where air or a fan passes."""
    vented = any(vent.free_area is None or float(vent.free_area.high) > 0.0 for vent in case.vents or ())
    if vented and case.heat_through_walls is None:
        return Missing("heat through its walls, vents counted", case.span, "walls pass 8 W/m2K")
    if case.fan and case.heat_with_fan is None and case.heat_through_walls is None:
        return Missing("heat through its walls with the fan running", case.span, "with the fan 9 W/m2K")
    return Missing("whether it is closed", case.span, "closed") if is_closed(case) is None and not case.vents else None


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
