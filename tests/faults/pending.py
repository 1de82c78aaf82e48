"""Families of rules whose grades are not all planted yet: none. A new family may stand here while its plantings are written."""

PENDING: frozenset[str] = frozenset()
