"""Measure runs over many builds: one process, two processes, and a second run with one change. Run: python tests/benchmarks/many.py [BUILDS].

Prints wall and processor seconds, and the largest process. On a machine that is not idle the processor seconds tell: with two processors a run of two
processes takes at best half of all that its processes take together.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

CLEAN = Path(__file__).resolve().parents[2] / "examples" / "clean"
LIBRARIES = ("apparatus", "batteries", "devices", "packs")


def make(folder: Path, count: int) -> None:
    """Put so many builds into a folder: the clean examples in turn, each under a title of its own."""
    (folder / ".git").mkdir()
    (folder / "lib").mkdir()
    for name in LIBRARIES:
        (folder / "lib" / f"{name}.rig").write_bytes((CLEAN / f"{name}.rig").read_bytes())
    sources = [path for path in sorted(CLEAN.glob("*.rig")) if path.stem not in LIBRARIES]
    for number in range(count):
        source = sources[number % len(sources)]
        text = source.read_text(encoding="utf-8").replace('rig "', f'rig "No {number} ', 1)
        for name in LIBRARIES:
            text = text.replace(f'"{name}.rig"', f'"../lib/{name}.rig"')
        place = folder / f"set{number // 50:03d}"
        place.mkdir(exist_ok=True)
        (place / f"{source.stem}{number:05d}.rig").write_text(text, encoding="utf-8")


def run(folder: Path, cache: Path, *more: str) -> tuple[float, float, bytes]:
    """Run once; return wall and processor seconds of all its processes, and print them with the largest process."""
    script = "from ohmwright.cli import run; import sys; sys.argv = ['ohmwright', *sys.argv[1:]]; run()"
    start = time.perf_counter()
    report = folder.parent / "report"
    with open(report, "wb") as out:
        process = subprocess.Popen([sys.executable, "-c", script, "inspect", str(folder), "--today", "2026-01-01", *more],
            stdout=out, env=os.environ | {"XDG_CACHE_HOME": str(cache)})  # fmt: skip
        _, _, used = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    processor = used.ru_utime + used.ru_stime
    print(
        f"{' '.join(more) or 'as it is':40} wall {wall:7.2f} s, processors {processor:7.2f} s, largest process {used.ru_maxrss / 1024:5.0f} MiB",
        flush=True,
    )
    return wall, processor, report.read_bytes()


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as place:
        folder, cache = Path(place, "builds"), Path(place, "caches")
        folder.mkdir()
        make(folder, count)
        one = run(folder, cache, "--jobs", "1", "--cache", "none")
        two = run(folder, cache, "--jobs", "2")
        print(
            f"two processes: {one[0] / two[0]:.2f} times as fast here; at best {2 * one[1] / two[1]:.2f} times on two idle processors; same report: {one[2] == two[2]}"
        )
        again = run(folder, cache)
        changed = next(iter(sorted(folder.glob("set*/*.rig"))))
        changed.write_text(changed.read_text(encoding="utf-8").replace('rig "No', 'rig "Number', 1), encoding="utf-8")
        more = run(folder, cache)
        print(f"second run: {again[0] / two[0]:.1%} of the wall time, {again[1] / two[1]:.1%} of the processor time")
        print(
            f"second run with one change: {more[0] / two[0]:.1%} of the wall time, {more[1] / two[1]:.1%} of the processor time"
        )
        run(folder, cache, "--output", "json")
        run(folder, cache, "--output", "sarif")


if __name__ == "__main__":
    main()
