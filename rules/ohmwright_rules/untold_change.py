"""A build without a revision, a revision that its history does not tell of, a change of protection that was not tested again."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.findings import DoesNotApply, Finding, Outcome, Passed, Related, Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule
from ohmwright.study import Study
from ohmwright_grammar.kinds.connector import Half
from ohmwright_grammar.kinds.fuse import Fuse, Holder
from ohmwright_grammar.kinds.procedure import History, Version
from ohmwright_grammar.kinds.switch import Switching

from ohmwright_rules.wording import listed

RULE = Rule(
    id="untold-change",
    title="Revision missing, or change not tested again",
    family="labels",
    subject="rig or version",
    covers=("M14",),
    grades=(
        Grade("no-revision", Severity.NOTE, "the build names no revision", "itself"),
        Grade("not-in-history", Severity.NOTE, "the build keeps a history, and its revision is not in it"),
        Grade("not-tested", Severity.NOTE, "a version changed protection or connectors, and no new test is recorded"),
    ),
    references=(Reference("an authority's advice on drawings kept current", "", "", "secondary"),),
)


def check(study: Study) -> Iterator[Outcome]:
    """Look at the revision, and at the history where the build keeps one."""
    rig = study.build.rig
    if rig.revision is None:
        yield Finding(
            "no-revision",
            ("rig",),
            "rig: the build names no revision; nobody can tell which of two sheets is the newer one.",
            rig.span,
            remedy='Add it: rig "…", revision 1, dated 2026-01-31',
        )
    else:
        yield Passed("no-revision", ("rig",))
    versions = [version for history in study.of(History) for version in history.versions or ()]
    if not versions:
        yield DoesNotApply("no history is kept")
        return
    if rig.revision is not None:
        if any(version.name == rig.revision for version in versions):
            yield Passed("not-in-history", ("rig",))
        else:
            yield Finding(
                "not-in-history",
                ("rig",),
                f"rig: this is revision {rig.revision}, and the history ends without it; what was changed since is not told.",
                next(study.of(History)).span,
                remedy=f'Add it: version {rig.revision} {{ 2026-01-31; "what was changed"; because "why" }}',
            )
    for version in versions:
        yield _tested(study, version)


def _tested(study: Study, version: Version) -> Outcome:
    changed = [name for name in version.changed or () if _protects(study, name)]
    if version.retest_done or (not changed and not version.retest_needed):
        return Passed("not-tested", (version.name,))
    what = f"it changed {listed(changed)}" if changed else "it says that a new test is needed"
    return Finding(
        "not-tested",
        (version.name, *changed),
        f"version {version.name}: {what}, and no new test is recorded.",
        version.span,
        remedy="Test again what hangs on it, and say so: re-test done",
        related=tuple(Related(f"{name} was changed", study.span(name)) for name in changed[:4]),
    )


def _protects(study: Study, name: str) -> bool:
    """Tell whether a thing belongs to protection or to connectors; what is no more is taken for it."""
    part = study.part(name)
    if part is not None:
        return isinstance(part, Fuse | Holder | Half | Switching)
    known = {thing.name for thing in study.build.things} | {run.name for run in study.build.runs}
    return name not in known
