"""Lay out the tree that is reviewed: the files of a change, with the settings and baselines of the branch that it is to go into.

`lay_out.py WORK TARGET HEAD SETTINGS BASELINE`, run in the repository. WORK/tree becomes a repository whose files are those of the commit HEAD, letter by
letter, and whose every file of settings, and every baseline that these name, is that of the commit TARGET, or is not there where that has none.
WORK/terms/options becomes the options that this leaves for the program, and WORK/changed the names of the files that the change touches, each ended by a
zero byte; settings and baselines are not among them, for the tree does not have them as the change does. Nothing is run but git, on objects alone: no hook, filter
or conversion of a text; and the tree is put together in an index, so that no file is ever written through a link of the change.
"""

from __future__ import annotations

import os
import posixpath
import subprocess
import sys
from pathlib import Path

from ohmwright.paths import SETTINGS, SHARED, Roots
from ohmwright.settings.finding import found_settings

Entries = dict[bytes, bytes]  # what an index says of a file ("mode name-of-object"), by path

_AS_IT_IS = b"* -text -eol -ident -filter -working-tree-encoding\n"
_QUIET = ("-c", f"core.hooksPath={os.devnull}", "-c", "core.fsmonitor=false", "-c", "core.autocrlf=false")
_PLAIN = (b"100644", b"100755")


class RefusedError(Exception):
    """Why the tree cannot be laid out, in words for the log."""


def git(*arguments: str, folder: Path | None = None, data: bytes = b"", index: Path | None = None) -> bytes:
    """Run git and return what it prints; RefusedError where it fails."""
    surroundings = os.environ | {"GIT_NO_REPLACE_OBJECTS": "1", "GIT_LFS_SKIP_SMUDGE": "1", "LC_ALL": "C"}
    if index is not None:
        surroundings["GIT_INDEX_FILE"] = str(index)
    done = subprocess.run(
        ["git", *_QUIET, *arguments], cwd=folder, input=data, capture_output=True, check=False, env=surroundings
    )
    if done.returncode:
        raise RefusedError(f"git {arguments[0]} failed: {done.stderr.decode('utf-8', 'replace').strip()}")
    return done.stdout


def entries_of(commit: str) -> Entries:
    """Return the files of a commit."""
    found: Entries = {}
    for row in git("ls-tree", "-r", "-z", "--full-tree", commit).split(b"\0"):
        if row:
            facts, _, path = row.partition(b"\t")
            mode, _, name = facts.split(b" ")
            found[path] = mode + b" " + name
    return found


def is_settings(path: bytes) -> bool:
    """Tell whether a path may be a file of settings, on a system that tells no capitals apart as well."""
    return os.fsdecode(path.rpartition(b"/")[2]).casefold() in (SETTINGS, SHARED)


def repository_in(folder: Path) -> Path:
    """Make an empty repository that borrows the objects of the one here, and takes every file as it is."""
    objects = os.fsdecode(git("rev-parse", "--path-format=absolute", "--git-path", "objects").rstrip(b"\r\n"))
    kind = git("rev-parse", "--show-object-format").decode().strip()
    git("init", "--quiet", f"--object-format={kind}", "--template=", str(folder))
    inside = folder / ".git"
    for name, data in (("objects/info/alternates", os.fsencode(objects) + b"\n"), ("info/attributes", _AS_IT_IS)):
        (inside / name).parent.mkdir(parents=True, exist_ok=True)
        (inside / name).write_bytes(data)
    return folder


def put_files(folder: Path, commit: str, without: Entries, more: Entries) -> None:
    """Write the files of a commit ("" for none) into a repository, some left out and some put in their place."""
    git("read-tree", commit or "--empty", folder=folder)
    gone = b"".join(b"0 " + facts.split(b" ")[1] + b"\t" + path + b"\0" for path, facts in sorted(without.items()))
    rows = b"".join(facts + b"\t" + path + b"\0" for path, facts in sorted(more.items()))
    git("update-index", "-z", "--index-info", folder=folder, data=gone + rows)
    git("checkout-index", "--all", "--force", "--quiet", folder=folder)


