"""Modules that libraries import at their head are imported when they are asked for, and work as ever then."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAD = "import sys\nimport ohmwright_grammar.late, ohmwright_grammar.parser_library\n"


def said_by(program: str) -> str:
    """Run a program in a fresh process, after the modules of the grammar; return what it printed."""
    done = subprocess.run([sys.executable, "-c", HEAD + program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.parametrize(
    "module", ["inspect", "lark.load_grammar", "lark.parsers.earley", "logging", "pickle", "tempfile", "textwrap", "traceback"]
)
def test_what_is_hardly_ever_needed_is_not_imported(module: str) -> None:
    assert said_by(f"print({module!r} in sys.modules)") == "False"


@pytest.mark.parametrize("parser", ["lalr", "earley", "cyk"])
def test_the_library_still_reads_grammars_of_every_kind(parser: str) -> None:
    program = f"import lark\nprint(lark.Lark('start: A A\\nA: \"a\"', parser={parser!r}).parse('aa').children)"
    assert said_by(program) == "[Token('A', 'a'), Token('A', 'a')]"


def test_the_library_still_knows_its_own_classes() -> None:
    program = "import lark\ntry:\n    lark.Lark(5)\nexcept AssertionError:\n    print('no grammar')"
    assert said_by(program) == "no grammar"


def test_transformers_and_their_inlined_arguments_still_work() -> None:
    program = (
        "import lark\n"
        "@lark.v_args(inline=True)\n"
        "class Sum(lark.Transformer):\n"
        "    def start(self, one, two):\n"
        "        return int(one) + int(two)\n"
        "print(Sum().transform(lark.Lark('start: N \"+\" N\\nN: /[0-9]+/').parse('20+22')))"
    )
    assert said_by(program) == "42"


def test_the_logger_of_the_library_is_silent_until_somebody_wants_to_hear_it() -> None:
    program = (
        "import lark, logging\n"
        "sys.stderr = sys.stdout\n"
        "lark.logger.error('not this')\n"
        "print(logging.getLogger('lark').level == logging.CRITICAL, len(logging.getLogger('lark').handlers))\n"
        "lark.logger.setLevel(logging.DEBUG)\n"
        "lark.logger.debug('but this')"
    )
    assert said_by(program).splitlines() == ["True 1", "but this"]


def test_others_get_the_real_modules() -> None:
    program = "import inspect, logging, pickle, urllib.parse, ntpath\nprint(inspect.getmro(int)[1].__name__, logging.INFO, urllib.parse.quote('a b'), ntpath.sep)"
    assert said_by(program) == "object 20 a%20b \\"


def test_paths_still_make_addresses() -> None:
    assert said_by("from pathlib import PurePosixPath\nprint(PurePosixPath('/a b').as_uri())") == "file:///a%20b"


def test_dataclasses_without_words_still_tell_their_signature() -> None:
    program = "import dataclasses\n@dataclasses.dataclass\nclass A:\n    x: int = 0\nprint(A.__doc__)"
    assert said_by(program) == "A(x: int = 0)"
