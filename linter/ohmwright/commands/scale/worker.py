"""A process that inspects what it is told on its input, and answers on its output. Started by `workers` alone.

Messages in both directions are a length in four bytes and so many bytes. The first one holds the terms; each after it one task as JSON, until the input
ends. An answer is JSON, a zero byte, and the packed piece.
"""

from __future__ import annotations

import gc
import json
import os
import pickle
import struct
import sys
from typing import IO

from ohmwright.commands.common import Limits
from ohmwright.commands.scale.coding import CodingError
from ohmwright.commands.scale.tasks import Inspector
from ohmwright.rules import PackError

__all__ = ["main", "message", "next_message"]


def message(data: bytes) -> bytes:
    """Return data as a message."""
    return struct.pack("<I", len(data)) + data


def next_message(stream: IO[bytes]) -> bytes | None:
    """Return the next message of a stream, None where it has ended."""
    head = stream.read(4)
    if len(head) < 4:
        return None
    (length,) = struct.unpack("<I", head)
    data = stream.read(length)
    return data if len(data) == length else None


def main() -> None:
    """Answer until the input ends."""
    gc.disable()  # the limits clear away what is left behind
    asked = sys.stdin.buffer
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints shall not get between the answers
    try:
        first = next_message(asked)
        if first is None:
            return
        groups, (seconds, megabytes) = pickle.loads(first)  # from the process that started this one
        inspector = Inspector(groups, Limits(seconds, megabytes))
        while (data := next_message(asked)) is not None:
            number, path = json.loads(data)
            answers.write(message(_answer(inspector, number, path)))
            answers.flush()
    except (BrokenPipeError, KeyboardInterrupt):
        pass  # the run was stopped
    finally:
        os._exit(0)


def _answer(inspector: Inspector, number: int, path: str) -> bytes:
    try:
        done = inspector.inspect((number, path))
        data = done.data
    except PackError as error:
        return json.dumps({"pack": str(error)}).encode() + b"\0"
    except MemoryError:
        return json.dumps({"lost": "there was not enough memory"}).encode() + b"\0"
    except CodingError:  # a pack said something that cannot be written: the process that asked can keep it as it is
        return json.dumps({"alone": True}).encode() + b"\0"
    except Exception as error:
        from ohmwright.cli import failure_in_words

        return json.dumps({"failed": failure_in_words(error)}).encode() + b"\0"
    told = {"plain": done.is_plain, "read": done.read, "days": done.days}
    return json.dumps(told).encode() + b"\0" + data
