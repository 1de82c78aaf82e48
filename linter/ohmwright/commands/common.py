"""What the commands have in common: paths, budgets, names that are not known, and printing."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from functools import cache
from typing import IO, TYPE_CHECKING

from ohmwright_grammar.budget import Budget

if TYPE_CHECKING:
    from datetime import date

__all__ = [
    "BUDGET",
    "HANDFUL",
    "Limits",
    "StoppedError",
    "add_budget",
    "add_shares",
    "add_today",
    "colour_wanted",
    "complain",
    "no_such_rule",
    "put",
    "unknown_basis",
    "unknown_rules",
]

HANDFUL = 8  # builds: over before a second process has begun
_AT_ONCE = 1_000_000  # letters
_CLEARED_AFTER = 1_500_000  # objects that hold others, more than after the last clearing: some 200 MB
BUDGET = (15.0, 1000.0)  # seconds and megabytes for one build, design.md section 8


class StoppedError(Exception):
    """A run that cannot go on; the message says why."""


def complain(message: str) -> None:
    """Say on the error stream what keeps the command from going on."""
    from ohmwright.reports.words import clean

    print(f"ohmwright: {clean(message)}", file=sys.stderr)


def put(text: str | Iterable[str]) -> None:
    """Write text, whole or in pieces, to the output, whatever its encoding can hold."""
    encoding = sys.stdout.encoding or "utf-8"
    for whole in (text,) if isinstance(text, str) else text:
        for start in range(0, len(whole), _AT_ONCE):  # a large report is not held three times
            piece = whole[start : start + _AT_ONCE]
            sys.stdout.write(piece if piece.isascii() else piece.encode(encoding, "replace").decode(encoding))
    sys.stdout.flush()


def colour_wanted() -> bool:
    """Tell whether the output is a terminal that shows colours and whose owner wants them (NO_COLOR)."""
    import os

    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


# budgets -----------------------------------------------------------------------------------------------------------


def _budget(text: str) -> tuple[float, float]:
    seconds, _, megabytes = text.partition(",")
    try:
        found = float(seconds), float(megabytes or BUDGET[1])
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no budget: write seconds and megabytes, such as 15,1000") from None
    if not (0 < found[0] < 1e6 and 0 < found[1] < 1e9):
        raise argparse.ArgumentTypeError(
            f"{text!r} is no budget that can be kept: write seconds and megabytes, such as 15,1000"
        )
    return found


def _day(text: str) -> date:
    from datetime import date

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no date: write year-month-day, such as 2026-03-01") from None


def add_today(parser: argparse.ArgumentParser) -> None:
    """Declare the option for the day that counts."""
    parser.add_argument("--today", metavar="DATE", type=_day, help="the day that counts for waivers (default: today's date)")


def add_budget(parser: argparse.ArgumentParser, seconds: float = BUDGET[0]) -> None:
    """Declare the option for what a build may take."""
    parser.add_argument(
        "--budget", metavar="SECONDS,MEGABYTES", type=_budget, default=(seconds, BUDGET[1]),
        help=f"what one build may take (default {seconds:g},{BUDGET[1]:g})",
    )  # fmt: skip


def _share(text: str) -> tuple[int, int]:
    from ohmwright.commands.scale.sharing import share_of

    return share_of(text)


def add_shares(parser: argparse.ArgumentParser, run: str) -> None:
    """Declare the options for doing a run in shares; `run` says what kind of run."""
    parser.add_argument("--share", metavar="I/N", type=_share, help="inspect one of so many shares of the builds")
    parser.add_argument("--part", metavar="FILE", help="write what is found to a file that --join takes")
    parser.add_argument("--join", metavar="FILE", nargs="+", help=f"put together what the shares of a {run} wrote with --part")


class Limits:
    """Makes the budget of each build, and has the system hold its memory where the system can.

    The clock is looked at here and not in the engine, which has none. The limit on memory moves up with what earlier builds of the run hold, and
    what they left behind is cleared once it is much: the command switches the collector off, for one build alone is over before it would pay.
    """

    def __init__(self, seconds: float, megabytes: float) -> None:
        self.seconds = seconds
        self.megabytes = megabytes
        self._before: tuple[int, int] | None = None  # the limits that the system had
        self._status: IO[bytes] | None = None  # in which the system says how much is reserved
        self._frozen = False

    def release(self) -> None:
        """Give the system's limit, and the collector, back as they were."""
        if self._frozen:
            import gc

            gc.unfreeze()
        if self._status is not None:
            self._status.close()
            self._status = None
        if sys.platform != "win32" and self._before is not None:
            import resource

            resource.setrlimit(resource.RLIMIT_AS, self._before)
            self._before = None

    def __call__(self) -> Budget:
        from time import perf_counter

        self._clear()
        before = self._hold_memory()
        meter = None if before is None else lambda: (self._reserved() - before) / 1e6
        return Budget(self.seconds, self.megabytes, perf_counter, meter)

    def _clear(self) -> None:
        """Clear away what earlier builds left behind, once it is much."""
        import gc

        if gc.get_count()[0] > _CLEARED_AFTER:
            gc.collect()
            gc.freeze()  # the results so far are kept to the end: no later clearing need look at them
            self._frozen = True

    def _hold_memory(self) -> int | None:
        """Have the system hold the memory; return how many bytes are reserved now, None where the system does not say or cannot."""
        if sys.platform == "win32":
            return None
        try:
            import resource

            reserved = self._reserved()
            if self._before is None:
                self._before = resource.getrlimit(resource.RLIMIT_AS)
            most = [limit for limit in self._before if limit != resource.RLIM_INFINITY]
            wanted = min([int(reserved + self.megabytes * 1e6), *most])
            resource.setrlimit(resource.RLIMIT_AS, (wanted, self._before[1]))
            return reserved
        except (ImportError, OSError, ValueError):
            return None  # a system that cannot: the estimate of the engine is what is left

    def _reserved(self) -> int:
        """Return how many bytes the process has reserved; OSError where the system does not say."""
        if self._status is None:
            self._status = open("/proc/self/statm", "rb", buffering=0)  # noqa: SIM115 (read anew at every look)
        self._status.seek(0)
        return int(self._status.read(64).split()[0]) * _page()


