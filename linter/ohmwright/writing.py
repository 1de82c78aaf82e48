"""Writing a file whole or not at all: into a temporary file beside it, which then takes its place in one step."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

__all__ = ["write_whole"]


def write_whole(path: Path, text: str | Iterable[str]) -> str:
    """Put a text (UTF-8, LF), whole or in pieces, in the place of a file; return why that could not be done, "" where it could.

    Whatever happens, the old file or the new one is there, never a part. A link is followed; what is no plain file (a terminal, a pipe) is written
    to as it is.
    """
    import tempfile

    pieces = (text,) if isinstance(text, str) else text
    temporary = ""
    try:
        place = Path(os.path.realpath(path))
        if place.exists() and not place.is_file():
            if place.is_dir():
                return f"{path} is a folder"
            with open(place, "w", encoding="utf-8", newline="\n") as stream:
                stream.writelines(pieces)
            return ""
        mode = os.stat(place).st_mode & 0o7777 if place.exists() else 0o666 & ~_mask()
        descriptor, temporary = tempfile.mkstemp(prefix=f".{place.name[:100]}.", suffix=".tmp", dir=place.parent)
        with os.fdopen(descriptor, "wb") as writing:
            for piece in pieces:
                writing.write(piece.encode("utf-8", "backslashreplace"))
            writing.flush()
            os.fsync(writing.fileno())
        os.chmod(temporary, mode)
        os.replace(temporary, place)
        temporary = ""
    except (OSError, ValueError) as error:
        return f"{path} cannot be written: {getattr(error, 'strerror', None) or error}"
    finally:
        if temporary:
            with suppress(OSError):
                os.unlink(temporary)
    return ""


def _mask() -> int:
    """Return which rights new files do not get; the system tells only who sets it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
