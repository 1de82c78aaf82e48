"""Switches, relays, selectors and disconnects."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Joining, Part
from ohmwright_grammar.kinds.values import BreakingRating, ShareAt, named
from ohmwright_grammar.records import record

__all__ = ["Disconnect", "Joins", "Relay", "Selector", "Switch", "Switching"]


@record
class Joins:
    """The terminals that one position of a selector joins; none in a position "off"."""

    position: str
    terminals: tuple[str, ...] = ()


class Switching(Part, Joining):
    """What may be said of everything that opens and closes a circuit on purpose."""

    __slots__ = ()

    rated_current = say.current(
        "<current>",
        "carries <current>",
        "carries [at] [most] <current>",
        "rated <current>",
        "continuous <current>",
        "<current> continuous",
        "rated current <current>",
        doc="current that it carries for long",
        above=0,
    )
    breaks = say.records(
        BreakingRating,
        "breaks <current:current> at <at:voltage> [dc]", "opens under <current:current> at <at:voltage> [dc]",
        "<current:current> at <at:voltage> [dc]", "rated <current:current> at <at:voltage> [dc]",
        tail="<current:current> at <at:voltage> [dc]",
        doc="DC current that it breaks at a voltage",
    )  # fmt: skip
    ac_only = say.flag("AC only", "rated for AC only", "AC figure only", "only an AC rating", doc="only an AC figure is known")
    makes = say.current(
        "makes <current>",
        "makes [at] [most] <current>",
        "inrush <current>",
        "closes onto <current>",
        doc="inrush that it makes",
        above=0,
    )
    current_by_temperature = say.records(
        ShareAt, "carries <share:share> at <temperature:temperature>", "derates to <share:share> at <temperature:temperature>",
        tail="<share:share> at <temperature:temperature>",
        doc="share of its current that it carries at a temperature",
    )  # fmt: skip
    poles = say.count("<count> poles|pole|-pole", "poles <count>", doc="number of poles", at_least=1)
    barred_with = named(
        "never closed with <names>", "barred with <names>", "mechanically barred with <names>",
        "barred from closing with <names>",
        doc="what a mechanical bar keeps from being closed at the same time",
    )  # fmt: skip
    is_main = say.flag("main switch", "is the main switch", "the main switch", "main", "the main", doc="it is the main switch")
    within_reach = say.flag(
        "within reach", "within reach with the lid shut", "reachable with the lid shut", "reachable",
        "within reach with lid shut",
        doc="within reach with the lid shut, without tools, with nothing moved",
    )  # fmt: skip
    electronic = say.flag("electronic", "is electronic", "solid-state", "solid state", doc="it is electronic")
    one_direction = say.flag(
        "one direction only", "one way only", "one-way", "unidirectional", doc="it passes current in one direction only"
    )
    contact_resistance = say.resistance(
        "contact resistance <resistance>",
        "<resistance>",
        "resistance <resistance>",
        "contacts <resistance>",
        doc="resistance of its contacts",
    )
    ganged_with = named(
        "moves with <names>", "ganged with <names>", "turns with <names>", doc="switches that move together with it"
    )


class Switch(Switching):
    """A switch worked by hand; a second and third pole have the terminals line2, load2, line3 and load3."""

    __slots__ = ()
    KIND = "switch"
    PLURAL = "switches"
    TERMINALS = ("line", "load", "line2", "load2", "line3", "load3")
    ALIASES = {"in": "line", "out": "load", "line1": "line", "load1": "load"}


class Relay(Switching):
    """A relay or contactor."""

    __slots__ = ()
    KIND = "relay"
    PLURAL = "relays"
    TERMINALS = ("line", "load", "coil_plus", "coil_minus", "line2", "load2", "line3", "load3")
    ALIASES = {
        "in": "line", "out": "load", "coil+": "coil_plus", "coil-": "coil_minus", "A1": "coil_plus", "A2": "coil_minus",
        "line1": "line", "load1": "load",
    }  # fmt: skip

    coil_voltage = say.voltage("coil <voltage>", "<voltage> coil", "coil voltage <voltage>", doc="coil voltage", above=0)
    coil_power = say.power(
        "coil <power>", "<power> coil", "coil power <power>", "coil takes <power>", doc="coil power", above=0
    )
    coil_current = say.current("coil <current>", "coil current <current>", "coil takes <current>", doc="coil current", above=0)
    coil_resistance = say.resistance("coil <resistance>", "coil resistance <resistance>", doc="coil resistance", above=0)
    latching = say.flag("latching", "latches", doc="it latches: the coil takes no power to hold")
    rest_position = say.choice(
        "rest <choice>",
        "rests <choice>",
        "normally <choice>",
        "at rest <choice>",
        "<choice>",
        doc="position of its contact without coil current",
        of={"open": "open", "closed": "closed", "normally open": "open", "normally closed": "closed"},
    )
    coil_suppression = say.choice(
        "coil suppression <choice>", "coil suppressed by <choice>", "coil suppressed by a <choice>", "suppression <choice>",
        "coil with <choice>", "coil with a <choice>",
        "<choice> across the coil", "<choice> across coil", "suppressed by [a] <choice>",
        doc="what takes the coil's switching spike",
        of={"diode": "diode", "other": "other", "clamp": "other", "varistor": "other", "resistor": "other"},
    )  # fmt: skip


class Selector(Switching):
    """A switch with a common terminal and several positions; its terminals beside common are those that its positions name."""

    __slots__ = ()
    KIND = "selector"
    PLURAL = "selectors"
    TERMINALS = ("common",)
    ALIASES = {"line": "common", "load": "common"}

    positions = say.records(
        Joins,
        "position <position:name|word> joins <terminals:names>", "position <position:name|word> joins nothing",
        "in position <position:name|word> joins <terminals:names>", "position <position:name|word>",
        doc="its positions, and the terminals of its own that each joins to common",
    )  # fmt: skip
    makes_first = say.flag(
        "makes before it breaks",
        "make before break",
        "make-before-break",
        doc="it makes the next position before it breaks the last",
    )

    def terminals_named(self) -> tuple[str, ...]:
        """Return the terminals that its positions name, without common, in the order in which they were said."""
        named_ones = [terminal for position in self.positions or () for terminal in position.terminals]
        return tuple(dict.fromkeys(terminal for terminal in named_ones if terminal != "common"))


class Disconnect(Switching):
    """A low-voltage disconnect."""

    __slots__ = ()
    KIND = "disconnect"
    PLURAL = "disconnects"
    TERMINALS = ("line", "load", "minus")
    ALIASES = {"in": "line", "out": "load", "-": "minus", "negative": "minus", "neg": "minus"}

    opens_at = say.voltage(
        "opens at <voltage>",
        "opens below <voltage>",
        "cuts off at|below <voltage>",
        "cut-off [below|at] <voltage>",
        "disconnects at|below <voltage>",
        doc="voltage below which it opens",
        above=0,
    )
    closes_at = say.voltage(
        "closes at <voltage>",
        "closes above <voltage>",
        "reconnects at|above <voltage>",
        "reconnect [above|at] <voltage>",
        doc="voltage above which it closes again",
        above=0,
    )
