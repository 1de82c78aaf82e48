"""The command line: which command, and what every command has in common.

Exit codes: 0 nothing at or above the bar, 1 something is, 2 something could not be read or used, a budget ran out, or the run itself failed; 2 wins over 1.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

import ohmwright_grammar.late  # noqa: F401 (first: it spares what dataclasses and pathlib import)

from ohmwright import __version__

__all__ = ["COMMANDS", "failure_in_words", "main", "run"]

COMMANDS: dict[str, str] = {
    "inspect": "inspect build files or folders and say what is unsafe or will not work",
    "compare": "what a change does: what changes the judgement first, then findings, margins and parts",
    "solve": "currents, drops and powers of every state",
    "basis": "what a rule checks, why, its formula, its reference",
    "size": "which other gauges, fuses and lengths would mend what is found",
    "tidy": "put the text of a build into its canonical layout",
}


def _help(prog: str) -> argparse.HelpFormatter:
    """Return what lays out the help: 80 columns, since asking for the width of the terminal costs more than reading the options."""
    return argparse.HelpFormatter(prog, width=78)


def _parser(command: str | None) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="ohmwright",
        description="Reads the design of a small DC power system as text, does the sums in every operating state, and says what is unsafe, what will not work, why, and what would mend it.",
        epilog="A design check against published values, no approval: local codes and licensed practice decide.",
        formatter_class=_help,
    )
    parser.add_argument("--version", action="version", version=f"ohmwright {__version__}")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name, words in COMMANDS.items():
        if command in (None, name):  # the others cost more than reading the options does
            sub = subparsers.add_parser(name, help=words, description=words[0].upper() + words[1:] + ".", formatter_class=_help)
            if command:
                import_module(f"ohmwright.commands.{name}").add_options(sub)
    return parser


def _failed(error: Exception) -> int:
    """Say in one line where the program itself went wrong; the variable OHMWRIGHT_TRACE shows all of it."""
    import traceback

    if os.environ.get("OHMWRIGHT_TRACE"):
        traceback.print_exception(error)
    print(f"ohmwright: {failure_in_words(error)}", file=sys.stderr)
    return 2


def failure_in_words(error: Exception) -> str:
    """Return in one line where the program itself went wrong."""
    import traceback

    last = traceback.extract_tb(error.__traceback__)[-1]
    from ohmwright.reports.words import clean

    words = clean(" ".join(f"{type(error).__name__}: {error}".split())[:300])
    where = f"{os.path.basename(last.filename)} line {last.lineno}"
    return f"the program itself failed, at {where}: {words}. Please report it with the file."


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    command = next((word for word in given if not word.startswith("-")), None)
    gc.disable()  # one short run: nothing it makes is worth collecting before the end
    try:
        if any(word.startswith("-") and "=" in word for word in given):
            from ohmwright.commands.changes import like_an_option

            if like_an_option(given):
                return 2
        options = _parser(command if command in COMMANDS else None).parse_args(given)
        return int(import_module(f"ohmwright.commands.{options.command}").run(options))
    except BrokenPipeError:
        sys.stderr.close()
        return 2
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 2
    except RecursionError:
        print("ohmwright: the input is nested too deeply to be read", file=sys.stderr)
        return 2
    except MemoryError:
        print("ohmwright: there is not enough memory for this input", file=sys.stderr)
        return 2
    except Exception as error:  # a mistake of the program: named, never a clean run, and never a page of its insides
        return _failed(error)


def run() -> NoReturn:
    """Run the command of the process and end the process with its exit code.

    It ends at once: taking a large study apart piece by piece, only for the memory to be given back, is an eighth of the time of a small run.
    """
    code = main()
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except (OSError, ValueError):  # the reader of the pipe has gone
        code = 2
    os._exit(code)


if __name__ == "__main__":
    run()
