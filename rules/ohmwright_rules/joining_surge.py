"""The rush from a full pack into an empty one when they are joined."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.graph import Branch
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.packs import Bank, Joint, Pack, Split, alike_in_voltage, core_of, joints_of, pack_banks, splits_of
from ohmwright_rules.rushes import Rush, charge_limit, rating_of, rush
from ohmwright_rules.verdicts import times_allowed
from ohmwright_rules.wording import counted_beyond, listed

RULE = Rule(
    id="joining-surge",
    title="Rush between packs when they are joined",
    family="storage",
    subject="battery",
    covers=("C6",),
    grades=(
        Grade("over-rating", Severity.ERROR, "more flows from a full pack into an empty one than a contact, a switch or a fuse between them carries"),
        Grade("over-charge", Severity.WARNING, "more flows from a full pack into an empty one than the empty one may be charged with"),
        Grade("by-rule", Severity.WARNING, "only a posted joining rule keeps the rush within what a contact, a switch or a fuse carries"),
        Grade("work-step", Severity.NOTE, "packs that are joined for good rush so when they are first joined"),
    ),
    references=(
        Reference("advice to join packs within 0.2 V, after full charge and 1 h at rest", "", "a page on banks in parallel", "secondary"),
        common_practice("difference of the rest voltages over the resistance of the loop"),
    ),
)  # fmt: skip
_NO_JOINT = Joint((), (), (), False)


@record
class _Held:
    """What one limit says of a rush: the part, what flows there and what it bears [A], and where that is said."""

    name: str
    what: str
    current: float
    limit: float
    place: Span
    rush: Rush

    @property
    def badness(self) -> float:
        return times_allowed(self.current, self.limit)

    @property
    def broken(self) -> bool:
        return is_broken(self.current, self.limit, "at-most")


@record
class _Seen:
    """Everything that was held against a limit on one bank, and what could not be."""

    ratings: tuple[_Held, ...]
    charges: tuple[_Held, ...]
    missing: tuple[Missing, ...]
    no_limit: tuple[Battery, ...]


def check(study: Study) -> Iterator[Outcome]:
    """Join every bank in the worst way that its plugs and switches allow."""
    banks = pack_banks(study)
    if not banks:
        yield DoesNotApply("no batteries lie side by side")
    for bank in banks:
        if not alike_in_voltage(bank):
            yield DoesNotApply("packs of unlike nominal voltage, which is a matter of its own")
            continue
        joints = joints_of(study, bank)
        direct = [joint for joint in joints if not joint.through]
        if joints and not direct:
            yield Passed("over-rating", bank.names)
            yield Passed("over-charge", bank.names)
        elif direct:
            splits = [split for joint in direct for split in splits_of(study, bank, joint)]
            yield from _judge(study, bank, _look(study, splits))
        else:
            yield _for_good(study, bank)


def _look(study: Study, splits: list[Split]) -> _Seen:
    ratings: list[_Held] = []
    charges: list[_Held] = []
    missing: dict[str, Missing] = {}
    silent: dict[str, Battery] = {}
    for split in splits:
        study.options.budget.check()
        found = rush(study, split)
        if isinstance(found, Missing):
            missing.setdefault(found.what, found)
            continue
        for branch in core_of(study):
            current = abs(found.currents.get(branch.name, 0.0))
            rating = rating_of(study, branch) if current > 0.0 else None
            if rating is None:
                continue
            if rating.ampere is not None:
                ratings.append(_Held(branch.part, _word(branch), current, rating.ampere, study.span(branch.part), found))
            if rating.missing is not None:
                missing.setdefault(rating.missing.what, rating.missing)
        for battery in (battery for pack in split.low for battery in pack.members):
            limit = charge_limit(battery)
            if limit is None:
                silent.setdefault(battery.name, battery)
            else:
                held = _Held(battery.name, limit.words, found.into(battery.name), limit.ampere, limit.place, found)
                charges.append(held)
    return _Seen(tuple(ratings), tuple(charges), tuple(missing.values()), tuple(silent.values()))


def _word(branch: Branch) -> str:
    if branch.kind == "contact":
        return "of which a contact carries"
    return "which is rated for"


def _worst(held: tuple[_Held, ...]) -> _Held | None:
    return max(held, key=lambda item: item.badness, default=None)


def _judge(study: Study, bank: Bank, seen: _Seen) -> Iterator[Outcome]:
    rule = _rule(study)
    rating, charge = _worst(seen.ratings), _worst(seen.charges)
    if rating is not None and rating.broken:
        found = _over_rating(study, bank, rating, rule)
        yield found
        if found.grade == "by-rule" and seen.missing:
            yield _not_checked(bank, seen.missing[0])
        return
    yield _not_checked(bank, seen.missing[0]) if seen.missing else _passed("over-rating", bank, rating)
    if charge is not None and charge.broken:
        yield _over_charge(study, bank, charge, rule)
    elif seen.no_limit:
        battery = seen.no_limit[0]
        yield NotChecked(
            "over-charge", bank.names, f"charge current limit of {battery.name}", battery.span, declare="charge at most 50 A"
        )
    elif charge is not None:
        yield _passed("over-charge", bank, charge)


def _not_checked(bank: Bank, missing: Missing) -> NotChecked:
    return NotChecked("over-rating", bank.names, missing.what, missing.span, declare=missing.declare)


def _passed(grade: str, bank: Bank, held: _Held | None) -> Passed:
    if held is None:
        return Passed(grade, bank.names)
    return Passed(grade, bank.names, Amount(held.current, "current"), Amount(held.limit, "current"))


def _rule(study: Study) -> Procedure | None:
    return next((procedure for procedure in study.of(Procedure) if procedure.joining_difference is not None), None)


def _by_rule(held: _Held, rule: Procedure) -> float:
    """Return what flows with the difference of voltage that the posted rule allows [A]."""
    assert rule.joining_difference is not None
    allowed = min(float(rule.joining_difference.high), held.rush.volt)
    return held.current * allowed / held.rush.volt if held.rush.volt > 0 else 0.0


# findings ----------------------------------------------------------------------------------------------------------


def _over_rating(study: Study, bank: Bank, held: _Held, rule: Procedure | None) -> Finding:
    obeyed = rule is not None and not is_broken(_by_rule(held, rule), held.limit, "at-most")
    return _finding(study, bank, "by-rule" if obeyed else "over-rating", held, rule, f"{held.name}, {held.what}")


def _over_charge(study: Study, bank: Bank, held: _Held, rule: Procedure | None) -> Finding:
    return _finding(study, bank, "over-charge", held, rule, f"{held.name}, {held.what}")


def _finding(study: Study, bank: Bank, grade: str, held: _Held, rule: Procedure | None, who: str) -> Finding:
    split, found = held.rush.split, held.rush
    measured, limit = Amount(held.current, "current"), Amount(held.limit, "current")
    told, allowed = shown_pair(measured, limit)
    full, low = _side(split.full), _side(split.low)
    where = f" by {_gates(split.joint)}" if split.joint.gates else ""
    said = ""
    if rule is not None and rule.joining_difference is not None:
        by_rule = shown(Amount(_by_rule(held, rule), "current"))
        volts = shown(Amount(float(rule.joining_difference.high), "voltage", rule.joining_difference.unit))
        said = f" With the posted rule of {volts} it is {by_rule}; nothing but paper keeps to it."
    most = found.volt * held.limit / held.current if held.current > 0 else found.volt
    through = "a precharge path, a current limit or a voltage-checked contactor"
    full_volt, low_volt = (shown(Amount(volt, "voltage")) for volt in (found.full_volt, found.low_volt))
    way = "into" if held.name in bank.names else "through"
    chief = held.name if held.name in bank.names else (split.joint.far or split.low)[0].members[0].name
    names = (chief, held.name)
    return Finding(
        grade,
        tuple(dict.fromkeys((*names, *(battery.name for pack in (*split.full, *split.low) for battery in pack.members)))),
        f"{full} full ({full_volt}), joined{where} with {low} empty ({low_volt}): {told} flows {way} {who} {allowed}.{said}",
        study.span(names[0]),
        measured,
        limit,
        working=_working(held),
        remedy=f"Join them through {through}, and declare it; joined directly they may differ by {shown(Amount(most, 'voltage'))} at most."
        if grade != "work-step"
        else f"Charge both fully before they are first joined, or join them through a resistor; they may differ by {shown(Amount(most, 'voltage'))} at most.",
        related=(Related(f"{held.name} sets the limit", held.place),),
        reference=RULE.references[1],
    )  # fmt: skip


def _side(packs: tuple[Pack, ...]) -> str:
    return counted_beyond((pack.name for pack in packs), "packs")


def _gates(joint: Joint) -> str:
    return listed(joint.gates[:1])


def _working(held: _Held) -> tuple[Step, ...]:
    found = held.rush
    steps = [
        Step("U_full", f"{_side(found.split.full)} at 100 %", found.full_volt, "V", "rest voltage"),
        Step("U_low", f"{_side(found.split.low)} at the low cut-off, else at 0 %", found.low_volt, "V", "rest voltage"),
        Step("R", "both sides and the way between, copper at 20 degC, batteries at the lower end", found.ohm, "ohm", "the circuit as declared"),
        Step("I", f"({found.full_volt:.4g} V - {found.low_volt:.4g} V) / {found.ohm:.4g} ohm", found.total, "A", "the loop"),
    ]  # fmt: skip
    if abs(found.total - held.current) > 1e-6 * found.total:
        steps.append(Step("I_part", f"of it through {held.name}", held.current, "A", "solved circuit"))
    return tuple(steps)


# joined for good ---------------------------------------------------------------------------------------------------


def _for_good(study: Study, bank: Bank) -> Outcome:
    """Tell of packs between which nothing lies that opens: each against all others, when it is first joined."""
    splits = []
    for pack in bank.packs:
        others = tuple(other for other in bank.packs if other is not pack)
        splits.append(Split(_NO_JOINT, others, (pack,), bank.open_gates))
    seen = _look(study, splits)
    worst = _worst((*seen.ratings, *seen.charges))
    if worst is not None and worst.broken:
        return _finding(study, bank, "work-step", worst, None, f"{worst.name}, {worst.what}")
    if worst is None:
        return DoesNotApply("joined for good, and without a limit to hold the first joining against")
    return Passed("work-step", bank.names, Amount(worst.current, "current"), Amount(worst.limit, "current"))
