"""Measure the speed that the project promises: `python tests/benchmarks/measure.py [--quick]`. Ratios in one run, nothing asserted.

Every figure is the median of fresh processes (wall time), after one that is not counted: it leaves the compiled modules that an installed package has.
The comparison is yamllint on a YAML file of as many lines.
"""

from __future__ import annotations

import argparse
import math
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from builds import box, radial, yaml_of

EXAMPLES = Path(__file__).resolve().parent.parent.parent / "examples"
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def timed(command: list[str], runs: int) -> tuple[float, float, str]:
    """Return the median wall time [s], the largest memory [MB] and the last output of a command."""
    import resource

    times: list[float] = []
    output = ""
    for _ in range(runs):
        start = time.perf_counter()
        done = subprocess.run(command, capture_output=True, text=True, check=False, env=ENVIRONMENT)
        times.append(time.perf_counter() - start)
        output = done.stdout + done.stderr
    memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return statistics.median(times), memory, output


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--quick", action="store_true", help="fewer runs, no net of 10,000 wires")
    quick = parser.parse_args().quick
    runs = 5 if quick else 15
    python = sys.executable
    scripts = Path(python).parent
    inspect = [str(scripts / "ohmwright"), "inspect", "--today", "2026-01-01"]
    yamllint = [str(scripts / "yamllint"), "-d", "relaxed"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        build = folder / "box.rig"
        build.write_text(box())
        lines = len(box().splitlines())
        sheet = folder / "sheet.yaml"
        sheet.write_text(yaml_of(lines))
        for command in ([*inspect, str(build)], [*yamllint, str(sheet)]):
            timed(command, 1)
        ours, _, _ = timed([*inspect, str(build)], runs)
        theirs, _, _ = timed([*yamllint, str(sheet)], runs)
        print(
            f"cold, 60 wires x 10 declared states x all rules, {lines} lines: {ours * 1e3:.0f} ms, yamllint {theirs * 1e3:.0f} ms, ratio {ours / theirs:.2f} (at most 2.5, goal 1.5)"
        )
        for words, path in (("the same", build), ("the cabin of the examples", EXAMPLES / "cabin" / "cabin.rig")):
            reached, _, _ = timed([*inspect, "--states", "reached", str(path)], 3)
            _, _, output = timed([python, "-c", REACHED, str(path)], 1)
            print(f"reached states, {words}: {reached:.2f} s; {output.strip()} (at most 2 s for 1,000 circuits, 8 s for all)")
        points: list[tuple[int, float]] = []
        for wires in (100, 1000) if quick else (100, 1000, 10000):
            net = folder / f"net{wires}.rig"
            net.write_text(radial(wires))
            took, memory, output = timed(
                [*inspect, "--no-implied", "--budget", "120,4000", str(net)], 1 if wires == 10000 else 3
            )
            points.append((wires, took))
            print(f"{wires} wires x 10 states: {took:.2f} s, {memory:.0f} MB; {last_count(output)}")
        floor = points[0][1]
        (low, fast), (high, slow) = points[-2:]
        print(
            f"growth exponent from {low} to {high} wires: {math.log(slow / fast) / math.log(high / low):.2f} (at most 1.15; {floor:.2f} s at 100)"
        )
        many = folder / "many"
        sheets = folder / "sheets"
        many.mkdir()
        sheets.mkdir()
        for number in range(100):
            (many / f"box{number}.rig").write_text(box(seed=number + 1))
            (sheets / f"sheet{number}.yaml").write_text(yaml_of(lines))
        theirs, _, _ = timed([*yamllint, str(sheets)], 3)
        for words, more in (
            ("as it comes, on this machine's processors", []),
            ("in one process that keeps little", ["--jobs", "1"]),
        ):
            ours, _, _ = timed([*inspect, "--cache", "none", *more, str(many)], 3)
            print(f"100 such builds, {words}: {ours:.2f} s, yamllint {theirs:.2f} s, ratio {ours / theirs:.2f} (at most 5)")


def last_count(output: str) -> str:
    """Return the line that counts what was done."""
    found = re.search(r"\d+ files?, .*", output)
    return found.group() if found else output.strip()[-200:]


REACHED = """
import sys, gc, time
from datetime import date
from pathlib import Path
from ohmwright.engine import load_rules
from ohmwright.rules import installed_packs
from ohmwright.study import StudyOptions
from ohmwright.studying import make_study
from ohmwright_grammar.files import FolderFiles
from ohmwright_grammar.resolve import Loader, resolve
gc.disable()
path = Path(sys.argv[1])
build = resolve(path.name, Loader(FolderFiles(path.parent))).build
rules, _ = load_rules(installed_packs())
start = time.perf_counter()
study = make_study(build, StudyOptions(reached=True, today=date(2026, 1, 1)))
solved = time.perf_counter() - start
for rule in rules:
    for _ in rule.check(study):
        pass
took = time.perf_counter() - start
circuits = study.circuits_solved
print(f"{len(study.all_states)} states, {circuits} circuits solved, {took * 1e3 / max(1, circuits):.2f} ms a circuit with all rules, {study.not_reached} left out")
"""


if __name__ == "__main__":
    main()
