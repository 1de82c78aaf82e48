"""What breaks on purpose inside of a watched run: a disk that is full, a folder that cannot be written, a process that is killed; and runs that misbehave.

`watched.py` calls one of these functions before the command line starts.
"""

from __future__ import annotations

import os
import signal
import sys
import tempfile
from collections.abc import Callable
from typing import Any

STEPS = ("os.open", "os.fdopen", "os.fsync", "os.chmod", "os.replace")  # of writing a file whole, in their order


def _patched(name: str, make: Callable[[Callable[..., Any]], Callable[..., Any]]) -> None:
    attribute = name.removeprefix("os.")
    setattr(os, attribute, make(getattr(os, attribute)))


def room_for(size: int) -> None:
    """Let the system refuse what goes beyond so many bytes in one file, in the middle of a write, as a full disk does."""
    import resource

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    # the streams of the test are files as well: they go where there is room
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115


def failing(step: str, number: int) -> None:
    """Let one step of writing fail with an error of the system; others of the same name (folders, reading) go on."""

    def make(real: Callable[..., Any]) -> Callable[..., Any]:
        def fail(*given: Any, **named: Any) -> Any:
            if step == "os.open" and not (len(given) > 1 and given[1] & os.O_CREAT):
                return real(*given, **named)
            raise OSError(number, os.strerror(number))

        return fail

    _patched(step, make)


def killed(step: str, when: str) -> None:
    """End the process at once, before or after a step of writing: as a power cut would, no handler runs."""

    def make(real: Callable[..., Any]) -> Callable[..., Any]:
        def die(*given: Any, **named: Any) -> Any:
            if step == "os.open" and not (len(given) > 1 and given[1] & os.O_CREAT):
                return real(*given, **named)
            if when == "after":
                real(*given, **named)
            os.kill(os.getpid(), signal.SIGKILL)
            raise AssertionError("still there")

        return die

    _patched(step, make)


def killed_within(size: int) -> None:
    """End the process in the middle of writing: after so many bytes of the new file."""
    real = os.fdopen

    def half(descriptor: int, mode: str = "r", *given: Any, **named: Any) -> Any:
        stream = real(descriptor, mode, *given, **named)
        if "w" not in mode:
            return stream

        class Half:
            def __enter__(self) -> Half:
                return self

            def __exit__(self, *given: Any) -> None:
                stream.close()

            def write(self, data: Any) -> int:
                stream.write(data[:size])
                stream.flush()
                os.kill(os.getpid(), signal.SIGKILL)
                raise AssertionError("still there")

        return Half()

    os.fdopen = half


def out_of(what: str) -> None:
    """Let the system refuse what a process may have only so much of: open files, or further processes."""
    import resource

    kind = {"files": resource.RLIMIT_NOFILE, "processes": resource.RLIMIT_NPROC}[what]
    resource.setrlimit(kind, (6 if what == "files" else 0,) * 2)


def bound_by_rights() -> None:
    """Let the rights of files and folders hold for whoever is root as well: no capability is left that passes them over (capset(2), version 3)."""
    import ctypes

    header, data = (ctypes.c_uint32 * 2)(0x20080522, 0), (ctypes.c_uint32 * 6)()
    if ctypes.CDLL(None, use_errno=True).capset(header, data):
        raise OSError(ctypes.get_errno(), "the capabilities stay")


# runs that misbehave: what the watch must see ---------------------------------------------------------------------------


def _instead(do: Callable[[], Any]) -> None:
    import ohmwright.cli

    def main(arguments: Any) -> int:
        do()
        return 0

    ohmwright.cli.main = main


def misbehave(how: str) -> None:
    """Do one thing that no run may do, in place of the command line."""
    import shutil
    import socket
    import subprocess

    def evil() -> None:
        with open("evil.py", encoding="utf-8") as stream:
            exec(compile(stream.read(), os.path.abspath("evil.py"), "exec"), {})

    deeds: dict[str, Callable[[], Any]] = {
        "reads outside": lambda: open("../outside/shelf.rig", encoding="utf-8").close(),
        "reads a system file": lambda: open("/etc/passwd", "rb").close(),
        "lists outside": lambda: os.listdir("../outside"),
        "writes": lambda: open("new.txt", "w", encoding="utf-8").close(),
        "writes outside": lambda: open("../outside/new.txt", "w", encoding="utf-8").close(),
        "makes a folder": lambda: os.mkdir("new"),
        "makes a temporary file": lambda: os.remove(tempfile.mkstemp()[1]),
        "removes": lambda: os.remove("box.rig"),
        "renames": lambda: os.rename("box.rig", "other.rig"),
        "changes rights": lambda: os.chmod("box.rig", 0o600),
        "copies": lambda: shutil.copyfile("box.rig", "copy.rig"),
        "runs a program": lambda: subprocess.run([sys.executable, "-c", ""], check=False),
        "runs a shell line": lambda: os.system("true"),
        "opens a socket": lambda: socket.socket().close(),
        "asks for a name": lambda: socket.getaddrinfo("localhost", 80),
        "runs code": evil,
    }
    _instead(deeds[how])


DEEDS = (
    "reads outside", "reads a system file", "lists outside", "writes", "writes outside", "makes a folder", "makes a temporary file", "removes", "renames",
    "changes rights", "copies", "runs a program", "runs a shell line", "opens a socket", "asks for a name", "runs code",
)  # fmt: skip
