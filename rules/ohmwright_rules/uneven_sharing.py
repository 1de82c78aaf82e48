"""Packs side by side that share the current unevenly because their ways differ."""

from __future__ import annotations

from collections.abc import Iterator

from ohmwright.circuit.batteries import resistance_high, rest_voltage_of
from ohmwright.findings import DoesNotApply, Finding, NotChecked, Outcome, Passed, Related, Severity
from ohmwright.missing import Missing
from ohmwright.references import Reference, Step
from ohmwright.rules import Case, Grade, Rule, is_broken
from ohmwright.states.setup import DEFAULT_CHARGE
from ohmwright.study import SolvedState, Study
from ohmwright.values import Amount, shown, shown_pair
from ohmwright_grammar.kinds.battery import Battery
from ohmwright_grammar.records import record

from ohmwright_rules.duty import Loading
from ohmwright_rules.nets import layout_of
from ohmwright_rules.packs import Bank, Pack, core_of, pack_banks
from ohmwright_rules.verdicts import verdict
from ohmwright_rules.wording import listed

RULE = Rule(
    id="uneven-sharing",
    title="Packs share the current unevenly",
    family="storage",
    subject="battery",
    covers=("C5",),
    grades=(
        Grade("uneven", Severity.WARNING, "one pack gives more than 1.25 times what the packs give on average"),
        Grade("over-limit", Severity.ERROR, "one pack gives more than it may because it gives more than its share"),
    ),
    references=(
        Reference("pages of makers and installers on banks in parallel", "", "take-off on opposite corners, or equal leads", "secondary"),
        Reference("battery data sheet, as declared", "", "discharge current", "computed"),
    ),
)  # fmt: skip
_MOST = 1.25
_LEAST_RATE = 1.0 / (20 * 3600.0)  # 1/s: a bank that gives less than its capacity in 20 h ages none of its packs
_SAME = 1e-3  # V
_IDLE = "packs that never give a twentieth of their capacity in an hour together, at equal charge"


@record
class _Share:
    """What the packs of a bank give in a state [A]: that of the hardest working one, in all, and the shares by name."""

    state: SolvedState
    pack: Pack
    ratio: float
    total: float
    given: tuple[tuple[Pack, float], ...]

    def design(self, pack: Pack) -> float:
        """What a pack gives at most [A]: with constant-power consumers at their cut-off voltage, as overdrawn-battery holds it against its limit."""
        first = pack.members[0].name
        return self.state.design_current(first) if self.state.current(first) > 0.0 else 0.0

    def even_design(self, pack: Pack) -> float:
        """What it would give of that by its capacity [A]."""
        total = sum(self.design(other) for other, _ in self.given)
        return total * (pack.charge or 0.0) / sum(other.charge or 0.0 for other, _ in self.given)

    def even(self, pack: Pack) -> float:
        """What a pack would give by its capacity [A]."""
        return self.total * (pack.charge or 0.0) / sum(other.charge or 0.0 for other, _ in self.given)


def check(study: Study) -> Iterator[Outcome]:
    """Compare what the packs of every bank give, in each state in which they are equally charged."""
    banks = pack_banks(study)
    if not banks:
        yield DoesNotApply("no batteries lie side by side")
    for bank in banks:
        yield from _judge(study, bank)


def _judge(study: Study, bank: Bank) -> Iterator[Outcome]:
    silent = next((pack for pack in bank.packs if pack.charge is None), None)
    if silent is not None:
        yield NotChecked("uneven", bank.names, f"capacity of {silent.name}", silent.members[0].span, declare="100 Ah")
        return
    shares = [found for state in study.telling_states if (found := _share(study, bank, state)) is not None]
    if not shares:
        yield DoesNotApply(_IDLE)
        return
    missing = _unknown(study, bank)
    if missing is not None:
        yield missing.outcome("uneven", bank.names)
        return
    yield from _over_limit(study, shares)
    cases = [Case(share.state.name, Amount(share.ratio, "count"), Amount(_MOST, "count"), share) for share in shares]
    judged = verdict(study, cases, "at-most", "life")
    worst = judged.worst
    share = worst.note
    assert isinstance(share, _Share)
    if not judged.broken:
        yield Passed("uneven", bank.names, worst.measured, worst.limit, state=worst.state)
        return
    hardest = share.pack
    gives, even = (shown(Amount(value, "current")) for value in (dict(_by_name(share))[hardest.name], share.even(hardest)))
    told, allowed = shown_pair(worst.measured, worst.limit)
    rest = listed(f"{name} {shown(Amount(current, 'current'))}" for name, current in _by_name(share) if name != hardest.name)
    yield Finding(
        "uneven",
        tuple(dict.fromkeys((*(battery.name for battery in hardest.members), *bank.names))),
        f"{hardest.name}: it gives {gives} of {shown(Amount(share.total, 'current'))} in state {worst.state!r}, {told} times the average of the packs{_each(share)} "
        f"({rest}); at most {allowed} times keeps them ageing alike.",
        study.span(hardest.members[0].name),
        worst.measured,
        worst.limit,
        state=worst.state,
        states=judged.broken,
        working=(
            *(
                Step(f"I({name})", f"state {worst.state!r}", current, "A", "solved circuit")
                for name, current in _by_name(share)[:12]
            ),
            Step("ratio", f"largest over mean of {_measure(share)}", share.ratio, "1", "computed"),
        ),
        remedy=f"Give every pack a way of the same resistance: take plus and minus off at opposite corners, or lead each to the bus with leads of one length and size, so "
        f"that {hardest.name} gives {even}.",
        related=tuple(Related(f"{name} gives {shown(Amount(current, 'current'))}", study.span(name.split(' + ')[0])) for name, current in _by_name(share)[:4] if name != hardest.name),
        at_most=judged.at_most,
    )  # fmt: skip


