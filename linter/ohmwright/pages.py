"""The page of a rule: the Markdown file that lies beside its module."""

from __future__ import annotations

from pathlib import Path

__all__ = ["page_beside"]


def page_beside(module_file: str | None) -> str:
    """Return the page that lies beside the module of a rule, "" where there is none."""
    try:
        return Path(module_file).with_suffix(".md").read_text(encoding="utf-8") if module_file else ""
    except (OSError, ValueError):
        return ""
