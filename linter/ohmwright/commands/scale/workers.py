"""Processes beside each other that inspect builds. They are programs of their own, started alike on every system.

The standard library's pools are not used: what they start looks for its first modules in the current folder, which may be a stranger's repository, and
runs the program's own main file once more. Here a process is told where the modules lie and looks nowhere else.
"""

from __future__ import annotations

import json
import os
import pickle
import queue
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Sequence
from typing import Any

from ohmwright.commands.common import StoppedError
from ohmwright.commands.scale.tasks import Done, Task, lost
from ohmwright.commands.scale.worker import message, next_message
from ohmwright.inspecting import InspectOptions
from ohmwright.rules import PackError

__all__ = ["FailedError", "Workers", "processors"]

_START = "import json, sys; sys.path[:] = json.loads(sys.argv[1]); from ohmwright.commands.scale.worker import main; main()"
_AHEAD = 2  # tasks that a process has in hand, so that it need not wait for the next
_MOST_STARTS = 3  # of one after the other, before what is left is given up


class FailedError(StoppedError):
    """The program itself failed in one of the processes; the message says where."""


def processors() -> int:
    """Return how many processors this process may use."""
    try:
        return max(1, len(os.sched_getaffinity(0)))  # type: ignore[attr-defined,unused-ignore]  # not on every system
    except (AttributeError, OSError):
        return os.cpu_count() or 1


class Workers:
    """So many processes, ready for tasks; OSError where none can be started."""

    def __init__(self, count: int, groups: Sequence[tuple[str, InspectOptions]], budget: tuple[float, float]) -> None:
        self._first = message(pickle.dumps((list(groups), budget)))
        self._tasks: deque[tuple[int, Task]] = deque()
        self._lock = threading.Lock()
        self._answers: queue.Queue[tuple[int, Done | Exception | None] | None] = queue.Queue()
        self._stopped = False
        self._running: list[subprocess.Popen[bytes]] = [self._started()]
        for _ in range(count - 1):
            try:
                self._running.append(self._started())
            except OSError:
                break  # then with fewer

    def _started(self) -> subprocess.Popen[bytes]:
        if not sys.executable or getattr(sys, "frozen", False):
            raise OSError("there is no interpreter to start")
        path = json.dumps([os.path.abspath(place) for place in sys.path])
        return subprocess.Popen(
            [sys.executable, "-P", "-c", _START, path],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def run(self, tasks: Sequence[tuple[int, Task]], done: Callable[[int, Done], None]) -> list[int]:
        """Have all tasks done, and tell of each as it comes, in whatever order; return those of which what was found could not be sent.

        PackError and FailedError where the run cannot go on.
        """
        self._tasks.extend(tasks)
        threads = [threading.Thread(target=self._serve, args=(place,), daemon=True) for place in range(len(self._running))]
        for thread in threads:
            thread.start()
        serving, left = len(threads), len(tasks)
        unsent: list[int] = []
        while left and serving:
            try:
                answer = self._answers.get(timeout=0.5)  # so that somebody who interrupts is heard on every system
            except queue.Empty:
                continue
            if answer is None:
                serving -= 1
                continue
            number, found = answer
            if isinstance(found, Exception):
                raise found
            if found is None:
                unsent.append(number)
            else:
                done(number, found)
            left -= 1
        for number, (_, path) in self._tasks if left else ():
            done(number, lost(path, "no process is left"))
        return unsent

    def stop(self) -> None:
        """End every process."""
        with self._lock:
            self._stopped = True
            running = list(self._running)
        for process in running:
            process.kill()
        for process in running:
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    try:
                        stream.close()
                    except OSError:
                        continue  # what was still to be written has nobody to read it

    # one process, in a thread of this one -----------------------------------------------------------------------------

    def _serve(self, place: int) -> None:
        try:
            starts = 1
            while not self._served(place) and starts < _MOST_STARTS:
                starts += 1
                if not self._restarted(place):
                    break
        finally:
            self._answers.put(None)

    def _restarted(self, place: int) -> bool:
        with self._lock:
            if self._stopped:
                return False
            try:
                self._running[place] = self._started()
            except OSError:
                return False
        return True

    def _served(self, place: int) -> bool:
        """Give tasks to a process until none is left; False where it ended before."""
        process = self._running[place]
        assert process.stdin is not None and process.stdout is not None
        in_hand: deque[tuple[int, Task]] = deque()
        try:
            process.stdin.write(self._first)
            while True:
                while len(in_hand) < _AHEAD and (task := self._next()) is not None:
                    in_hand.append(task)
                    process.stdin.write(message(json.dumps(task[1]).encode()))
                process.stdin.flush()
                if not in_hand:
                    process.stdin.close()  # it ends by itself
                    return True
                data = next_message(process.stdout)
                if data is None:
                    break
                number, (_, path) = in_hand.popleft()
                self._answers.put((number, _read(data, path)))
        except (OSError, ValueError):
            pass
        if self._stopped:
            return True
        code = process.wait()
        if in_hand:
            number, (_, path) = in_hand.popleft()
            self._answers.put((number, lost(path, f"signal {-code}" if code < 0 else f"exit code {code}")))
            with self._lock:
                self._tasks.extendleft(reversed(in_hand))
        return False

    def _next(self) -> tuple[int, Task] | None:
        with self._lock:
            return self._tasks.popleft() if self._tasks else None


def _read(data: bytes, path: str) -> Done | Exception | None:
    head, _, piece = data.partition(b"\0")
    told: dict[str, Any] = json.loads(head)
    if "pack" in told:
        return PackError(told["pack"])
    if "failed" in told:
        return FailedError(told["failed"])
    if "alone" in told:
        return None
    if "lost" in told:
        return lost(path, told["lost"])
    read = told["read"]
    return Done(piece, told["plain"], None if read is None else tuple((name, mark) for name, mark in read), tuple(told["days"]))
