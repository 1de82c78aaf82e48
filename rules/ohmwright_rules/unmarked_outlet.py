"""AC outlets without the words that keep people from plugging them into house wiring."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Severity
from ohmwright.references import common_practice
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study

from ohmwright_rules.labelling import stated_at
from ohmwright_rules.mains_outlets import feeding_inverters, is_floating, outlet_halves
from ohmwright_rules.wording import listed

RULE = Rule(
    id="unmarked-outlet",
    title="AC outlet without its warning",
    family="labels",
    subject="inverter",
    covers=("M12",),
    grades=(
        Grade(
            "no-warning",
            Severity.WARNING,
            "no label at an AC outlet says whether the neutral is bonded or floats, and that it is not for house wiring",
            "circuit",
        ),
    ),
    references=(common_practice("people plug it into house wiring, or trust a device that cannot act"),),
)
_GRADE = "no-warning"


def check(study: Study) -> Iterator[Outcome]:
    """Read the labels at every inverter with an output in use, and at its outlets."""
    inverters = feeding_inverters(study)
    for part in inverters:
        halves = outlet_halves(study, part)
        stated = stated_at(study, (part.name, *(half.name for half in halves)))
        wanted = {"neutral": "whether the neutral is bonded or floats"}
        if part.feeds != "house wiring":
            wanted["not for house wiring"] = "that it is not for house wiring"
        missing = [words for fact, words in wanted.items() if fact not in stated]
        if not missing:
            yield Passed(_GRADE, (part.name,))
            continue
        where = listed([half.name for half in halves]) or "its outlet"
        floating = is_floating(part)
        system = (
            "floating output" if floating else "neutral bonded" if floating is False else "neutral bonded, or floating output"
        )
        text = f"{system}{'; not for house wiring' if part.feeds != 'house wiring' else ''}"
        yield Finding(
            _GRADE,
            (part.name, *(half.name for half in halves)),
            f"{part.name}: no label at {where} says {listed(missing)}; somebody plugs it into house wiring, or expects a residual-current device to act.",
            (halves[0].span if halves else part.span),
            remedy=f"Put a label at {where}: {text!r}; or, where all carry those of the generated sheet: site {{ labels as generated }}",
        )
    if not inverters:
        yield DoesNotApply("nothing is joined to the output of an inverter")
