"""Mutation test of the sums that protect: `python tools/mutate.py [AREA …] [--all] [--seed N] [--sample N]`; needs the extra `mutation`.

The areas are ampacity (tables, ways of laying, factors), protection (the graph of conductors and devices) and cold (the cold voltage of an array, and its
rule). cosmic-ray changes one thing at a time in a copy of the checkout (an operator, a comparison, a number, a condition), and the tests that belong to the
area must fail. Without `--all` a sample is tried, drawn with a fixed seed and given in the first line of each area. What survives is printed with its change;
the tool ends with 1 where less than 90 % of an area are killed, with 2 where its tests fail already without a change.

Left out, because no test could tell: annotations, `__all__` and `@lru_cache`. Changes that mean the same are listed with their reason in
`equivalent_mutants.toml` and do not count.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shlex
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

__all__ = ["AREAS", "Area", "main"]

ROOT = Path(__file__).resolve().parent.parent
NEEDED = 0.9
PACKAGES = ("grammar", "linter", "rules")
COPIED = (*PACKAGES, "tests", "examples", "tools", "pyproject.toml", "README.md", "LICENSE")
PYTEST = ("-x", "-q", "-p", "no:cacheprovider", "-p", "unshrunk")
UNSHRUNK = """from hypothesis import Phase, settings

settings.register_profile("unshrunk", phases=[Phase.explicit, Phase.generate])
settings.load_profile("unshrunk")
"""
RULES, PROTECTION = "rules/ohmwright_rules", "linter/ohmwright/protection"


@dataclass(frozen=True, slots=True)
class Area:
    """Modules, or some definitions of one, with the fast tests that belong to them."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]
    seconds: float
    definitions: tuple[str, ...] = ()


PROTECTION_TESTS = {  # the tests that know most of a module come first
    "bridges": ("graphs",),
    "far_ends": ("far_ends",),
    "flows": ("flows",),
    "largest_flow": ("flows",),
    "poles": ("poles", "graphs", "earthed_strings"),
    "prospective": ("prospective",),
    "reaching": ("poles", "oversized", "unfused"),
    "walking": ("walks", "unfused", "oversized"),
    "ways": ("graphs", "unfused"),
}


def _own_first(*own: str) -> tuple[str, ...]:
    """All tests of the protection, those of a module first and the laws on random circuits last."""
    rest = ("walks", "unfused", "oversized", "far_ends", "prospective", "earthed_strings", "poles", "graphs", "flows", "laws")
    return tuple(f"tests/linter/protection/test_{name}.py" for name in dict.fromkeys((*own, *rest)))


AREAS = {
    "ampacity": (
        Area(
            tuple(f"{RULES}/{name}.py" for name in ("ampacity", "derating", "laying", "table_values")),
            (
                "tests/rules/test_ampacity.py",
                "tests/rules/test_ampacity_doctests.py",
                "tests/references/test_worked_conductors.py",
            ),
            30.0,
        ),
    ),
    "protection": tuple(
        Area((f"{PROTECTION}/{module}.py",), _own_first(*own), 40.0) for module, own in PROTECTION_TESTS.items()
    ),
    "cold": (
        Area(
            (f"{RULES}/cold_voltage.py", f"{RULES}/cold_array_voltage.py"),
            ("tests/rules/test_cold_array_voltage.py", "tests/references/test_worked_photovoltaic_and_battery.py"),
            30.0,
        ),
        Area(
            (f"{RULES}/sunside.py",),
            ("tests/rules/test_cold_array_voltage.py",),
            30.0,
            ("record_low", "cold_of", "_cold_string"),
        ),
    ),
}


