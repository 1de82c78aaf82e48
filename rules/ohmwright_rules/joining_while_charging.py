"""A pack that is joined while chargers run: their current comes on top of what the other packs push into it."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import lowest_voltage
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Step, common_practice
from ohmwright.rules import Grade, Rule, is_broken
from ohmwright.study import Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.kinds.controller import Controller
from ohmwright_grammar.kinds.interlock import Interlock
from ohmwright_grammar.kinds.procedure import Procedure
from ohmwright_grammar.records import record
from ohmwright_grammar.spans import Span

from ohmwright_rules.charging import Charged, charged
from ohmwright_rules.packs import Bank, Joint, alike_in_voltage, core_of, joints_of, pack_banks, splits_of
from ohmwright_rules.rushes import Rush, charge_limit, rating_of, rush, what_flows
from ohmwright_rules.sunside import array_power, sides
from ohmwright_rules.verdicts import times_allowed
from ohmwright_rules.wording import listed

RULE = Rule(
    id="joining-while-charging",
    title="Pack joined while chargers run",
    family="storage",
    subject="battery",
    covers=("C14",),
    grades=(
        Grade("over-rating", Severity.ERROR, "chargers and the other packs together push more through a contact, switch or fuse than it carries"),
        Grade("over-charge", Severity.WARNING, "chargers and the other packs together push more into a pack than it may be charged with"),
    ),
    references=(common_practice("share of the chargers beside the equalising current"),),
)  # fmt: skip
_BRIGHT = 1.25  # NEC 690.8(A): an array gives up to 1.25 times its label
_LEVEL = 12.0  # V: any equal voltage parts the chargers' current alike


@record
class _Charger:
    """What charges a bank, and what it gives at most [A]."""

    item: Charged
    ampere: float


@record
class _Held:
    """What one limit says: the part, what comes from the packs and from the chargers [A], and what it bears [A]."""

    name: str
    what: str
    equalising: float
    charging: float
    limit: float
    place: Span
    rush: Rush
    eased: str

    @property
    def current(self) -> float:
        return abs(self.equalising + self.charging)

    @property
    def broken(self) -> bool:
        return is_broken(self.current, self.limit, "at-most")


def check(study: Study) -> Iterator[Outcome]:
    """Join every bank that a hand can join, with all of its chargers running."""
    banks = [bank for bank in pack_banks(study) if alike_in_voltage(bank)]
    if not banks:
        yield DoesNotApply("no packs lie side by side")
    for bank in banks:
        joints = [joint for joint in joints_of(study, bank) if joint.by_hand]
        free = [joint for joint in joints if not joint.kept_apart]
        near = [item for item in charged(study) if set(bank.names) & {name for string in item.strings for name in string.names}]
        running = [item for item in near if not _is_blocked(study, item, joints)]
        if not joints:
            yield DoesNotApply("packs that nothing but a fuse parts")
        elif not free:
            yield DoesNotApply("packs are not joined while chargers run")
        elif not near:
            yield DoesNotApply("nothing charges the packs")
        elif not running:
            yield DoesNotApply("an interlock stops the chargers before packs are joined")
        else:
            yield from _judge(study, bank, free, running)


def _is_blocked(study: Study, item: Charged, joints: list[Joint]) -> bool:
    """Tell whether an interlock loop through every plug that joins the packs stops a charger."""
    matings = {mating.name: (mating.first, mating.second) for mating in study.build.matings}
    for loop in study.of(Interlock):
        if item.part.name not in (loop.stops or ()):
            continue
        members = loop.members or ()
        if all(
            any(
                member == half or member.startswith(f"{half}.")
                for gate in joint.gates
                for half in matings.get(gate, ())
                for member in members
            )
            for joint in joints
        ):
            return True
    return False


def _judge(study: Study, bank: Bank, joints: list[Joint], running: list[Charged]) -> Iterator[Outcome]:
    chargers: list[_Charger] = []
    for item in running:
        found = _most(study, item, bank)
        if isinstance(found, Missing):
            yield found.outcome("over-rating", (*bank.names, item.part.name))
            return
        chargers.append(_Charger(item, found))
    ratings: list[_Held] = []
    charges: list[_Held] = []
    missing: dict[str, Missing] = {}
    silent: dict[str, Battery] = {}
    for joint in joints:
        for held in _at(study, bank, joint, chargers, missing, silent):
            (charges if held.name in bank.names else ratings).append(held)
    subject = bank.names
    rating = max(ratings, key=lambda held: times_allowed(held.current, held.limit), default=None)
    charge = max(charges, key=lambda held: times_allowed(held.current, held.limit), default=None)
    if rating is not None and rating.broken:
        yield _finding(study, bank, "over-rating", rating, chargers)
        return
    if missing:
        yield next(iter(missing.values())).outcome("over-rating", subject)
    else:
        yield _passed("over-rating", subject, rating)
    if charge is not None and charge.broken:
        yield _finding(study, bank, "over-charge", charge, chargers)
    elif silent:
        battery = next(iter(silent.values()))
        yield NotChecked(
            "over-charge", subject, f"charge current limit of {battery.name}", battery.span, declare="charge at most 50 A"
        )
    elif charge is not None:
        yield _passed("over-charge", subject, charge)


def _passed(grade: str, subject: tuple[str, ...], held: _Held | None) -> Passed:
    if held is None:
        return Passed(grade, subject)
    return Passed(grade, subject, Amount(held.current, "current"), Amount(held.limit, "current"))


def _at(
    study: Study, bank: Bank, joint: Joint, chargers: list[_Charger], missing: dict[str, Missing], silent: dict[str, Battery]
) -> Iterator[_Held]:
    """Yield what each limit says of every way in which packs meet at a joint."""
    for split in splits_of(study, bank, joint):
        study.options.budget.check()
        found = rush(study, split)
        share = _share(study, joint, found) if isinstance(found, Rush) else found
        if isinstance(found, Missing) or isinstance(share, Missing):
            lacking = found if isinstance(found, Missing) else share
            assert isinstance(lacking, Missing)
            missing.setdefault(lacking.what, lacking)
            continue
        factor, eased = share
        volts = {battery.name: _LEVEL / len(pack.members) for pack in (*split.full, *split.low) for battery in pack.members}
        pushed = [(f"{item.item.part.name} charging", item.item.plus, item.item.minus, item.ampere) for item in chargers]
        given = what_flows(study, volts, split.open_gates, pushed)
        for branch in core_of(study):
            rating = rating_of(study, branch) if branch.name in given else None
            if rating is None or given[branch.name] == 0.0 == found.currents.get(branch.name, 0.0):
                continue
            if rating.missing is not None:
                missing.setdefault(rating.missing.what, rating.missing)
            if rating.ampere is not None:
                parts = factor * found.currents.get(branch.name, 0.0), given[branch.name]
                what = "of which a contact carries" if branch.kind == "contact" else "which is rated for"
                yield _Held(branch.part, what, *parts, rating.ampere, study.span(branch.part), found, eased)
        for battery in (battery for pack in split.low for battery in pack.members):
            limit = charge_limit(battery)
            if limit is None:
                silent.setdefault(battery.name, battery)
            else:
                parts = factor * found.into(battery.name), -given.get(battery.name, 0.0)
                yield _Held(battery.name, limit.words, *parts, limit.ampere, limit.place, found, eased)


def _share(study: Study, joint: Joint, found: Rush) -> tuple[float, str] | Missing:
    """Return the part of the rush that flows by the device that eases the joining, else by the posted rule, and how that is called."""
    if joint.through:
        if joint.ampere is not None:
            return min(1.0, joint.ampere / found.total) if found.total > 0 else 0.0, f"as the {joint.through} lets pass"
        if joint.through == "voltage-checked contactor":
            return 0.0, "none, as the contactor waits for equal voltages"
        return Missing(f"joining current of the {joint.through}", study.span(joint.gates[0]), "joining current at most 5 A")
    rule = next((item.joining_difference for item in study.of(Procedure) if item.joining_difference is not None), None)
    if rule is None:
        return 1.0, "full against empty"
    return min(
        1.0, float(rule.high) / found.volt
    ) if found.volt > 0 else 0.0, f"by the posted rule of {shown(Amount(float(rule.high), 'voltage', rule.unit))}"


def _most(study: Study, item: Charged, bank: Bank) -> float | Missing:
    """Return what a charger gives at most [A]: its rated current, or less where its arrays cannot give so much."""
    part = item.part
    rated = float(part.rated_current.high) if part.rated_current is not None else None
    if isinstance(part, Controller) and part.kind == "MPPT":
        side = next((side for side in sides(study) if side.controller.name == part.name), None)
        powers = [array_power(array) for array in side.arrays] if side is not None else []
        volt = bank.packs[0].total(lowest_voltage)
        known = [power for power in powers if power is not None]
        if powers and len(known) == len(powers) and volt:
            sunny = _BRIGHT * sum(known) / volt
            rated = min(rated, sunny) if rated is not None else sunny
    if rated is None:
        return Missing(f"highest current out of {part.name}", part.span, "20 A")
    return rated


def _finding(study: Study, bank: Bank, grade: str, held: _Held, chargers: list[_Charger]) -> Finding:
    measured, limit = Amount(held.current, "current"), Amount(held.limit, "current")
    told, allowed = shown_pair(measured, limit)
    split = held.rush.split
    total = sum(charger.ampere for charger in chargers)
    names = tuple(charger.item.part.name for charger in chargers)
    chief = held.name if grade == "over-charge" else (split.joint.far or split.low)[0].members[0].name
    equal, share = (shown(Amount(abs(value), "current")) for value in (held.equalising, held.charging))
    way = "into" if grade == "over-charge" else "through"
    return Finding(
        grade,
        tuple(dict.fromkeys((chief, held.name, *bank.names, *names))),
        f"{chief}: joined by {split.joint.gates[0]} while {listed(names)} {'run' if len(names) > 1 else 'runs'}, {told} flows {way} {held.name}, {held.what} "
        f"{allowed}: {equal} between the packs ({held.eased}) and {share} of the {shown(Amount(total, 'current'))} that charges.",
        study.span(chief),
        measured,
        limit,
        working=(
            Step("I_equalise", f"{held.eased}; {held.rush.volt:.4g} V over {held.rush.ohm:.4g} ohm is the most", abs(held.equalising), "A", "the loop"),
            Step("I_share", f"of {total:.4g} A, by the resistances of the ways", abs(held.charging), "A", "solved circuit"),
            Step("I", f"{held.equalising:.4g} + {held.charging:.4g}", held.current, "A", "sum"),
        ),
        remedy="Let an interlock stop the chargers before packs are joined, or join them only while nothing charges, and declare it: not joined while "
        "charging.",
        related=(
            Related(f"{held.name} sets the limit", held.place),
            *(Related(f"{charger.item.part.name} gives {shown(Amount(charger.ampere, 'current'))}", charger.item.part.span) for charger in chargers[:4]),
        ),
    )  # fmt: skip
