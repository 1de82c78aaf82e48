"""Whether a project's pyproject.toml has settings of ours."""

from __future__ import annotations

__all__ = ["table_in"]


def table_in(data: bytes) -> bool:
    """Tell whether the bytes of a pyproject.toml hold a table `tool.ohmwright`; also where it is no TOML but seems to have one."""
    import re

    text = data.decode("utf-8", "replace")
    named = re.search(r"tool[\"']?[ \t]*\.[ \t]*[\"']?ohmwright", text) is not None
    inside = re.search(r"^[ \t]*(\[[ \t]*[\"']?tool[\"']?[ \t]*\]|[\"']?tool[\"']?[ \t]*=)", text, re.MULTILINE) is not None
    if not (named or inside):
        return False
    from ohmwright.settings.reading import read

    found = read(text, "pyproject.toml", shared=True)
    if not found.legible:
        return named  # told where it seems to be meant for us; else it is a matter of others
    return found.settings is not None or bool(found.faults)
