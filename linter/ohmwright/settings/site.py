"""The site that the settings give to builds which do not say their own: words of the language of builds, read where they stand."""

from __future__ import annotations

from typing import Any

from ohmwright_grammar.files import MemoryFiles
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.model import Build
from ohmwright_grammar.records import replace
from ohmwright_grammar.resolve import Loader, Resolved, resolve
from ohmwright_grammar.spans import Span
from ohmwright_grammar.things import Fact

from ohmwright.settings.model import Fault, Settings

__all__ = ["site_of", "with_site"]

_HEAD = "site {"
_IN_PLACE_OF = (("sun", "sun_by_month"), ("sizing_month", "sizing_sun"))  # a build that says one of them has said it


def site_of(settings: Settings) -> tuple[Site | None, tuple[Fault, ...]]:
    """Read the site of the settings; what is wrong with its words is told at their place in the file."""
    if settings.site_text is None:
        return None, ()
    span, exact = settings.site_text
    file = settings.file
    found = resolve(file, Loader(MemoryFiles({file: _laid_out(settings.site, span, exact)})))
    if not isinstance(found, Resolved):
        return None, tuple(Fault(problem.message, _placed(problem.span, span, exact), problem.remedy) for problem in found)
    problems = [*found.problems, *found.library_problems]
    faults = [Fault(problem.message, _placed(problem.span, span, exact), problem.remedy) for problem in problems]
    build = found.build
    sites = [thing for thing in build.things if isinstance(thing, Site)]
    if not faults and (
        len(build.things) != 1 or not sites or not build.is_library or build.parts or build.runs or build.states
    ):
        faults.append(
            Fault(
                "The site holds more than the properties of a site.", span, "Write them as between the braces of 'site { … }'."
            )
        )
    if faults:
        return None, tuple(faults)
    (site,) = sites
    facts: dict[str, Fact[Any]] = {}
    for name, fact in site.facts.items():
        carried = fact.carried("default")
        facts[name] = carried if exact else replace(carried, source=span)
    return Site(site.name, span, facts), ()


def _placed(place: Span, span: Span, exact: bool) -> Span:
    """Return the place of a problem, that of all words where it lies in the braces put around them."""
    inside = (span.line, span.column) <= (place.line, place.column) <= (span.end_line, span.end_column)
    return place if exact and inside else span


def _laid_out(words: str, span: Span, exact: bool) -> str:
    """Return a text in which the words of a site stand on the lines and in the columns of the file that they come from."""
    if not exact:
        return f"{_HEAD}\n{words}\n}}\n"
    if span.column > len(_HEAD):
        return "\n" * (span.line - 1) + " " * (span.column - 1 - len(_HEAD)) + f"{_HEAD}{words}\n}}\n"
    return "\n" * (span.line - 2) + f"{_HEAD}\n" + " " * (span.column - 1) + f"{words}\n}}\n"


def with_site(build: Build, site: Site) -> Build:
    """Return a build with the site of the settings below its own: what it says itself stands."""
    own = build.one(Site)
    said = own.facts if own is not None else {}
    taken = {name for group in _IN_PLACE_OF if any(name in said for name in group) for name in group}
    facts = {name: fact for name, fact in site.facts.items() if name not in taken} | dict(said)
    made = Site(own.name, own.span, facts) if own is not None else Site(site.name, site.span, facts)
    things = [*(thing for thing in build.things if not isinstance(thing, Site)), made]
    return replace(build, things=tuple(sorted(things, key=lambda thing: (thing.KIND, thing.name))))
