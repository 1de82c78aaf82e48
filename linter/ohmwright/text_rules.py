"""The rules about texts, waivers and adaptations that the linter itself applies; everything electrical is in rule packs."""

from __future__ import annotations

from functools import cache

from ohmwright.findings import Severity
from ohmwright.references import Reference
from ohmwright.rules import Grade, Rule

__all__ = ["BASELINE_RULES", "ENGINE_RULES", "OWN_FAMILIES", "TEXT_GRADE", "engine_rule", "text_rule"]

TEXT_GRADE = "unreadable"
OWN_FAMILIES = frozenset(
    {"text", "waivers", "adaptations", "baseline"}
)  # these check words, nothing electrical, and rest on the manual alone
_MANUAL = Reference("Ohmwright, manual of the build language", "", "grammar/LANGUAGE.md", "read")

_SETTINGS = Reference("Ohmwright, manual of the settings", "", "linter/SETTINGS.md", "read")

_TEXT: dict[str, tuple[str, str]] = {
    "unreadable-text": ("Text that cannot be read", "a statement does not have the form of any in the manual"),
    "missing-unit": ("Number without a unit", "a physical value has no unit"),
    "wrong-unit": ("Unit of another quantity", "a value has a unit that does not fit"),
    "unknown-unit": ("Unknown unit", "a value has a unit that is not known"),
    "unknown-property": ("Unknown property", "the words say nothing that is known of the thing"),
    "unknown-name": ("Unknown name", "a part, terminal, zone, state or rule of that name is not declared"),
    "duplicate-name": ("Name given twice", "two things have one name"),
    "said-twice": ("Property said twice", "one property of one thing is said twice"),
    "senseless-value": ("Value out of any sense", "a value is outside what can be"),
    "unclosed-block": ("Brace without its partner", "a block is not closed, or closed twice"),
    "unclosed-text": ("Text without its closing mark", "a text between quotation marks is not closed"),
    "file-not-read": ("File that cannot be read", "a file is missing, not a text, or outside of the root"),
    "circle-of-files": ("Files in a circle", "files read each other in a circle"),
    "defaults-differ": ("Defaults that differ", "two defaults that reach equally far say different things"),
    "lost-property": ("Change of what is not there", "an adaptation changes what the published build does not have"),
    "over-limit": ("Too large", "a limit on size, depth or number is passed"),
    "no-statement": ("File without a statement", "the file says nothing"),
    "contradictory-state": ("State that contradicts itself", "a state says what the thing cannot do, or two things at once"),
}

_ENGINE: tuple[Rule, ...] = (
    Rule(
        "expired-waiver", "Waiver past its date", "waivers", "waiver", ("M15",),
        (Grade("expired", Severity.WARNING, "the last day of a waiver has passed"),), (_MANUAL,),
    ),
    Rule(
        "incomplete-waiver", "Waiver that does not say enough", "waivers", "waiver", ("M15",),
        (Grade("incomplete", Severity.WARNING, "a waiver lacks its reason, its value or its date, so that it excuses nothing"),), (_MANUAL,),
    ),
    Rule(
        "outgrown-waiver", "Waiver that was outgrown", "waivers", "waiver", (),
        (Grade("outgrown", Severity.NOTE, "the measured value has passed what the waiver excuses, so that the finding stands"),), (_MANUAL,),
    ),
    Rule(
        "unused-waiver", "Waiver of nothing", "waivers", "waiver", (),
        (Grade("unused", Severity.NOTE, "no finding is waived by it"),), (_MANUAL,),
    ),
    Rule(
        "changed-base", "Published build that is not the one named", "adaptations", "rig", (),
        (
            Grade("no-hash", Severity.WARNING, "an adaptation does not name the content hash of its base"),
            Grade("other-hash", Severity.ERROR, "the base has another content than the one named"),
            Grade("other-revision", Severity.WARNING, "the base has another revision than the one named"),
        ), (_MANUAL,),
    ),
    Rule(
        "waiver-to-confirm", "Waiver of the published build", "adaptations", "waiver", (),
        (Grade("to-confirm", Severity.NOTE, "a waiver of the base does not carry over"),), (_MANUAL,),
    ),
    Rule(
        "outgrown-baseline-entry", "Baseline entry that was outgrown", "baseline", "finding", (),
        (Grade("outgrown", Severity.NOTE, "a finding is worse than its entry in the baseline, so that it stands"),), (_SETTINGS,),
    ),
    Rule(
        "unused-baseline-entry", "Baseline entry of nothing", "baseline", "finding", (),
        (Grade("unused", Severity.NOTE, "a finding that stands in the baseline is found no more"),), (_SETTINGS,),
    ),
)  # fmt: skip


def engine_rule(name: str) -> Rule:
    """Return a rule about waivers or adaptations by its id."""
    return next(rule for rule in _ENGINE if rule.id == name)


@cache
def text_rule(name: str) -> Rule:
    """Return the rule of a text problem."""
    title, condition = _TEXT.get(name, _TEXT["unreadable-text"])
    known = name if name in _TEXT else "unreadable-text"
    return Rule(known, title, "text", "statement", (), (Grade(TEXT_GRADE, Severity.ERROR, condition),), (_MANUAL,))


ENGINE_RULES: tuple[Rule, ...] = (*(text_rule(name) for name in _TEXT), *_ENGINE)
BASELINE_RULES: dict[str, Rule] = {rule.id: rule for rule in _ENGINE if rule.family == "baseline"}
