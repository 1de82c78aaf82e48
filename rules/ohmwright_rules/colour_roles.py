"""Which pole a conductor lies on, what colour it shows, and what that colour promises: by the build's own scheme, else by custom."""

from __future__ import annotations

from ohmwright.circuit.graph import Branch
from ohmwright.study import Study
from ohmwright_grammar.kinds.conductor import Conductor
from ohmwright_grammar.kinds.site import Site

from ohmwright_rules.kept import kept

__all__ = ["GREEN", "exceptions_of", "pole_of", "pole_of_role", "promised", "shown_colour", "sleeved_at_both_ends"]

GREEN = frozenset({"green", "green and yellow"})
_CUSTOM = {"red": "plus", "black": "minus"}  # NEC 215.12(C)(2), ABYC E-11
_PLUS = ("plus", "positive", "+")
_MINUS = ("minus", "negative", "return", "-")


def _poles(study: Study) -> dict[str, str]:
    """Return "plus" or "minus" for every node of a net that holds poles of one sign only, everything that can be closed counted as closed.

    The links within a series string hold both, and are "between".
    """
    circuit = study.circuit
    pluses = {source.plus for source in circuit.sources} | {consumer.plus for consumer in circuit.consumers}
    minuses = {source.minus for source in circuit.sources} | {consumer.minus for consumer in circuit.consumers}
    found: dict[str, str] = {}
    for start in sorted(pluses | minuses):
        if start in found:
            continue
        net = circuit.reach(start)
        pole = "minus" if pluses.isdisjoint(net) else "plus" if minuses.isdisjoint(net) else "between"
        found.update(dict.fromkeys(net, pole))
    return found


def pole_of(study: Study, wire: Branch) -> str:
    """Return "plus", "minus" or "between" for a conductor of the DC circuit, "" for one that no source and no consumer is joined to."""
    return kept(study, _poles).get(wire.start, "")


def sleeved_at_both_ends(conductor: Conductor) -> str:
    """Return the colour of the sleeves that a conductor has at both of its ends, "" where it does not."""
    sleeves = conductor.sleeves or ()
    for sleeve in sleeves:
        if not sleeve.at:
            return sleeve.colour
    colours = {sleeve.colour for sleeve in sleeves}
    return sleeves[0].colour if len(colours) == 1 and len({sleeve.at for sleeve in sleeves}) >= 2 else ""


def shown_colour(conductor: Conductor) -> str:
    """Return the colour that a conductor shows at both ends, "" where none is declared."""
    return sleeved_at_both_ends(conductor) or conductor.colour or ""


def pole_of_role(role: str) -> str:
    """Return the pole that a role of a colour scheme names, "" for any other role.

    >>> pole_of_role("positive, unfused"), pole_of_role("return"), pole_of_role("interlock")
    ('plus', 'minus', '')
    """
    words = role.lower().replace(",", " ").split()
    if any(word in _PLUS for word in words):
        return "plus"
    return "minus" if any(word in _MINUS for word in words) else ""


def _scheme(study: Study) -> dict[str, str]:
    """Return the role of each colour in the scheme of a build, the last one that is said."""
    site = study.one(Site)
    return {item.colour: item.role for item in (site.colour_roles or () if site is not None else ())}


def promised(study: Study, colour: str) -> tuple[str, bool]:
    """Return the pole that a colour promises, "" for none, and whether the build's own scheme says so."""
    role = kept(study, _scheme).get(colour)
    return (pole_of_role(role), True) if role is not None else (_CUSTOM.get(colour, ""), False)


def exceptions_of(study: Study) -> frozenset[str]:
    """Return the conductors and cables that are said not to follow the scheme."""
    site = study.one(Site)
    return frozenset(site.scheme_exceptions or ()) if site is not None else frozenset()
