"""Runs the command line in a process of its own and writes down what it takes and what it touches.

Called as `python -P watched.py PLACES -- ARGUMENTS`: the report, a line of JSON after a mark, is the last thing on the error stream; PLACES (JSON) are the
folder that may be read and the files or folders that may be written. An audit hook of the interpreter sees every file that is opened, moved or removed,
every process, every socket and every piece of code that is run: what is none of the program's business is in the report, whatever the program printed.
"""

from __future__ import annotations

import json
import os
import sys
import time
from contextlib import suppress
from typing import Any

MARK = "\0report "
MOST_CPU_SECONDS = 12  # the process is ended beyond; tests ask for far less
MOST_BYTES = 4_000_000_000  # the same for the address space
_MOST_TOLD = 20

FORBIDDEN = (
    "socket.", "subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "os.forkpty", "pty.", "urllib.", "http.", "ftplib.",
    "smtplib.", "pickle.find_class", "webbrowser.", "os.startfile", "shutil.", "os.kill", "signal.",
)  # fmt: skip
CHANGING = (
    "os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.truncate", "os.chmod", "os.chown", "os.utime", "os.mkfifo",
    "tempfile.mkstemp", "tempfile.mkdtemp", "os.setxattr", "os.removexattr",
)  # fmt: skip
LISTING = ("os.scandir", "os.listdir", "os.walk", "glob.glob")
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


class Watch:
    """The hook: holds each event against the places that a run may read and write."""

    def __init__(self, root: str, writable: list[str]) -> None:
        self.root = os.path.realpath(root)
        self.writable = [os.path.realpath(place) for place in writable]
        own = [sys.prefix, sys.base_prefix, sys.exec_prefix, os.path.dirname(os.__file__), *(path for path in sys.path if path)]
        own += [place for place in (sys.pycache_prefix,) if place]
        self.code = [os.path.realpath(path) for path in own]
        self.system = [
            "/proc/self",
            f"/proc/{os.getpid()}",
            os.path.realpath("/usr/share/zoneinfo"),
            "/etc/localtime",
            os.devnull,
        ]
        self.told: list[str] = []
        self.on = False

    def tell(self, words: str) -> None:
        if len(self.told) < _MOST_TOLD:
            self.told.append(words)

    def __call__(self, event: str, given: tuple[Any, ...]) -> None:
        if not self.on:
            return
        self.on = False  # what the hook itself looks up is no event of the run
        try:
            self._look(event, given)
        finally:
            self.on = True

    def _look(self, event: str, given: tuple[Any, ...]) -> None:
        if event == "open":
            self._opened(given[0], given[1], given[2])
        elif event in CHANGING:
            for place in given[: 2 if event in ("os.rename", "os.link", "os.symlink") else 1]:
                if isinstance(place, str | bytes | os.PathLike) and not self._may_write(place):
                    self.tell(f"{event} {os.fsdecode(place)!r}")
        elif event in LISTING:
            if isinstance(given[0], str | bytes | os.PathLike) and not self._may_read(given[0]):
                self.tell(f"{event} {os.fsdecode(given[0])!r}")
        elif event == "exec":
            name = getattr(given[0], "co_filename", "")
            if not name.startswith("<") and not _below(os.path.realpath(name), self.code):
                self.tell(f"ran code of {name!r}")
        elif event == "ctypes.dlopen":  # a package that is installed may load what is its own
            if given[0] and not _below(os.path.realpath(os.fsdecode(given[0])), self.code):
                self.tell(f"{event} {os.fsdecode(given[0])!r}")
        elif event.startswith(FORBIDDEN):
            self.tell(f"{event} {str(given)[:200]}")

    def _opened(self, place: Any, mode: Any, flags: Any) -> None:
        if not isinstance(place, str | bytes | os.PathLike):
            return  # a descriptor that was opened before, and looked at then
        writes = bool(flags & _WRITING) if isinstance(flags, int) else False
        if isinstance(mode, str) and any(sign in mode for sign in "wax+"):
            writes = True
        if writes and not self._may_write(place):
            self.tell(f"opened for writing {os.fsdecode(place)!r}")
        elif not writes and not self._may_read(place):
            self.tell(f"opened {os.fsdecode(place)!r}")

    def _may_read(self, place: Any) -> bool:
        path = os.path.realpath(os.fsdecode(place) or ".")
        return _below(path, [self.root, *self.code, *self.system, *self.writable])

    def _may_write(self, place: Any) -> bool:
        path = os.path.realpath(os.fsdecode(place))
        if path == os.devnull or _below(path, self.writable):
            return True
        folder, name = os.path.split(path)  # the file beside a target that takes its place when it is whole
        return any(
            name.startswith(f".{os.path.basename(target)[:100]}.") and folder == os.path.dirname(target)
            for target in self.writable
        )


def _below(path: str, places: list[str]) -> bool:
    return any(path == place or path.startswith(place.rstrip(os.sep) + os.sep) for place in places)


def most_megabytes() -> float | None:
    """Return the most memory that this process ever used, None where the system does not say."""
    with suppress(OSError), open("/proc/self/status", encoding="ascii", errors="replace") as stream:
        for line in stream:
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1000
    with suppress(ImportError):
        import resource

        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)
    return None


def main() -> None:
    """Run, report, end with the exit code of the command line."""
    places = json.loads(sys.argv[1])
    arguments = sys.argv[3:]
    with suppress(ImportError, OSError, ValueError):
        import resource

        resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_SECONDS, MOST_CPU_SECONDS + 5))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    time.perf_counter = (
        time.process_time
    )  # budgets count the processor's time: a busy machine then hides no slow run, and cuts no quick one short
    watch = Watch(places["root"], places["write"])
    sys.addaudithook(watch)
    if places.get("before"):  # what breaks on purpose in this run: a full disk, a process that is killed
        import importlib.util

        spec = importlib.util.spec_from_file_location("breaking", os.path.join(os.path.dirname(__file__), "breaking.py"))
        assert spec is not None and spec.loader is not None
        breaking = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(breaking)
        getattr(breaking, places["before"])(*places.get("given", ()))
    begun = time.process_time()
    watch.on = True
    from ohmwright.cli import main as command_line

    try:
        code = command_line(arguments)
    except SystemExit as end:
        code = int(end.code or 0) if not isinstance(end.code, str) else 1
    with suppress(OSError, ValueError):
        sys.stdout.flush()
        sys.stderr.flush()
    watch.on = False
    words = {"code": code, "seconds": time.process_time() - begun, "megabytes": most_megabytes(), "told": watch.told}
    os.write(2, MARK.encode("ascii") + json.dumps(words).encode("ascii"))
    os._exit(code)


if __name__ == "__main__":
    main()
