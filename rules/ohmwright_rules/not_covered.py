"""The codes of the fault catalogue that no rule of this pack covers, each with its reason."""

from __future__ import annotations

__all__ = ["NOT_COVERED"]

NOT_COVERED: tuple[tuple[str, str], ...] = (
    (
        "M8",
        "a sheet that is older than its build can only be told once sheets carry the hash of the model that they were drawn from",
    ),
    ("M9", "there is no diagram of the build that its parts list could disagree with"),
)
