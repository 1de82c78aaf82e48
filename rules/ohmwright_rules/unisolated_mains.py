"""A charger or inverter whose mains port is not isolated from the DC side."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.charging import MainsPort

from ohmwright_rules.mains_ports import mains_ports, without_port

RULE = Rule(
    id="unisolated-mains",
    title="Mains port not isolated from the DC side",
    family="mains",
    subject="charger or inverter",
    covers=("I13",),
    grades=(Grade("not-isolated", Severity.ERROR, "a part on mains says that its port is not isolated from its DC side"),),
    references=(
        Reference("the part, as declared", "", "", "computed"),
        common_practice("a transformer between mains and what can be touched"),
    ),
)
_GRADE = "not-isolated"


def check(study: Study) -> Iterator[Outcome]:
    """Ask of every part with a port for mains whether that is isolated from the DC side."""
    for port in mains_ports(study):
        part = port.part
        isolated = part.isolated_from_mains
        if isolated is None:
            missing = Missing("whether its mains port is isolated from the DC side", part.span, "mains port isolated")
            yield missing.outcome(_GRADE, (part.name,))
        elif isolated:
            yield Passed(_GRADE, (part.name,))
        else:
            yield Finding(
                _GRADE,
                (part.name,),
                f"{part.name}: its mains port is not isolated from the DC side. Plugged in, every DC terminal of this build can stand near mains voltage.",
                part.place_of(MainsPort.isolated_from_mains),
                remedy="Use one with a transformer between mains and its DC side.",
            )
    without = without_port(study)
    if without:
        yield DoesNotApply("no port for mains", without)