@cache
def _page() -> int:
    if sys.platform == "win32":
        raise OSError("the system has no such file")
    import resource

    return resource.getpagesize()


# names that are not known ------------------------------------------------------------------------------------------


def unknown_basis(name: str) -> str:
    """Return what is wrong with a basis that was asked for, "" where it is known; PackError where a pack is broken."""
    from ohmwright_grammar.diagnostics import names_near

    from ohmwright.rules import installed_packs

    known = sorted({basis for pack in installed_packs() for basis in pack.bases})
    if not name or name in known:
        return ""
    near = names_near(name, known, "Bases") or f"Bases: {', '.join(known)}."
    return f"there is no basis {name!r}. {near}"


def unknown_rules(names: Iterable[str]) -> str:
    """Return what is wrong with the first rule or family that is not known, "" where all are; PackError where a pack is broken."""
    from ohmwright.rules import installed_packs

    wanted = tuple(names)
    if not wanted:
        return ""
    rules = [rule for pack in installed_packs() for rule, _, _ in pack.load()]
    known = {rule.id for rule in rules} | {rule.family for rule in rules}
    for name in wanted:
        if name not in known:
            return no_such_rule(name, known)
    return ""


def no_such_rule(name: str, known: Iterable[str]) -> str:
    """Return what to say of a name that no rule or family has: those that are spelt nearly so, or of which one word is."""
    from ohmwright_grammar.diagnostics import near

    words: dict[str, list[str]] = {}
    for rule in sorted(known):
        for word in dict.fromkeys((rule,) if "-" in name else (rule, *rule.split("-"))):
            words.setdefault(word, []).append(rule)
    found = list(dict.fromkeys(rule for word in near(name, words) for rule in words[word]))[:_MOST_RULES]
    return f"there is no rule {name!r}. " + (
        f"Rules near this one: {', '.join(found)}." if found else "Print all of them with: ohmwright basis"
    )


_MOST_RULES = 4
