"""House rules of a workshop that lends battery boxes."""

from ohmwright.rules import Pack

__all__ = ["PACK"]

PACK = Pack(
    "workshop",
    "1.0.0",
    ("workshop_rules.long_lead", "workshop_rules.rare_fuse", "workshop_rules.no_gauge_of_charge"),
    bases=("us-small-craft", "us-premises", "iec"),
    needs={"workshop_rules.rare_fuse": ("fuse",)},
)
