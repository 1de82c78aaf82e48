"""Packs side by side that differ in chemistry, build, voltage, capacity or age."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ohmwright.circuit.batteries import nominal_voltage
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.references import Reference, Step
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import LITHIUM, Battery

from ohmwright_rules.packs import Bank, Pack, pack_banks
from ohmwright_rules.resting_joints import banks_at_rest
from ohmwright_rules.silent_battery import silent_voltage
from ohmwright_rules.wording import listed, named

RULE = Rule(
    id="unlike-packs",
    title="Unlike batteries side by side",
    family="storage",
    subject="battery",
    covers=("C3",),
    grades=(
        Grade("chemistry", Severity.ERROR, "packs side by side are of different chemistry"),
        Grade("build", Severity.WARNING, "lead-acid packs side by side are of different build"),
        Grade("voltage", Severity.WARNING, "packs side by side have different nominal voltages"),
        Grade("capacity", Severity.WARNING, "a pack's capacity lies more than 5 % off that of the largest beside it"),
        Grade("age", Severity.WARNING, "packs side by side were made more than 6 months apart"),
    ),
    references=(
        Reference("pages of makers and installers on banks in parallel", "", "same type, age, capacity", "secondary"),
    ),
)  # fmt: skip
_SPREAD = 0.05
_MONTHS = 6.0
_MONTH = 730.0 * 3600.0  # s
_LEAD = "lead-acid"


def check(study: Study) -> Iterator[Outcome]:
    """Compare the packs of every bank with each other."""
    joined = pack_banks(study)
    if not joined:
        yield DoesNotApply("no batteries lie side by side")
    banks: list[Bank] = []
    for bank in joined:
        left = banks_at_rest(study, bank)
        banks.extend(left)
        if not left:
            yield DoesNotApply("joined only by a device that opens when nothing charges")
    for bank in banks:
        chemistry = _chemistry(study, bank)
        yield from chemistry
        if not any(isinstance(item, Finding) and item.grade == "chemistry" for item in chemistry):
            yield _voltage(study, bank)
        yield _capacity(study, bank)
        yield _age(study, bank)


def _batteries(bank: Bank) -> list[Battery]:
    return [battery for pack in bank.packs for battery in pack.members]


def _subject(bank: Bank, *first: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*first, *bank.names)))


def _family(battery: Battery) -> str | None:
    if battery.chemistry is None:
        return None
    return battery.chemistry if battery.chemistry in LITHIUM else _LEAD


def _chemistry(study: Study, bank: Bank) -> list[Outcome]:
    every = _batteries(bank)
    known = [battery for battery in every if battery.chemistry is not None]
    first = known[0] if known else None
    for grade, of in (("chemistry", _family), ("build", lambda battery: battery.chemistry)):
        odd = [battery for battery in known if first is not None and of(battery) != of(first)]
        if odd and first is not None:
            return [_odd(study, bank, grade, first, odd)]
    silent = [battery for battery in every if battery.chemistry is None]
    if silent:
        what = f"chemistry of {silent[0].name}"
        return [NotChecked("chemistry", bank.names, what, silent[0].span, declare="LFP")]
    return [Passed("chemistry", bank.names), Passed("build", bank.names)]


def _odd(study: Study, bank: Bank, grade: str, first: Battery, odd: list[Battery]) -> Finding:
    names = tuple(battery.name for battery in odd)
    kinds = listed(dict.fromkeys(str(battery.chemistry) for battery in odd))
    alone = len(names) == 1
    effect = (
        "their voltages follow charge differently, so that one charges or carries the other, and no charger suits both"
        if grade == "chemistry"
        else "they want different charge voltages, so that one is always over- or undercharged"
    )
    return Finding(
        grade,
        _subject(bank, *names),
        f"{listed(names)}: {'it is' if alone else 'they are'} {kinds}, beside {first.name}, which is {first.chemistry}; {effect}.",
        study.span(names[0]),
        remedy=f"Put only {first.chemistry} batteries of one kind side by side, or charge the other through a DC-DC charger.",
        related=(Related(f"{first.name} is {first.chemistry}", first.span),),
    )


def _voltage(study: Study, bank: Bank) -> Outcome:
    volts = [(pack, pack.total(nominal_voltage)) for pack in bank.packs]
    silent = next((pack for pack, volt in volts if volt is None), None)
    known = [(pack, volt) for pack, volt in volts if volt is not None]
    main, usual = known[0] if known else (bank.packs[0], 0.0)
    odd = max(known, key=lambda item: abs(item[1] - usual), default=None)
    if odd is not None and abs(odd[1] - usual) > 1e-9 * usual:
        told, beside = shown_pair(Amount(odd[1], "voltage"), Amount(usual, "voltage"))
        return Finding(
            "voltage",
            _subject(bank, *(battery.name for battery in odd[0].members)),
            f"{odd[0].name}: its nominal voltage is {told}, that of {main.name} beside it {beside}.",
            study.span(odd[0].members[0].name),
            working=tuple(Step(f"U({pack.name})", "nominal voltage", volt, "V", "as declared") for pack, volt in known[:12]),
            remedy="Put only packs of one nominal voltage side by side: the same chemistry and the same number of cells in series.",
            related=(Related(f"{main.name} has {beside}", main.members[0].span),),
        )
    if silent is not None:
        unsaid = next((battery for battery in silent.members if nominal_voltage(battery) is None), silent.members[0])
        return silent_voltage(unsaid).outcome("voltage", bank.names)
    return Passed("voltage", bank.names)


def _capacity(study: Study, bank: Bank) -> Outcome:
    silent = next((pack for pack in bank.packs if pack.charge is None), None)
    main = bank.packs[0]
    charges = {pack.name: pack.charge for pack in bank.packs if pack.charge is not None}
    most = max(charges.values(), default=0.0)
    worst = min((pack for pack in bank.packs if pack.charge is not None), key=lambda pack: pack.charge or 0.0, default=main)
    off = (most - (worst.charge or 0.0)) / most if most > 0 else 0.0
    measured, limit = Amount(off, "share"), Amount(_SPREAD, "share")
    if most > 0 and is_broken(off, _SPREAD, "at-most"):
        small = [
            pack
            for pack in bank.packs
            if pack.charge is not None and is_broken((most - pack.charge) / most, _SPREAD, "at-most")
        ]
        told, allowed = shown_pair(measured, limit)
        sizes = named(dict.fromkeys(_shown_charge(pack) for pack in small))
        return Finding(
            "capacity",
            _subject(bank, *(battery.name for pack in small for battery in pack.members)),
            f"{listed(pack.name for pack in small)}: {sizes} beside {main.name} with {_shown_charge(main)}, {told} less; at most {allowed} is advised.",
            study.span(small[0].members[0].name),
            measured,
            limit,
            working=(
                *(
                    Step(f"C({pack.name})", "capacity", (pack.charge or 0.0) / 3600, "Ah", "as declared")
                    for pack in bank.packs[:12]
                ),
                Step(
                    "dC",
                    f"1 - {(worst.charge or 0.0) / 3600:.4g} / {most / 3600:.4g}",
                    off,
                    "1",
                    "the smallest against the largest",
                ),
            ),
            remedy="Use packs of one capacity, or hold each against its own current: the small one must not carry more than its share.",
            related=(Related(f"{main.name} has {_shown_charge(main)}", main.members[0].span),),
        )
    if silent is not None:
        return NotChecked("capacity", bank.names, f"capacity of {silent.name}", silent.members[0].span, declare="100 Ah")
    return Passed("capacity", bank.names, measured, limit)


def _shown_charge(pack: Pack) -> str:
    return shown(Amount(pack.charge or 0.0, "charge", "Ah"))


def _age(study: Study, bank: Bank) -> Outcome:
    every = _batteries(bank)
    dated = sorted((battery.made, battery.name) for battery in every if battery.made is not None)
    silent = [battery for battery in every if battery.made is None]
    if len(dated) > 1:
        (old, oldest), (new, newest) = dated[0], dated[-1]
        months = _months(old, new)
        measured, limit = Amount(months * _MONTH, "time", "months"), Amount(_MONTHS * _MONTH, "time", "months")
        if is_broken(months, _MONTHS, "at-most"):
            told, allowed = shown_pair(measured, limit)
            return Finding(
                "age",
                _subject(bank, oldest, newest),
                f"{oldest}: it was made on {old.isoformat()}, {told} before {newest} beside it; at most {allowed} is advised.",
                study.span(oldest),
                measured,
                limit,
                working=(Step("age", f"{old.isoformat()} to {new.isoformat()}", months, "months", "as declared"),),
                remedy="Put batteries of one batch side by side; a new one beside an old one ages to match it.",
                related=(Related(f"{newest} was made on {new.isoformat()}", study.span(newest)),),
            )
        if not silent:
            return Passed("age", bank.names, measured, limit)
    if not dated and _of_one_part(every):
        return DoesNotApply("packs of one part, none of which says when it was made")
    return NotChecked("age", bank.names, f"date made of {silent[0].name}", silent[0].span, declare="made 2025-01-15")


def _months(old: date, new: date) -> float:
    """Return the months from one day to another, the same day of the month counting as a whole one."""
    return (new.year - old.year) * 12 + new.month - old.month + (new.day - old.day) / 30.4375


def _of_one_part(every: list[Battery]) -> bool:
    """Tell whether the capacity of all batteries was said once, in the part that they are made from."""
    facts = [battery.fact(Battery.capacity) for battery in every]
    return None not in facts and len({fact.source for fact in facts if fact is not None}) == 1
