"""AC outlets, whether of an inverter or on a panel."""

from __future__ import annotations

from ohmwright_grammar import lexicon as say
from ohmwright_grammar.kinds.values import wording
from ohmwright_grammar.things import Thing

__all__ = ["OUTLET_PATTERNS", "Outlet", "OutletData"]

OUTLET_PATTERNS: dict[str, str] = {
    "household socket": "mains socket", "mains socket": "mains socket", "household outlet": "mains socket",
    "household duplex": "mains socket", "lighter socket": "lighter socket", "accessory socket": "lighter socket",
}  # fmt: skip


class OutletData(Thing):
    """What may be said of every AC outlet, whether of an inverter or on a panel."""

    __slots__ = ()

    damp_or_outdoor = say.flag(
        "damp or outdoor", "outdoor", "damp", "outdoors", "damp place", doc="the outlet is in a damp place or outdoors"
    )
    residual_current_device = say.flag(
        "residual-current device", "residual current device", "GFCI", "RCD", "a GFCI", "an RCD", "a residual-current device",
        "guarded by an RCD", "guarded by a GFCI", "guarded by a residual-current device", "behind an RCD", "behind a GFCI",
        doc="a residual-current device (RCD, GFCI) guards it",
    )  # fmt: skip
    exempt_because = say.text(
        "exempt because <text>", "exempt from a residual-current device because <text>", "exempt from GFCI|RCD because <text>",
        doc="why it is exempt from a residual-current device",
    )  # fmt: skip


class Outlet(OutletData):
    """The AC outlet of an inverter."""

    __slots__ = ()
    KIND = "outlet"

    pattern = wording("<choice>", "pattern <word>", "<text>", doc="pattern of the outlet", of=OUTLET_PATTERNS)
