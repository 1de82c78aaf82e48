"""Promises that no sum of its own answers, but what all rules said together: safe in any order, work at temperatures, packs, water."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ohmwright.findings import Severity
from ohmwright.results import Promise, Told, Verdict
from ohmwright.study import Study
from ohmwright.values import Amount
from ohmwright_grammar.kinds.requirement import Requirement
from ohmwright_grammar.kinds.site import Site

__all__ = ["answers"]

_HEAT_AND_COLD = ("A1", "A2", "B5", "D1", "D2", "D3", "D10", "F5", "H11", "L5", "L15", "K7")  # catalogue, R8
_PACKS = ("C4", "C5", "C6", "C7")  # catalogue, R10
_WATER = ("L8",)  # catalogue, R12


def answers(study: Study, told: Told) -> Iterator[Promise]:
    """Yield the verdict of every promise that the rules answer together; it is not met where one of them could not be checked."""
    for requirement in study.of(Requirement):
        if requirement.safe_in_any_order:
            yield _any_order(study, told, requirement)
        elif requirement.work_temperatures is not None:
            yield _temperatures(study, told, requirement)
        elif requirement.packs is not None:
            yield _packs(study, told, requirement)
        elif requirement.water_protection is not None:
            yield _by_codes(told, requirement, _WATER, "findings of rules about water = 0", Severity.WARNING)


def _any_order(study: Study, told: Told, requirement: Requirement) -> Promise:
    formula = "errors in every state that switches, plugs and fuses can reach = 0"
    errors = sum(1 for item in told.findings if item.severity >= Severity.ERROR)
    verdict: Verdict = "broken" if errors else "met"
    if not errors and (not study.options.reached or study.not_reached or study.cut_short):
        formula += "; look at them with --states reached"
        verdict = "not-checked"
    elif not errors and any(item.severity >= Severity.ERROR for item in told.not_checked):
        verdict = "not-checked"
    return _promise(requirement, formula, errors, verdict)


def _temperatures(study: Study, told: Told, requirement: Requirement) -> Promise:
    formula = "findings of rules about heat and cold = 0"
    promised = requirement.work_temperatures
    assert promised is not None
    site = study.one(Site)
    ambient = site.ambient if site is not None else None
    if ambient is None or ambient.low > promised.low + 1e-9 or ambient.high < promised.high - 1e-9:
        formula += "; the site's ambient must reach as far"
        return Promise(requirement.name, formula, None, None, "not-checked", requirement.span)
    return _by_codes(told, requirement, _HEAT_AND_COLD, formula, Severity.ERROR)


def _packs(study: Study, told: Told, requirement: Requirement) -> Promise:
    most = sum(row.most for row in study.build.rows)
    wanted = requirement.packs or 0
    if most < wanted:
        formula = "packs that may be joined >= promised"
        return Promise(
            requirement.name, formula, Amount(float(most), "count"), Amount(float(wanted), "count"), "broken", requirement.span
        )
    return _by_codes(told, requirement, _PACKS, "findings of rules about joined packs = 0", Severity.ERROR)


def _by_codes(told: Told, requirement: Requirement, codes: Sequence[str], formula: str, least: Severity) -> Promise:
    """Return the verdict of the rules that cover some codes of the catalogue; findings below a severity do not break it."""
    wanted = frozenset(codes)
    found = sum(1 for item in told.findings if item.severity >= least and wanted & set(item.rule.covers))
    open_ones = any(item.severity >= least and wanted & set(item.rule.covers) for item in told.not_checked)
    held = any(wanted & set(item.rule.covers) for item in told.passes)
    verdict: Verdict = "broken" if found else "met" if held and not open_ones else "not-checked"
    return _promise(requirement, formula, found, verdict)


def _promise(requirement: Requirement, formula: str, found: int, verdict: Verdict) -> Promise:
    if verdict == "not-checked":
        return Promise(requirement.name, formula, None, None, verdict, requirement.span)
    return Promise(requirement.name, formula, Amount(float(found), "count"), Amount(0.0, "count"), verdict, requirement.span)
