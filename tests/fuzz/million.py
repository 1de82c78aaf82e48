"""Send a million random texts through the parser: `python tests/fuzz/million.py [NUMBER] [SEED] [SECONDS]`.

The statements of one in five are read into facts as well, which takes five times as long. Stops at the first text that fails, which it prints, or when the seconds (of the clock) are over; says how many were read, how quickly, and what they were.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzz.checking import read
from fuzz.inputs import inputs

FACTS_OF_EACH = 5


def main(number: int = 1_000_000, seed: int = 1, seconds: float = 3600.0) -> int:
    """Read so many texts; return the exit code."""
    begun, begun_cpu = time.monotonic(), time.process_time()
    done = letters = statements = slow = 0
    slowest = 0.0
    for text in inputs(seed):
        if done >= number or (done % 1000 == 0 and time.monotonic() - begun > seconds):
            break
        before = time.process_time()
        try:
            statements += read(text, done % FACTS_OF_EACH == 0)
        except Exception as error:
            print(f"text {done} of seed {seed} failed: {error!r}\n{text!r}")
            raise
        took = time.process_time() - before
        slowest = max(slowest, took)
        slow += took > 0.1
        done += 1
        letters += len(text)
    took, cpu = time.monotonic() - begun, time.process_time() - begun_cpu
    print(
        f"{done:,} texts of {letters / max(done, 1):.0f} letters on average, {statements:,} statements, seed {seed}: none failed; "
        f"{took:.0f} s by the clock, {cpu:.0f} s of the processor, the slowest {slowest * 1000:.0f} ms, {slow} above 100 ms"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:])))
