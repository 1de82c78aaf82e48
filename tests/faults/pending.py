"""Families of rules whose grades are not all planted yet. The list ends up empty; each line has a comment above, so that two may go at once."""

PENDING: frozenset[str] = frozenset(
    {
        #
        #
        #
        #
    }
)
