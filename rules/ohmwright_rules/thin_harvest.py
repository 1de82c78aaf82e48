"""An array that only just covers its loads in the month that decides, or that was sized on another month."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, figures, shown
from ohmwright_grammar.kinds.array import Array
from ohmwright_grammar.kinds.charging import Charger
from ohmwright_grammar.kinds.inverter import InverterCharger
from ohmwright_grammar.kinds.load import Load
from ohmwright_grammar.kinds.site import Site
from ohmwright_grammar.records import record

from ohmwright_rules.wording import listed

if TYPE_CHECKING:
    from ohmwright_rules.day_energy import Day

RULE = Rule(
    id="thin-harvest",
    title="Array without margin in the month that decides",
    family="energy",
    subject="array",
    covers=("J3", "J4"),
    grades=(
        Grade("no-margin", Severity.WARNING, "in its worst month the array brings less than 1.15 times what is taken"),
        Grade("other-month", Severity.WARNING, "the sun that the sizing uses is more than that of the month that decides"),
    ),
    references=(
        Reference("a controller maker's guide to sizing", "", "array to load ratio 1.15 to 1.20", "secondary"),
        Reference("a university's course notes", "", "critical month", "secondary"),
        common_practice("share left of an array 70 %, charge efficiency 95 % or 85 %"),
    ),
)
_RATIO = 1.15  # catalogue, J3
_HOUR, _DAY = 3600.0, 86400.0
_BY_MONTH = "peak sun hours by month"
_DECLARE = "sun by month 1.5, 2, 3, 4, 5, 5, 5, 4.5, 3.5, 2.5, 1.5, 1 h/day"


@record
class _Month:
    """What the array brings and the bank takes on a day of a month, and the sun that counts [h a day]."""

    name: str
    sun: float
    brings: float
    takes: float
    unsaid: Missing | None

    @property
    def ratio(self) -> float:
        """What comes over what goes."""
        return self.brings / self.takes


def check(study: Study) -> Iterator[Outcome]:
    """Hold the energy of the array in each month against that of the loads."""
    arrays = sorted(study.of(Array), key=lambda part: part.name)
    names = tuple(array.name for array in arrays)
    others = [part.name for part in study.build.parts.values() if isinstance(part, Charger | InverterCharger)]
    if not arrays:
        yield DoesNotApply("there is no array")
    elif others:
        yield DoesNotApply("something else charges the bank too", len(arrays))
    elif not any(load.hours is not None or load.hours_by_month is not None for load in study.of(Load)):
        yield DoesNotApply("no load says its hours a day", len(arrays))
    else:
        yield from _judge(study, arrays, names)


def _judge(study: Study, arrays: list[Array], names: tuple[str, ...]) -> Iterator[Outcome]:
    from ohmwright_rules.day_energy import day_energy, day_energy_in
    from ohmwright_rules.promised_charges import MONTHS, SHARE_LEFT, array_power

    site = study.one(Site)
    by_month = (
        [float(hours.low) * 24.0 for hours in site.sun_by_month.hours]
        if site is not None and site.sun_by_month is not None
        else []
    )
    if site is None or (len(by_month) != 12 and site.sun is None):
        span = site.span if site is not None else study.build.rig.span
        declare = _DECLARE if site is not None else f"site {{ {_DECLARE} }}"
        yield NotChecked("no-margin", names, _BY_MONTH, span, declare=declare)
        return
    power = 0.0
    for array in arrays:
        each = array_power(array)
        if each is None:
            yield Missing(f"power of {array.name}", array.span, "100 W").outcome("no-margin", names)
            return
        share = float(array.share_left.low) if array.share_left is not None else SHARE_LEFT
        power += each * (array.in_series or 1) * (array.in_parallel or 1) * share
    suns = by_month if len(by_month) == 12 else [float(site.sun.low) * 24.0] if site.sun is not None else []
    found: list[_Month] = []
    for number, sun in enumerate(suns):
        day = day_energy_in(study, number) if len(suns) == 12 else day_energy(study)
        month = _month(study, MONTHS[number] if len(suns) == 12 else "mean of the year", sun, power, day)
        if isinstance(month, Missing):
            yield month.outcome("no-margin", names)
            return
        if month is not None:
            found.append(month)
    if not found:
        yield DoesNotApply("no month in which a load runs", len(arrays))
        return
    worst = min(found, key=lambda month: month.ratio)
    yield _margin(study, arrays, names, worst, len(suns) == 12, site)
    yield _sized(names, worst, len(suns) == 12, site, by_month)


def _month(study: Study, name: str, sun: float, power: float, day: Day | Missing) -> _Month | Missing | None:
    from ohmwright_rules.promised_charges import charge_efficiency

    if isinstance(day, Missing):
        return day
    efficiency = charge_efficiency(study, day.taken.strings)
    if isinstance(efficiency, Missing):
        return efficiency
    takes = day.energy / efficiency[0]
    return _Month(name, sun, power * sun * _HOUR, takes, day.unsaid) if takes > 0 else None


def _margin(study: Study, arrays: list[Array], names: tuple[str, ...], worst: _Month, monthly: bool, site: Site) -> Outcome:
    from ohmwright_rules.promised_charges import array_power

    measured, limit = Amount(worst.ratio, "count"), Amount(_RATIO, "count")
    if is_broken(worst.ratio, _RATIO, "at-least"):
        brings = shown(Amount(worst.brings, "energy", "Wh"))
        takes = shown(Amount(worst.takes, "energy", "Wh"))
        more = (
            sum((array_power(array) or 0.0) * (array.in_series or 1) * (array.in_parallel or 1) for array in arrays)
            * _RATIO
            / worst.ratio
            if worst.ratio > 0
            else 0.0
        )
        use = f"Use {shown(Amount(more, 'power', 'W'))} of panels or more in all" if more > 0 else "Add an array"
        return Finding(
            "no-margin",
            names,
            f"{listed(names)}: {worst.name}: {worst.sun:.3g} h of sun a day bring {brings}, and {takes} are taken (what charging loses counted): "
            f"{figures(worst.ratio)} times; {_RATIO:g} times let it recover after bad weather.",
            arrays[0].span,
            measured,
            limit,
            "at-least",
            working=(
                Step("E_array", f"array power x share left x {worst.sun:.3g} h", worst.brings / _HOUR, "Wh", worst.name),
                Step("E_day", "loads and what stays fed, over the charge efficiency", worst.takes / _HOUR, "Wh", "as declared"),
                Step("ratio", "E_array / E_day", worst.ratio, "1", "at least 1.15"),
            ),
            remedy=f"{use}, take less, or have a second way to charge.",
        )
    if worst.unsaid is not None:
        return worst.unsaid.outcome("no-margin", names)
    if not monthly:
        return NotChecked("no-margin", names, _BY_MONTH, site.span, declare=_DECLARE)
    return Passed("no-margin", names, measured, limit, "at-least")


def _sized(names: tuple[str, ...], worst: _Month, monthly: bool, site: Site, by_month: list[float]) -> Outcome:
    from ohmwright_rules.promised_charges import MONTHS

    if not monthly:
        return NotChecked("other-month", names, _BY_MONTH, site.span, declare=_DECLARE)
    if site.sizing_sun is not None:
        used, words, place = float(site.sizing_sun.high) * 24.0, "the sun that it is sized for", site.place_of(Site.sizing_sun)
    elif site.sizing_month in MONTHS:
        used, words, place = (
            by_month[MONTHS.index(site.sizing_month)],
            f"{site.sizing_month}, that it is sized for",
            site.place_of(Site.sizing_month),
        )
    else:
        return Passed("other-month", names)  # every sum takes the worst month then
    measured, limit = Amount(used, "count"), Amount(worst.sun, "count")
    if not is_broken(used, worst.sun, "at-most"):
        return Passed("other-month", names, measured, limit)
    return Finding(
        "other-month",
        names,
        f"{listed(names)}: {words}, has {used:.3g} h of sun a day; {worst.name} decides, with {worst.sun:.3g} h for the loads that run then.",
        place,
        measured,
        limit,
        working=(Step("PSH", f"{worst.name}: the largest load to sun ratio", worst.sun, "h/day", "site"),),
        remedy=f"Size it for {worst.name}.",
        reference=RULE.references[1],
    )
