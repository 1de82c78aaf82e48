"""One cause, one finding: which finding yields to which on a shared subject and state, the cause first.

A rule tells all that it finds; what is only a consequence yields here, and stays in the machine-readable result with what it yielded to.
"""

from __future__ import annotations

from ohmwright.rules import Yield

__all__ = ["YIELDS"]

YIELDS: tuple[Yield, ...] = (
    # conductors
    Yield("shared-return", "undersized-wire"),
    Yield("undersized-wire", "hot-terminal"),
    Yield("coiled-cord", "overloaded-cord"),
    Yield("coiled-cord", "undersized-wire"),
    Yield("overloaded-cord", "undersized-wire"),
    Yield("undersized-wire", "weak-insulation.too-hot"),
    Yield("overloaded-cord", "weak-insulation.too-hot"),
    Yield("coiled-cord", "weak-insulation.too-hot"),
    Yield("shared-return", "weak-insulation.too-hot"),
    # contacts and switches
    Yield("overloaded-contact.over-rating", "overloaded-contact.ganged", beside_chief=True),
    Yield("overloaded-contact.ganged", "overloaded-contact.neighbours-loaded", beside_chief=True),
    Yield("weak-array-device", "arcing-switch"),
    Yield("overloaded-contact", "weak-part"),
    Yield("overloaded-switch", "weak-part"),
    Yield("weak-array-device", "weak-part"),
    Yield("joining-surge", "joining-selector"),
    Yield("panel-without-battery", "unsafe-order"),
    Yield("interlock-loop.panel-alone", "unsafe-order"),
    Yield("short-circuit", "unsafe-order"),
    Yield("reversed-polarity", "unsafe-order"),
    # voltages
    Yield("voltage-drop.below-minimum", "load-voltage.under-minimum"),
    Yield("voltage-collapse.collapse", "surge-cut-off"),
    Yield("load-voltage.under-minimum", "surge-cut-off"),
    # protection
    Yield("far-fuse.missing", "far-fuse.behind"),
    Yield("far-fuse.bare", "far-fuse.behind"),
    Yield("far-fuse.far", "far-fuse.behind"),
    Yield("oversized-fuse.step-down", "oversized-fuse.too-large"),
    Yield("two-feeds", "oversized-fuse"),
    Yield("oversized-fuse", "short-circuit-heat.over-limit"),
    Yield("one-ended-link", "charger-lead-fuse"),
    Yield("one-ended-link", "far-fuse"),
    Yield("charger-lead-fuse", "far-fuse"),
    Yield("unfused-pack", "one-ended-link"),
    Yield("unfused-pack", "charger-lead-fuse"),
    Yield("unfused-pack", "far-fuse"),
    # batteries
    Yield("joining-surge", "joining-while-charging"),
    Yield("unlike-packs.chemistry", "bank-voltage.loop"),
    Yield("bank-voltage.loop", "unlike-packs.voltage"),
    Yield("uneven-sharing.over-limit", "overdrawn-battery.continuous"),
    Yield("unfused-pack", "weak-part"),
    Yield("one-ended-link", "weak-part"),
    Yield("interlock-loop.over-current", "weak-part"),
    Yield("chain-link.over-rating", "undersized-wire"),
    Yield("chain-link.over-rating", "overloaded-contact"),
    Yield("short-circuit", "overdrawn-battery"),
    Yield("chain-link.over-rating", "weak-part"),
    Yield("unfused-sense-lead", "far-fuse"),
    Yield("charger-lead-fuse", "unfused-sense-lead"),
    Yield("one-ended-link", "unfused-sense-lead"),
    Yield("unfused-pack", "unfused-sense-lead"),
    # connectors
    Yield("wire-range.too-many", "crowded-stud.too-many", beside_chief=True),
    Yield("overloaded-contact", "overloaded-accessory-socket"),
    Yield("wrong-conductor.copper-terminal", "unlike-metals"),
    Yield("wrong-conductor.copper-clad", "unlike-metals"),
    Yield("pins-to-pins", "live-pins"),
    Yield("interlock-loop.over-current", "overloaded-contact"),
    Yield("interlock-loop.over-current", "undersized-wire"),
    Yield("interlock-loop.oversized-fuse", "oversized-fuse"),
    Yield("pinched-interlock.fails-live", "interlock-loop.return-side"),
    # arrays
    Yield("thin-array-lead", "undersized-wire"),
    Yield("thin-array-lead", "overloaded-cord"),
    Yield("thin-array-lead", "hot-terminal"),
    Yield("weak-array-device.ac-only", "fuse-voltage.ac-only"),
    Yield("weak-array-device.under-voltage", "fuse-voltage.over-voltage"),
    Yield("array-ceiling.over-ceiling", "array-ceiling.swapped-leads"),
    # wiring
    Yield("short-circuit", "undersized-wire"),
    Yield("short-circuit", "shared-return"),
    Yield("short-circuit", "overloaded-cord"),
    Yield("short-circuit", "coiled-cord"),
    Yield("short-circuit", "hot-terminal"),
    Yield("short-circuit", "overloaded-contact"),
    Yield("short-circuit", "overloaded-switch"),
    Yield("short-circuit", "nuisance-fuse"),
    Yield("short-circuit", "overloaded-main"),
    Yield("short-circuit", "conflicting-sources"),
    Yield("reversed-polarity", "short-circuit"),
    Yield("reversed-polarity", "bank-voltage"),
    Yield("reversed-polarity", "surge-cut-off"),
    Yield("bank-voltage.off-nominal", "load-voltage"),
    Yield("bank-voltage.loop", "conflicting-sources"),
    Yield("open-terminal", "floating-island"),
    Yield("open-terminal", "dead-load"),
    Yield("floating-island", "dead-load"),
    Yield("short-circuit", "dead-load"),
    Yield("conflicting-sources", "dead-load"),
    # cases
    Yield("hot-case.over-limit", "fan-cooled"),
    Yield("exposed-spark", "spark-in-gas"),
    Yield("tight-fit.side", "tight-fit.volume"),
    # storage
    Yield("parasites", "no-storage-position"),
    Yield("panel-without-battery", "panel-in-storage"),
    # mains
    Yield("neutral-bonds.no-bond", "unguarded-outlet.floating-wiring"),
    Yield("pins-to-pins", "meeting-sources.joined"),
    Yield("mixed-circuits.shared-connector", "mains-on-dc"),
    Yield("earthless-inlet.no-earth", "unbonded-outlet.case"),
    # labels
    Yield("mistakable-plug", "unmarked-connector"),
    Yield("panel-without-battery", "unposted-order"),
    # energy
    Yield("run-time.under-promise", "deep-cycling"),
    Yield("deep-cycling", "run-time.over-a-day"),
    Yield("nuisance-fuse", "overloaded-main"),
)
