"""A load that needs a sine wave on an inverter that makes none."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.inverter import Inverter
from ohmwright_grammar.kinds.load import Load

RULE = Rule(
    id="unsuitable-waveform",
    title="Load that needs a sine wave on a modified one",
    family="mains",
    subject="load",
    covers=("I11",),
    grades=(Grade("modified", Severity.WARNING, "a load that needs a sine wave hangs on an inverter with a modified one"),),
    references=(Reference("makers' advice on motors, chargers and medical devices", "", "", "from-memory"),),
)
_GRADE = "modified"


def check(study: Study) -> Iterator[Outcome]:
    """Look at the waveform that every AC load gets."""
    idle = 0
    for inverter in sorted(study.of(Inverter), key=lambda part: part.name):
        names = study.ac_side.loads_of(inverter.name)
        idle += not names
        for name in sorted(names):
            load = study.part(name)
            if isinstance(load, Load):
                yield _judge(inverter, load)
    if idle:
        yield DoesNotApply("no AC load hangs on it", idle)


def _judge(inverter: Inverter, load: Load) -> Outcome:
    subject = (load.name, inverter.name)
    if inverter.waveform == "sine" or load.needs_sine is False:
        return Passed(_GRADE, subject)
    if inverter.waveform is None:
        return Missing(f"waveform of {inverter.name}", inverter.span, "sine").outcome(_GRADE, subject)
    if load.needs_sine is None:
        return Missing("whether it needs a sine wave", load.span, "no needs sine").outcome(_GRADE, subject)
    return Finding(
        _GRADE,
        subject,
        f"{load.name} needs a sine wave; {inverter.name} makes a modified one. Motors and supplies run hot on it, some devices fail.",
        load.place_of(Load.needs_sine),
        remedy="Use an inverter with a sine wave for it.",
        related=(Related(f"{inverter.name}: its waveform", inverter.place_of(Inverter.waveform)),),
    )
