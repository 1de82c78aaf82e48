"""What a planted fault brings about: `python tools/plant.py WORDS` prints, of every planting whose id holds the words, what is new in the planted build.

`python tools/plant.py --near RULE.GRADE` lists where a grade (or any grade of a rule) holds in the bases, the nearest to its limit first: there a fault
is planted best. With each finding stand the measured and the allowed value, and how far the planting lies from its limit. `--text` prints the planted build as well,
`--why` the working of the finding. A planting that is not as it must be is told at its end, and the tool then ends with 1.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from faults.gathering import all_plantings
from faults.inspecting import base_names, base_result, planted_text
from faults.judging import judge, numbers, told_of
from faults.planting import TODAY

__all__ = ["main"]


def main(arguments: list[str]) -> int:
    """Try the plantings that are named; 1 where one is not as it must be, 2 where none is."""
    words = [word for word in arguments if not word.startswith("--")]
    if "--near" in arguments and words:
        return _near(words[0], "--reached" in arguments)
    chosen = [item for item in all_plantings() if words and all(word in item.id for word in words)]
    if not chosen:
        print("no planting has these words in its id; ids begin with RULE.GRADE-HOW-BASE-SUBJECT")
        return 2
    wrong = 0
    for planting in chosen:
        verdict = judge(planting)
        margin = "" if verdict.margin is None else f", {-verdict.margin:+.1%} from the limit"
        print(f"{planting.id}  ({verdict.seconds * 1000:.0f} ms{margin})")
        for line in told_of(verdict):
            print(f"  {line}")
        if "--why" in arguments and verdict.found is not None:
            print(f"  {verdict.found.finding.message}")
            for step in verdict.found.finding.working:
                print(f"    {step}")
        if "--text" in arguments:
            print(planted_text(planting)[0])
        for fault in verdict.faults:
            print(f"  WRONG {fault}")
        wrong += bool(verdict.faults)
    print(f"{len(chosen)} plantings, {wrong} not as they must be")
    return 1 if wrong else 0


def _near(grade: str, reached: bool) -> int:
    """List where a grade holds in the bases, and where it could not be checked there."""
    rows: list[tuple[float, str]] = []
    for base in base_names():
        build = base_result(base, reached, TODAY, "")
        for item in build.passes:
            if grade in (item.rule.id, f"{item.rule.id}.{item.passed.grade}"):
                margin = item.passed.margin
                share = "" if margin is None else f" ({margin:.1%} left)"
                state = f", in {item.passed.state!r}" if item.passed.state else ""
                words = f"{base} ({build.basis}): {item.passed.grade} holds on {', '.join(item.passed.subject)}{numbers(item)}{share}{state}"
                rows.append((float("inf") if margin is None else margin, words))
        for unchecked in build.not_checked:
            if grade in (unchecked.rule.id, f"{unchecked.rule.id}.{unchecked.grade.name}"):
                subject = ", ".join(unchecked.outcome.subject)
                rows.append(
                    (float("inf"), f"{base}: {unchecked.grade.name} not checked on {subject}: {unchecked.outcome.missing}")
                )
        for rule, idle in build.does_not_apply:
            if rule == grade.partition(".")[0]:
                rows.append((float("inf"), f"{base}: does not apply: {idle.condition} ({idle.count})"))
    for _, words in sorted(rows):
        print(words)
    return 0 if rows else 2


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except BrokenPipeError:  # a reader, such as head, has had enough
        sys.exit(0)