def _by_name(share: _Share) -> list[tuple[str, float]]:
    return [(pack.name, current) for pack, current in share.given]


def _each(share: _Share) -> str:
    return "" if len({pack.charge for pack, _ in share.given}) == 1 else " per ampere-hour"


def _measure(share: _Share) -> str:
    return f"their currents{_each(share)}"


def _share(study: Study, bank: Bank, state: SolvedState) -> _Share | None:
    """Return what the packs that are joined in a state give there; None where they do not all give, differ in charge, or give next to nothing."""
    if not state.solved or state.setup.is_surge:
        return None
    out = state.setup.bms_open | state.setup.failed
    layout = layout_of(study, state.open_gates)
    groups: dict[tuple[int, int], list[Pack]] = {}
    for pack in bank.packs:
        if not out & {battery.name for battery in pack.members}:
            groups.setdefault((layout.net(pack.minus), layout.net(pack.plus)), []).append(pack)
    packs = max(groups.values(), key=len, default=[])
    volts = [pack.total(lambda battery: _rest(battery, state)) for pack in packs]
    known = [volt for volt in volts if volt is not None]
    if len(packs) < 2 or len(known) < len(packs) or max(known) - min(known) > _SAME:
        return None
    given = tuple((pack, state.current(pack.members[0].name)) for pack in packs)
    total = sum(current for _, current in given)
    if total < _LEAST_RATE * sum(pack.charge or 0.0 for pack in packs):
        return None
    rates = [(current / (pack.charge or 1.0), pack) for pack, current in given]
    mean = sum(rate for rate, _ in rates) / len(rates)
    most, hardest = max(rates, key=lambda item: item[0])
    return _Share(state, hardest, most / mean, total, given)


def _rest(battery: Battery, state: SolvedState) -> float | None:
    level = state.setup.levels.get(battery.name)
    if level is not None and level.is_voltage:
        return level.value
    return rest_voltage_of(battery, level.value if level is not None else DEFAULT_CHARGE)


def _unknown(study: Study, bank: Bank) -> Missing | None:
    for pack in bank.packs:
        for battery in pack.members:
            if resistance_high(battery) is None:
                return Missing(f"internal resistance of {battery.name}", battery.span, "internal resistance 10 mohm")
    for branch in core_of(study):
        if branch.assumed and branch.conductor is not None:
            datum = "length" if branch.conductor.length is None else "gauge"
            return Missing(f"{datum} of {branch.name}", branch.span, "0.5 m long" if datum == "length" else "6 AWG")
    return None


# limits ------------------------------------------------------------------------------------------------------------


def _limit_of(battery: Battery) -> float | None:
    said = [battery.discharge_current_limit, battery.bms.discharge_current_limit if battery.bms is not None else None]
    return min((float(quantity.low) for quantity in said if quantity is not None), default=None)


def _over_limit(study: Study, shares: list[_Share]) -> Iterator[Outcome]:
    """Tell of packs that would keep within their limit if all gave by their capacity, and do not."""
    cases: dict[str, list[Case]] = {}
    silent: dict[str, Battery] = {}
    for share in shares:
        for pack, _ in share.given:
            even, current = share.even_design(pack), share.design(pack)
            for battery in pack.members:
                limit = _limit_of(battery)
                if limit is None:
                    silent.setdefault(battery.name, battery)
                elif not is_broken(even, limit, "at-most"):
                    cases.setdefault(battery.name, []).append(
                        Case(share.state.name, Amount(current, "current"), Amount(limit, "current"), (share, pack))
                    )
    for name, battery in sorted(silent.items()):
        yield NotChecked("over-limit", (name,), "discharge current limit", battery.span, declare="discharge at most 100 A")
    for name, found in sorted(cases.items()):
        judged = verdict(study, found, "at-most", "fails")
        worst = judged.worst
        if not judged.broken:
            yield Passed("over-limit", (name,), worst.measured, worst.limit, state=worst.state)
            continue
        assert isinstance(worst.note, tuple)
        share, pack = worst.note
        even, loading = share.even_design(pack), Loading(study, share.state, 1.0)
        measured, allowed = shown_pair(worst.measured, worst.limit)
        yield Finding(
            "over-limit",
            (name,),
            f"{name}: it gives {measured} {loading.when(pack.members[0].name)} and may give {allowed}; by its capacity it would give "
            f"{shown(Amount(even, 'current'))}, but its way is shorter than those of the others.",
            study.span(name),
            worst.measured,
            worst.limit,
            state=worst.state,
            states=judged.broken,
            working=(
                loading.current_step(pack.members[0].name),
                Step(
                    "I_even",
                    f"of {sum(share.design(other) for other, _ in share.given):.4g} A by capacity",
                    even,
                    "A",
                    "computed",
                ),
            ),
            remedy="Give every pack a way of the same resistance: take plus and minus off at opposite corners, or lead each to the bus with equal leads.",
            reference=RULE.references[1],
            at_most=judged.at_most,
        )
