"""The table of planted faults: by family, how many were found, missed, and what was told without cause."""

from __future__ import annotations

from collections.abc import Sequence

from faults.gathering import all_rules
from faults.judging import Verdict

__all__ = ["table_of"]

_ROW = "{:<14} {:>7} {:>10} {:>7} {:>6} {:>7} {:>13} {:>8}"


def table_of(verdicts: Sequence[Verdict]) -> list[str]:
    """Return the lines of the table; `found` counts faults, the others of the plantings must stay silent."""
    by_family: dict[str, list[Verdict]] = {}
    for verdict in verdicts:
        rule = all_rules().get(verdict.planting.rule)
        by_family.setdefault(rule.family if rule is not None else "unknown", []).append(verdict)
    lines = [_ROW.format("family", "grades", "plantings", "faults", "found", "missed", "false alarms", "recall")]
    lines += [_row(family, by_family[family]) for family in sorted(by_family)]
    spent = sum(verdict.seconds for verdict in verdicts)
    return [
        *lines,
        _row("all", verdicts),
        f"{len(verdicts)} builds planted in {spent:.0f} s, {spent / len(verdicts) * 1000:.0f} ms each",
    ]


def _row(family: str, verdicts: Sequence[Verdict]) -> str:
    grades = len({verdict.planting.grade for verdict in verdicts})
    faults = [verdict for verdict in verdicts if verdict.planting.must_find]
    found = sum(verdict.found is not None for verdict in faults)
    alarms = sum(len(verdict.false_alarms) for verdict in verdicts)
    recall = f"{found / len(faults):.1%}" if faults else "-"
    if faults and found == len(faults):
        recall = "100 %"
    return _ROW.format(
        family,
        grades,
        len(verdicts),
        len(faults),
        found,
        len(faults) - found,
        alarms,
        recall.replace("%", " %").replace("  ", " "),
    )