def main(arguments: list[str]) -> int:
    """Try the areas that are named, or all."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n\n")[0])
    parser.add_argument("areas", nargs="*", metavar="AREA", help=f"of {', '.join(AREAS)}; all where none is named")
    parser.add_argument("--all", action="store_true", help="try every change instead of a sample")
    parser.add_argument("--sample", type=int, default=150, help="changes for each area (150)")
    parser.add_argument("--seed", type=int, default=1, help="of the sample (1)")
    options = parser.parse_args(arguments)
    unknown = [name for name in options.areas if name not in AREAS]
    if unknown:
        parser.error(f"no area: {', '.join(unknown)}; there are {', '.join(AREAS)}")
    worst = 1.0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "checkout"
        for name in COPIED:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
            else:
                shutil.copy2(ROOT / name, copy / name)
        (copy / "unshrunk.py").write_text(UNSHRUNK)  # that a law is broken is enough: no search for the smallest example
        for name in options.areas or AREAS:
            share = _try_area(copy, name, None if options.all else options.sample, options.seed)
            if share is None:
                return 2
            worst = min(worst, share)
    return 0 if worst >= NEEDED else 1


def _try_area(copy: Path, name: str, sample: int | None, seed: int) -> float | None:
    """Try one area and print what came of it; the share that was killed, None where the tests fail anyway."""
    sessions = []
    items = []
    passed: list[set[str]] = []
    for number, area in enumerate(AREAS[name]):
        command = shlex.join([sys.executable, "-m", "pytest", *PYTEST, *area.tests])
        if set(area.tests) not in passed and _run(copy, *shlex.split(command)):
            print(f"{name}: the tests fail without any change", file=sys.stderr)
            return None
        passed.append(set(area.tests))
        config, session = copy / f"{name}{number}.toml", copy / f"{name}{number}.sqlite"
        config.write_text(
            f"[cosmic-ray]\nmodule-path = {list(area.modules)}\ntimeout = {area.seconds}\nexcluded-modules = []\n"
            f'test-command = "{command}"\n[cosmic-ray.distributor]\nname = "local"\n'
        )
        if _run(copy, sys.executable, "-m", "cosmic_ray.cli", "init", str(config), str(session)):
            print(f"{name}: cosmic-ray does not start", file=sys.stderr)
            return None
        sessions.append((config, session))
        items += [(session, job) for job in _jobs(copy, session, area)]
    chosen = items if sample is None or sample >= len(items) else random.Random(seed).sample(items, sample)
    print(
        f"{name}: {len(items)} changes, {len(chosen)} tried{'' if len(chosen) == len(items) else f' (seed {seed})'}", flush=True
    )
    killed, survived, same = 0, [], 0
    for config, session in sessions:
        _skip_others(session, {job for where, job in chosen if where == session})
        _run(copy, sys.executable, "-m", "cosmic_ray.cli", "exec", str(config), str(session))
        for was_killed, change in _results(session):
            if was_killed:
                killed += 1
            elif _is_equivalent(change):
                same += 1
            else:
                survived.append(change)
    share = killed / max(1, killed + len(survived))
    for place, was, becomes in sorted(survived):
        print(f"  survived  {place}\n    - {was}\n    + {becomes}")
    print(f"{name}: {killed} killed, {len(survived)} survived, {same} equivalent: {share:.1%}", flush=True)
    return share


def _run(copy: Path, *command: str) -> int:
    """Run a command in the copy, on the packages of the copy."""
    paths = os.pathsep.join(str(copy / name) for name in (*PACKAGES, ""))
    surroundings = os.environ | {"PYTHONPATH": paths, "PYTHONPYCACHEPREFIX": str(copy / "compiled")}
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
    done = subprocess.run(command, cwd=copy, env=surroundings, check=False, capture_output=True, text=True)
    if done.returncode:
        print(done.stdout[-2000:], done.stderr[-2000:], file=sys.stderr)
    return done.returncode


def _jobs(copy: Path, session: Path, area: Area) -> Iterator[str]:
    """The changes of a session that a test could tell, in an order that does not depend on chance."""
    from cosmic_ray.work_db import WorkDB, use_db

    barred = {module: _barred(copy / module, area.definitions) for module in area.modules}
    with use_db(session, WorkDB.Mode.open) as database:
        found = []
        for item in database.work_items:
            (change,) = item.mutations
            module = Path(change.module_path).as_posix()
            if not any(first <= change.start_pos < last for first, last in barred[module]):
                found.append(((module, change.start_pos, change.operator_name, change.occurrence), item.job_id))
    return iter([job for _, job in sorted(found)])


def _barred(path: Path, definitions: tuple[str, ...]) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """The stretches of a module (from and to, as line and column) in which no change is made."""
    spans = []
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        parts: list[ast.expr | None] = []
        match node:
            case ast.FunctionDef():
                parts = [node.returns]
                spans += [
                    ((part.lineno, 0), (part.lineno + 1, 0)) for part in node.decorator_list if "lru_cache" in ast.unparse(part)
                ]
            case ast.arg() | ast.AnnAssign():
                parts = [node.annotation]
            case ast.Assign(targets=[ast.Name(id="__all__")]):
                parts = [node.value]
        spans += [_span(part) for part in parts if part is not None]
    if definitions:
        spans += [_span(node) for node in tree.body if getattr(node, "name", "") not in definitions]
    return spans


def _span(node: ast.expr | ast.stmt) -> tuple[tuple[int, int], tuple[int, int]]:
    assert node.end_lineno is not None and node.end_col_offset is not None
    first = min([(node.lineno, node.col_offset), *((part.lineno, 0) for part in getattr(node, "decorator_list", ()))])
    return first, (node.end_lineno, node.end_col_offset)


def _skip_others(session: Path, chosen: set[str]) -> None:
    """Mark every change that was not drawn as skipped."""
    from cosmic_ray.work_db import WorkDB, use_db
    from cosmic_ray.work_item import WorkerOutcome, WorkResult

    with use_db(session, WorkDB.Mode.open) as database:
        for item in database.work_items:
            if item.job_id not in chosen:
                database.set_result(item.job_id, WorkResult(worker_outcome=WorkerOutcome.SKIPPED))


def _results(session: Path) -> Iterator[tuple[bool, tuple[str, str, str]]]:
    """Whether each change that was tried was killed, with its place and its line before and after."""
    from cosmic_ray.work_db import WorkDB, use_db
    from cosmic_ray.work_item import TestOutcome, WorkerOutcome

    with use_db(session, WorkDB.Mode.open) as database:
        items = {item.job_id: item.mutations[0] for item in database.work_items}
        results = list(database.results)
    for job, result in results:
        if result.worker_outcome == WorkerOutcome.SKIPPED:
            continue
        lines = (result.diff or "").splitlines()
        was = " / ".join(line[1:].strip() for line in lines if line.startswith("-") and not line.startswith("---"))
        becomes = " / ".join(line[1:].strip() for line in lines if line.startswith("+") and not line.startswith("+++"))
        change = items[job]
        yield (
            result.test_outcome == TestOutcome.KILLED,
            (f"{change.module_path}:{change.start_pos[0]} {change.operator_name.rpartition('/')[2]}", was, becomes),
        )


def _is_equivalent(change: tuple[str, str, str]) -> bool:
    """Tell whether a change is listed as one that means the same."""
    place, was, becomes = change
    listed = tomllib.loads((ROOT / "tools" / "equivalent_mutants.toml").read_text(encoding="utf-8")).get("mutant", ())
    return any(
        place.startswith(f"{item['module']}:") and item["was"] in was and item["becomes"] in becomes and was != becomes
        for item in listed
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
