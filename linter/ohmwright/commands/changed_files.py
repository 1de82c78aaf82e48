"""Which files differ between two sides, which builds that concerns, and what of it changes the judgement: settings, baselines, libraries, packs, the review."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from ohmwright_grammar.bodies import BodyReader
from ohmwright_grammar.budget import Budget, OutOfBudgetError
from ohmwright_grammar.entries import Body
from ohmwright_grammar.files import decode
from ohmwright_grammar.kinds.rig import Rig
from ohmwright_grammar.parsing import parse
from ohmwright_grammar.records import record

from ohmwright.commands.common import Limits
from ohmwright.commands.sides import Side, Sides
from ohmwright.commands.standing import Marks, usual_severities
from ohmwright.commands.trees import CommitTree
from ohmwright.comparing.baselines import Renames, compared_baselines
from ohmwright.comparing.libraries import compared_libraries
from ohmwright.comparing.model import Judgement
from ohmwright.comparing.settings import compared_settings
from ohmwright.paths import SETTINGS, SHARED, SUFFIX

__all__ = ["Changed", "Unread", "changed_files", "compared_files", "compared_marks", "concerned"]

Unread = tuple[frozenset[str], frozenset[str]]  # the files of each side that could not be read at all

_LOOKED_AT = (SUFFIX, ".toml", ".json", ".py", ".csv", ".yml", ".yaml", ".txt", ".cfg")
_REVIEW = re.compile(
    r"(^|/)(\.github/(workflows|actions)/.*|\.gitlab-ci\.ya?ml|\.gitlab/.*|\.pre-commit-config\.ya?ml|requirements[^/]*\.txt|constraints[^/]*\.txt)$"
)


@record
class Changed:
    """A file that is not the same on both sides, with its path on each, "" where a side does not have it."""

    key: str
    old: str
    new: str


def changed_files(sides: Sides) -> tuple[Changed, ...]:
    """Return every file that differs, in name order; of two folders only those that can matter."""
    shared = sides.shared
    if sides.old.is_file:
        pairs = {sides.old.scopes[0]: (sides.old.scopes[0], sides.new.scopes[0])}
    else:
        before = {sides.old.key(path): path for path in sides.old.files() if shared or path.endswith(_LOOKED_AT)}
        after = {sides.new.key(path): path for path in sides.new.files() if shared or path.endswith(_LOOKED_AT)}
        pairs = {key: (before.get(key, ""), after.get(key, "")) for key in {**before, **after}}
    if shared:  # what compared builds read may lie elsewhere
        trees = sides.old.tree, sides.new.tree
        more = dict.fromkeys(path for path in _elsewhere(sides) if path not in pairs)
        pairs.update({path: (path if trees[0].has(path) else "", path if trees[1].has(path) else "") for path in more})
    return tuple(Changed(key, *paths) for key, paths in sorted(pairs.items()) if not _same(sides, *paths))


def _elsewhere(sides: Sides) -> Iterator[str]:
    """Yield the files of both trees, of two commits only those that cannot be the same."""
    old, new = sides.old.tree, sides.new.tree
    if isinstance(old, CommitTree) and isinstance(new, CommitTree):
        yield from (path for path in {**old.nodes, **new.nodes} if old.nodes.get(path) != new.nodes.get(path))
        return
    for tree in (old, new):
        yield from tree.nodes if isinstance(tree, CommitTree) else tree.paths()


def _same(sides: Sides, old: str, new: str) -> bool:
    if not (old and new):
        return False
    one, two = sides.old.tree.mark(old), sides.new.tree.mark(new)
    if one == two:
        return True
    if isinstance(sides.old.tree, CommitTree) and isinstance(sides.new.tree, CommitTree):
        return False
    before, after = sides.old.tree.read(old), sides.new.tree.read(new)
    if before is None or after is None:
        return before is after
    return before.replace(b"\r\n", b"\n") == after.replace(b"\r\n", b"\n")  # a checkout may have changed the line ends


def concerned(sides: Sides, changed: Iterable[Changed]) -> Callable[[str], bool]:
    """Return what tells whether a build may read a changed file, itself included.

    Of two sides of one repository: whoever names a changed file, or a file that names one, by the last part of its path. Of two folders everybody may: what
    was read decides.
    """
    if not sides.shared:
        return lambda path: True
    touched = {item.key for item in changed}
    if not touched:
        return lambda path: False
    texts = _texts(sides)
    while True:
        names = {re.escape(path.rpartition("/")[2].encode("utf-8", "surrogateescape")) for path in touched}
        pattern = re.compile(b"|".join(sorted(names)), re.IGNORECASE)
        more = {path for path, data in texts.items() if path not in touched and pattern.search(data)}
        if not more:
            return touched.__contains__
        touched |= more


_PARTS = re.compile('["/\\\\\n“”„«»‘’]')  # what stands around the parts of a path in a text


def _texts(sides: Sides) -> dict[str, bytes]:
    """Return the bytes of every file that a build may be read from: build files wherever they lie, and whatever file they may name."""
    by_name: dict[str, list[str]] = {}
    trees = (sides.old.tree, sides.new.tree)
    every = [tree.nodes if isinstance(tree, CommitTree) else tree.paths() for tree in trees]
    for path in dict.fromkeys(path for paths in every for path in paths):
        by_name.setdefault(path.rpartition("/")[2].lower(), []).append(path)
    waiting = [path for paths in by_name.values() for path in paths if path.endswith(SUFFIX)]
    found: dict[str, bytes] = {}
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found[path] = data = sides.new.tree.read(path) or b""
        for piece in set(_PARTS.split(data.decode("utf-8", "surrogateescape").lower())):
            waiting.extend(other for other in by_name.get(piece, ()) if other not in found)
    return found


# what changes the judgement ----------------------------------------------------------------------------------------


def compared_marks(sides: Sides, marks: tuple[Marks, Marks]) -> Iterator[Judgement]:
    """Yield what changed in settings, for each folder that has some on either side."""
    for key in sorted(_folders(sides)):
        old, new = (held.of(_joined(side.below, key)) for side, held in zip((sides.old, sides.new), marks, strict=True))
        path = new.file or old.file
        for fault in new.faults:
            yield Judgement(
                "setting",
                "changed",
                path,
                "settings that cannot be used",
                "",
                f"{fault.message} {fault.remedy}".strip(),
                fault.span,
            )
        if not (old.faults or new.faults):
            names = [item.grade for kept in (old, new) for item in kept.settings.grades]
            usual: Mapping[str, str] = usual_severities(names) if names else {}
            yield from compared_settings(path, old.settings, new.settings, lambda name, usual=usual: usual.get(name, ""))  # type: ignore[misc]


def _folders(sides: Sides) -> set[str]:
    """Return the folders of settings as both sides have them: those among what is compared, and where both are one repository those above it."""
    found: set[str] = set()
    for side in (sides.old, sides.new):
        for path in side.files():
            folder, _, name = path.rpartition("/")
            if name in (SETTINGS, SHARED):
                found.add(side.key(f"{folder}/").rstrip("/") if folder else "")
        if sides.shared:
            for scope in side.scopes:
                pieces = scope.split("/") if scope else []
                found.update("/".join(pieces[:count]) for count in range(len(pieces) + 1))
    return found


def _joined(below: str, key: str) -> str:
    return f"{below}{key}".rstrip("/")


def compared_files(
    sides: Sides, changed: Iterable[Changed], read_too: Callable[[str], bool], renames: Renames, limits: Limits, unread: Unread
) -> Iterator[Judgement]:
    """Yield what changed in baselines, libraries of parts, rule packs and whatever runs the review; `read_too` tells of a file elsewhere whether a compared build reads it."""
    packages: set[str] = set()
    files = list(changed)
    for item in files:
        if item.key.rpartition("/")[2] == SHARED:
            packages |= _packages(sides.old.tree.read(item.old)) | _packages(sides.new.tree.read(item.new))
    for side in (sides.old, sides.new):
        for path in () if side.is_file else side.files():
            if path.rpartition("/")[2] == SHARED:
                packages |= _packages(side.tree.read(path))
    for item in files:
        one = sides.old.tree.read(item.old) if item.old else None
        two = sides.new.tree.read(item.new) if item.new else None
        path = item.new or item.old
        inside = _is_inside(sides, item)
        if path.endswith(SUFFIX) and (inside or read_too(path)):
            yield from _library(item, one, two, limits, unread)
        if not inside:
            continue
        if not path.endswith(SUFFIX) and (_may_be_baseline(one) or _may_be_baseline(two)):
            yield from _baselines(path, one, two, renames)
        elif path.rpartition("/")[2] == SHARED:
            yield from _packs(path, one, two)
        elif packages.intersection(path.split("/")[:-1]):
            yield Judgement("pack", "changed", path, "a file of a rule pack", _was(one), _was(two))
        elif _REVIEW.search(path) and (b"ohmwright" in (one or b"") or b"ohmwright" in (two or b"")):
            yield Judgement("review", "changed", path, "what runs the review", *_lines(one, two))


def _is_inside(sides: Sides, item: Changed) -> bool:
    pairs: tuple[tuple[Side, str], ...] = ((sides.old, item.old), (sides.new, item.new))
    return any(path and side.holds(path) for side, path in pairs)


def _was(data: bytes | None) -> str:
    return "" if data is None else f"{len(data):,} bytes"


def _lines(one: bytes | None, two: bytes | None) -> tuple[str, str]:
    """Return the lines that name us and that only one side has, else how large both sides are."""
    left, right = ([line.strip() for line in (data or b"").decode("utf-8", "replace").splitlines()] for data in (one, two))
    differ = [
        "; ".join(line for line in here if "ohmwright" in line and line not in there)[:300]
        for here, there in ((left, right), (right, left))
    ]
    return (differ[0], differ[1]) if any(differ) else (_was(one), _was(two))


def _library(item: Changed, one: bytes | None, two: bytes | None, limits: Limits, unread: Unread) -> Iterator[Judgement]:
    if one is None or two is None or item.new in unread[1]:
        return  # of what cannot be read now the inspection tells, and no run is clean
    try:
        new = _body(two, item.new, limits())
        if new is None or _is_build(new):
            return
        if item.old in unread[0]:
            raise OutOfBudgetError
        old = _body(one, item.new, limits())
    except (OutOfBudgetError, RecursionError, MemoryError):
        yield Judgement("library", "changed", item.new, "all of it", "", "too much to be compared within the budget")
        return
    if old is not None and not _is_build(old):
        yield from compared_libraries(item.new, old, new)


def _body(data: bytes, path: str, budget: Budget) -> Body | None:
    source = decode(data, path)
    if source.problems:
        return None
    return BodyReader(path, [], budget=budget).read(parse(source.text, path, budget).statements)


def _is_build(body: Body) -> bool:
    return body.has_rig or Rig.title.name in body.rig.facts


def _baselines(path: str, one: bytes | None, two: bytes | None, renames: Renames) -> Iterator[Judgement]:
    from ohmwright.baseline_files import read_text
    from ohmwright.baselines import Baseline

    sides = [
        read_text((data or b"").decode("utf-8-sig", "replace"), path) if data else (Baseline(path), ()) for data in (one, two)
    ]
    (old, _), (new, faults) = sides
    for fault in faults:
        if _may_be_baseline(two):
            yield Judgement("baseline", "changed", path, "a baseline that cannot be read", "", fault.message, fault.span)
        return
    yield from compared_baselines(path, old, new, renames)


def _may_be_baseline(data: bytes | None) -> bool:
    return data is not None and b'"baseline"' in data[:2000] and b'"entries"' in data


def _packs(path: str, one: bytes | None, two: bytes | None) -> Iterator[Judgement]:
    before, after = (_rules_of(data) for data in (one, two))
    for name in sorted({**before, **after}):
        if before.get(name) != after.get(name):
            yield Judgement("pack", "changed", path, name, before.get(name, ""), after.get(name, ""))


def _project(data: bytes | None) -> dict[str, Any]:
    if data is None or b"ohmwright" not in data or len(data) > 1_000_000:
        return {}
    import tomllib

    try:
        document = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        return {}
    project = document.get("project")
    return project if isinstance(project, dict) else {}


def _packages(data: bytes | None) -> set[str]:
    return {value.partition(":")[0].split(".")[0] for value in _entry_points(_project(data)).values()}


def _entry_points(project: dict[str, Any]) -> dict[str, str]:
    points = project.get("entry-points")
    ours = points.get("ohmwright.rules") if isinstance(points, dict) else None
    return {str(name): str(value) for name, value in ours.items()} if isinstance(ours, dict) else {}


def _rules_of(data: bytes | None) -> dict[str, str]:
    """Return the rule packs that a project brings, and what it asks of the version of this program."""
    project = _project(data)
    found = {f"rule pack {name}": value for name, value in _entry_points(project).items()}
    needs = project.get("dependencies")
    for need in needs if isinstance(needs, list) else ():
        if isinstance(need, str) and "ohmwright" in need:
            found[f"what is installed ({re.split(r'[^A-Za-z0-9._-]', need)[0]})"] = need
    return found
