"""What a build says of its own judgement beside waivers: the basis that it names, the libraries that its ratings come from, and what its builder promises."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.model import Build

from ohmwright.comparing.model import Judgement
from ohmwright.comparing.normal import normal, renaming

__all__ = ["compared_claims"]


def compared_claims(path: str, old: Build, new: Build, names: Mapping[str, str]) -> Iterator[Judgement]:
    """Yield that a build is none any more, another basis, other libraries, and requirements that were taken out or say something else; one that is new only asks for more."""
    if new.is_library and not old.is_library:
        yield Judgement(
            "exclusion",
            "looser",
            path,
            "the whole file",
            "a build",
            "a library: it has no rig statement, so that nothing in it is checked",
            new.rig.span,
        )
        return
    if (old.rig.basis or "") != (new.rig.basis or ""):
        place = new.rig.place_of(Rig.basis)
        yield Judgement("basis", "changed", path, "basis", old.rig.basis or "", new.rig.basis or "", place)
    one, two = (", ".join(build.rig.parts_from or ()) for build in (old, new))
    if one != two:
        place = new.rig.place_of(Rig.parts_from)
        yield Judgement("library", "changed", path, "parts from", one, two, place)
    yield from _requirements(path, old, new, names)


def _requirements(path: str, old: Build, new: Build, names: Mapping[str, str]) -> Iterator[Judgement]:
    renamed = renaming(names)
    after = {item.name: item for item in new.of(Requirement)}
    kept = {normal(_said(item)) for item in after.values()}
    gone = [item for item in old.of(Requirement) if normal(_said(item), renamed) not in kept]
    before = {normal(_said(item), renamed) for item in old.of(Requirement)}
    come = [item for item in after.values() if normal(_said(item)) not in before]
    for item in gone:
        other = next((new_one for new_one in come if set(new_one.facts) == set(item.facts)), None)
        if other is None:
            yield Judgement("requirement", "looser", path, "require", item.name, "", item.span)
        else:
            come.remove(other)
            yield Judgement("requirement", "changed", path, "require", item.name, other.name, other.span)


def _said(item: Requirement) -> tuple[tuple[str, object], ...]:
    """Return what a requirement says, in an order of its own."""
    return tuple(sorted(item.facts.items(), key=lambda pair: pair[0]))
