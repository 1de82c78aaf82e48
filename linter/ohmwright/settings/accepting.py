"""Waivers that settings accept: what a change of a build may waive without being stopped for it, in the words of the language of builds."""

from __future__ import annotations

from ohmwright_grammar.files import MemoryFiles, Source
from ohmwright_grammar.kinds.waiver import Waiver
from ohmwright_grammar.records import record
from ohmwright_grammar.resolve import Loader

from ohmwright.settings.model import Accepted, Fault, Settings

__all__ = ["AcceptedWaiver", "accepted_waivers"]

_HOW = "Write as after 'waive': voltage-drop on pump up to 4 % until 2026-12-31"


@record
class AcceptedWaiver:
    """A waiver that settings accept for some builds, and why; one that says as much or less is accepted with it."""

    build: str
    waiver: Waiver
    because: str


def accepted_waivers(settings: Settings) -> tuple[tuple[AcceptedWaiver, ...], tuple[Fault, ...]]:
    """Return the waivers that settings accept, and what is wrong with their words, told at their place."""
    found: list[AcceptedWaiver] = []
    faults: list[Fault] = []
    for item in settings.accepted:
        waiver = _read(item)
        if isinstance(waiver, Fault):
            faults.append(waiver)
        else:
            found.append(AcceptedWaiver(item.build, waiver, item.because))
    return tuple(found), tuple(faults)


def _read(item: Accepted) -> Waiver | Fault:
    words = item.waiver.removeprefix("waive ")
    file = Loader(MemoryFiles({"accepted": f"waive {words}\n"})).file("accepted")
    if isinstance(file, Source):
        return Fault("The words of the waiver cannot be read.", item.span, _HOW)
    for problem in file.problems:
        return Fault(problem.message, item.span, problem.remedy or _HOW)
    entries = file.body.entries
    if len(entries) != 1 or entries[0].kind is not Waiver or file.body.statements > 1 or file.body.defaults:
        return Fault("This is not one waiver.", item.span, _HOW)
    waiver = Waiver(entries[0].name, item.span, entries[0].facts)
    missing = [words for words, datum in (("the thing that it is on", waiver.on), ("its last day", waiver.until)) if not datum]
    if missing:
        return Fault(f"The waiver does not say {' and '.join(missing)}.", item.span, _HOW)
    return waiver
