"""The case: a node of the circuit, and a box with walls, covers, vents, holes and panels."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.part import Part
from ohmwright_grammar.kinds.values import extent, named, sizes, wording
from ohmwright_grammar.quantities import Metre, Quantity
from ohmwright_grammar.records import record
from ohmwright_grammar.things import Thing

__all__ = ["Centre", "Cover", "Enclosure", "Hole", "Panel", "Vent"]

_MATERIALS = {
    "steel": "steel", "stainless steel": "stainless steel", "aluminium": "aluminium", "aluminum": "aluminium",
    "plastic": "plastic",
    "polycarbonate": "polycarbonate", "ABS": "ABS", "polypropylene": "polypropylene", "plywood": "plywood", "wood": "wood",
    "fibreglass": "fibreglass", "fiberglass": "fibreglass",
}  # fmt: skip
_METALS = frozenset({"steel", "stainless steel", "aluminium", "brass", "copper", "metal"})


@record
class Centre:
    """Where a hole lies on its panel, from the lower left corner."""

    across: Quantity[Metre]
    up: Quantity[Metre]


class Vent(Thing):
    """An opening for air, low or high as its name says."""

    __slots__ = ()
    KIND = "vent"
    PLURAL = "vents"

    free_area = say.area("<area>", "free area <area>", "<area> free", "area <area>", doc="free area")
    leads_outside = say.flag("leads outside", "to the outside", "outside", doc="it leads outside")
    membrane = say.flag("membrane", "a membrane", "with membrane", "behind a membrane", doc="a membrane keeps water out")
    duct = say.flag("duct", "ducted", "a duct", doc="a duct leads from it")


class Hole(Thing):
    """A hole in a wall or panel: for a part, a wire or a cord."""

    __slots__ = ()
    KIND = "hole"
    PLURAL = "holes"

    panel = say.word("in [the] <term>", "panel <term>", "in panel <term>", doc="the panel or case that it is in")
    centre = say.record(
        lambda across, up: Centre(extent(across, up).width, up),
        "centre <across:length> x|by|× <up:length>", "centre <across:number> x|by|× <up:length>",
        "center <across:length|number> x|by|× <up:length>", "at <across:length> x|by|× <up:length>",
        "at <across:number> x|by|× <up:length>", "centre <across:length> across [and] <up:length> up",
        doc="where its centre is, across and up from the lower left corner",
    )  # fmt: skip
    shape = say.choice(
        "<choice>",
        "shape <choice>",
        doc="shape",
        of={"round": "round", "rectangular": "rectangular", "square": "rectangular", "slot": "slot"},
    )
    diameter = say.length("<length>", "diameter <length>", "<length> diameter", "<length> across", doc="diameter", above=0)
    extent = say.record(
        extent, "size <width:length> x|by|× <height:length>", "size <width:number> x|by|× <height:length>",
        "<width:number> x|by|× <height:length>", "<width:length> x|by|× <height:length>",
        doc="width and height, where it is not round",
    )  # fmt: skip
    part = say.name("for <name>", "takes <name>", "part <name>", doc="the part, wire or cord that it is for")
    edge_distance = say.length(
        "edge distance <length>",
        "<length> from the edge",
        "from the edge <length>",
        doc="distance to the nearest edge",
        above=0,
    )
    grommet = say.flag("grommet", "a grommet", "bushing", "with grommet", "grommeted", doc="a grommet or bushing lines it")
    deburred = say.flag("deburred", "edges deburred", doc="its edge is deburred")
    gland = say.length(
        "gland <length>", "gland for <length>", "clamp <length>", "clamp for <length>", "cord clamp <length>",
        "gland takes <length>",
        doc="outer diameters that its gland or clamp holds", above=0,
    )  # fmt: skip


class Panel(Thing):
    """A flat panel with holes."""

    __slots__ = ()
    KIND = "panel"
    PLURAL = "panels"

    material = wording("<choice>", "of <word>", "made of <word>", "material <word>", doc="material", of=_MATERIALS)
    thickness = say.length("<length> thick", "thickness <length>", "<length>", doc="thickness", above=0)
    extent = say.record(
        extent, "size <width:length> x|by|× <height:length>", "size <width:number> x|by|× <height:length>",
        "<width:number> x|by|× <height:length>", "<width:length> x|by|× <height:length>",
        doc="width and height",
    )  # fmt: skip
    holes = say.blocks(lambda: Hole, "hole", "holes", doc="its holes")


class Enclosure(Part):
    """A case: one node of the circuit, named without a terminal."""

    __slots__ = ()
    KIND = "case"
    PLURAL = "cases"

    material = wording("<choice>", "of <word>", "made of <word>", "material <word>", doc="material", of=_MATERIALS)
    metal = say.flag("metal", "of metal", "is metal", "metallic", doc="it is of metal")
    size = say.record(
        sizes,
        "size <width:length> x|by|× <depth:length> x|by|× <height:length>",
        "size <width:number> x|by|× <depth:number> x|by|× <height:length>",
        "<width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        "outer size <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        "outside <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        "measures <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        doc="outer width, depth and height",
    )
    inside_size = say.record(
        sizes,
        "inside <width:length> x|by|× <depth:length> x|by|× <height:length>",
        "inside <width:number> x|by|× <depth:number> x|by|× <height:length>",
        "inside size <width:length|number> x|by|× <depth:length|number> x|by|× <height:length>",
        doc="inside width, depth and height",
    )  # fmt: skip
    faces_blocked = say.names(
        "faces blocked <names>",
        "blocked faces <names>",
        "blocked face <names>",
        "stands on <names>",
        "<names> blocked",
        doc="faces that cannot give off heat",
    )
    heat_through_walls = say.heat_transfer(
        "walls pass <heat_transfer>",
        "<heat_transfer>",
        "walls <heat_transfer>",
        "heat through walls <heat_transfer>",
        doc="heat through its walls",
    )
    fan = say.flag("fan", "a fan", "fan inside", doc="it has a fan")
    heat_with_fan = say.heat_transfer(
        "with the fan <heat_transfer>",
        "with fan <heat_transfer>",
        "fan running <heat_transfer>",
        doc="heat through its walls with the fan running",
    )
    heat_fan_stopped = say.heat_transfer(
        "fan stopped <heat_transfer>", "with the fan stopped <heat_transfer>", doc="heat through its walls with the fan stopped"
    )
    closed = say.flag("closed", "is closed", "closed case", doc="it is closed")
    gasketed = say.flag("gasketed", "gasket", "a gasket", "with gasket", doc="its lid has a gasket")
    bonded_at = say.names(
        "bonded at <names>", "bonded to <names>", "bond at <names>", "bonded <names>", doc="where a pole is bonded to it"
    )
    bond_accessible = say.flag(
        "bond reachable and clean", "bond clean and reachable", "bond accessible", doc="the bond can be reached and is clean"
    )
    floats = say.flag("floats", "floating", "is floating", doc="no pole is bonded to it")
    vents = say.blocks(lambda: Vent, "vent", "vents", doc="its vents, named low and high")
    handle_force = say.force(
        "handles bear <force>",
        "handles|handle rated <force>",
        "handles|handle <force>",
        "handle bears <force>",
        doc="rated force of its handles",
    )
    hands = say.count(
        "carried with <count> hands|hand", "<count> hands|hand", "hands used <count>", doc="hands used to carry it", at_least=1
    )
    hinge_force = say.force(
        "hinges bear <force>", "hinges|hinge <force>", "hinges|hinge rated <force>", doc="rated force of its hinges"
    )
    lid_force = say.force("lid takes <force>", "lid <force>", "lid force <force>", doc="force that its lid takes")
    holes = say.blocks(lambda: Hole, "hole", "holes", doc="its holes")
    panels = say.blocks(lambda: Panel, "panel", "panels", doc="its panels")

    @property
    def of_metal(self) -> bool | None:
        """Tell whether it is of metal: as it says, else by its material; None where neither is said."""
        if self.metal is not None:
            return self.metal
        return self.material in _METALS if self.material is not None else None


class Cover(Part):
    """A cover over terminals."""

    __slots__ = ()
    KIND = "cover"
    PLURAL = "covers"

    covers = named("covers <names>", "over <names>", "cover for <names>", doc="terminals and parts that it covers")
    opens_by = say.choice(
        "<choice>", "opens <choice>", "opened <choice>",
        doc="whether it opens by hand or with a tool",
        of={
            "by hand": "hand", "with a tool": "tool", "by tool": "tool", "with tool": "tool", "by a tool": "tool",
            "needs a tool": "tool",
            "tool only": "tool", "screwed on": "tool",
        },
    )  # fmt: skip
    insulating = say.flag("insulating", "of insulating material", doc="it insulates")