def baselines_below(folder: Path) -> set[bytes]:
    """Return the paths of the baselines that the settings in a repository name; RefusedError where settings cannot be used."""
    found: set[bytes] = set()
    roots = Roots()
    for place, folders, _ in os.walk(folder):
        folders[:] = [name for name in folders if name != ".git"]
        root = roots.of(Path(place))
        if root is None or root[0] != Path(place) or not root[1]:
            continue
        settings, faults = found_settings(*root)
        if faults:
            raise RefusedError("the settings of the target branch cannot be used\n" + "\n".join(str(fault) for fault in faults))
        if settings.baseline:
            below = Path(place).relative_to(folder).as_posix()
            found.add(os.fsencode(posixpath.normpath(posixpath.join(below, settings.baseline.replace("\\", "/")))))
    return found


def plain(entries: Entries, paths: set[bytes]) -> Entries:
    """Return the entries of some paths, those that are there; a link would lead to a file of the change."""
    found = {path: entries[path] for path in paths if path in entries}
    for path, facts in found.items():
        if facts.split(b" ")[0] not in _PLAIN:
            shown = os.fsdecode(path)
            raise RefusedError(
                f"{shown} of the target branch is no plain file: settings and baselines cannot be taken from behind a link"
            )
    return found


def named(work: Path, entries: Entries, given: str, what: str) -> str:
    """Write one file of the target branch, that an input names, beside the tree; return where."""
    path = os.fsencode(posixpath.normpath(given))
    if path not in entries:
        raise RefusedError(f"the target branch has no file {given!r}, which the input {what} names")
    (facts,) = plain(entries, {path}).values()
    place = work / "terms" / what / Path(given).name
    place.parent.mkdir()
    place.write_bytes(git("cat-file", "blob", facts.split(b" ")[1].decode()))
    return str(place)


def lay_out(work: Path, target: str, head: str, settings: str, baseline: str) -> list[str]:
    """Lay out the tree; return the options that are left for the program."""
    before, after = entries_of(target), entries_of(head)
    terms = {path for path in before if is_settings(path)}
    kept = plain(before, terms)
    options: list[str] = []
    if settings not in ("target", "none"):
        options += ["--settings", named(work, before, settings, "settings")]
        if baseline == "target":  # the one that this file names lies beside it
            only = os.fsencode(posixpath.normpath(settings))
            for path in baselines_of(work, only, before):
                baseline = os.fsdecode(path)
    elif settings == "none":
        options += ["--settings", "none"]
    if baseline not in ("target", "none"):
        options += ["--baseline", named(work, before, baseline, "baseline")]
    elif baseline == "none":
        options += ["--baseline", "none"]
    elif settings == "target":
        look = repository_in(work / "settings")
        put_files(look, "", {}, kept)
        baselines = baselines_below(look)
        terms |= baselines
        kept |= plain(before, baselines)
    gone = {path: facts for path, facts in after.items() if is_settings(path) or path in terms}
    put_files(repository_in(work / "tree"), head, gone, kept)
    names = git("diff-tree", "-r", "-z", "--name-only", "--no-renames", "--no-ext-diff", target, head).split(b"\0")
    touched = [path for path in names if path and path not in terms and not is_settings(path)]
    (work / "changed").write_bytes(b"".join(path + b"\0" for path in touched))
    return options


def baselines_of(work: Path, path: bytes, entries: Entries) -> set[bytes]:
    """Return the path of the baseline that one file of settings names, as the target branch has it."""
    look = repository_in(work / "settings")
    put_files(look, "", {}, plain(entries, {path}))
    return baselines_below(look)


def main() -> int:
    """Lay out what the command line says; return 0, or 2 after saying why not."""
    work, target, head, settings, baseline = sys.argv[1:]
    try:
        options = lay_out(Path(work).resolve(), target, head, settings, baseline)
    except RefusedError as error:
        print(error)
        return 2
    (Path(work) / "terms" / "options").write_bytes(b"".join(os.fsencode(option) + b"\0" for option in options))
    return 0


if __name__ == "__main__":
    sys.exit(main())
