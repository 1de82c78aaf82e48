"""Currents and powers of a settled system, by the names of its elements."""

from __future__ import annotations

from .system import System

__all__ = ["Flows"]


class Flows:
    """`currents` [A] and `powers` [W] of all branches; those of two-sided elements under NAME.in and NAME.out only."""

    __slots__ = ("currents", "powers")

    def __init__(self, system: System) -> None:
        plan = system.plan
        reading = system.reading
        high = system.high
        low = system.low
        linear = plan.linear
        flow = [g * (high[a] - high[b] + (low[a] - low[b])) for a, b, g in zip(linear.a, linear.b, system.siemens, strict=True)]
        for k in system.driven:
            flow[k] = system.siemens[k] * system.drop(k)
        first = plan.resistors
        count = len(reading.source_names)
        currents = dict(zip(reading.resistor_names, flow, strict=False))
        powers = dict(
            zip(reading.resistor_names, [i * i / g for i, g in zip(flow, reading.resistor_siemens, strict=False)], strict=True)
        )
        given = flow[first : first + count]
        currents.update(zip(reading.source_names, given, strict=True))
        for name, i, g, e in zip(reading.source_names, given, reading.source_siemens, reading.source_volts, strict=True):
            powers[name] = (e - i / g) * i
        share = system.share
        taken: list[float] = []
        loads = plan.loads
        for name, a, b, e, steady, followed in zip(
            reading.load_names, loads.a, loads.b, system.load_emf, system.loads_steady, system.loads_followed, strict=True
        ):
            watt = steady + share * followed
            i = watt / system.across(a, b, e) if watt else 0.0
            taken.append(i)
            currents[name] = i
            powers[name] = watt
        curved: list[float] = []
        for name, a, b, e, curve in zip(
            reading.curve_names, plan.curves.a, plan.curves.b, system.curve_emf, system.curves, strict=True
        ):
            u = system.across(a, b, e)
            i = curve.linearise(u)[0]
            curved.append(i)
            sign = curve.sign
            currents[name] = sign * i
            powers[name] = sign * u * i
        for k, (name, i) in enumerate(zip(reading.draw_names, system.draws, strict=True)):
            currents[name] = i
            powers[name] = system.volt(plan.draws.node_a[k], plan.draws.node_b[k]) * i if i else 0.0
        for k, (name, i) in enumerate(zip(reading.feed_names, system.feeds, strict=True)):
            currents[name] = i
            powers[name] = system.volt(plan.feeds.node_b[k], plan.feeds.node_a[k]) * i if i else 0.0
        paired: list[float] = []
        for k, pair in enumerate(reading.pairs):
            i = system.pair(k, pair)[0]
            paired.append(i)
            currents[pair.name] = i
            powers[pair.name] = system.volt(*plan.pairs[k][:2]) * i
        ported: list[float] = []
        for k, name in enumerate(reading.two_port_names):
            i = system.two_port(k)[0]
            ported.append(i)
            currents[name] = i
            powers[name] = i * i / reading.two_port_siemens[k]
        self.currents = currents
        self.powers = powers
        if plan.forest is not None:
            self._merge(system, flow, taken, curved, paired, ported)

    def _merge(
        self,
        system: System,
        flow: list[float],
        taken: list[float],
        curved: list[float],
        paired: list[float],
        ported: list[float],
    ) -> None:
        """Currents of what has no resistance, by Kirchhoff's law at its ends."""
        plan = system.plan
        leaving = [0.0] * len(plan.group)
        classes = (flow, taken, curved, system.draws, system.feeds)
        for touching, amperes in zip(plan.touching, classes, strict=True):
            for node, k, sign in touching:
                leaving[node] += sign * amperes[k]
        for four, i in zip(plan.pairs, paired, strict=True):
            leaving[four[0]] += i
            leaving[four[1]] -= i
        for four, i in zip(plan.two_ports, ported, strict=True):
            for node, sign in zip(four, (1, -1, -1, 1), strict=True):
                leaving[node] += sign * i
        assert plan.forest is not None
        joined = plan.forest.currents(leaving)
        reading = system.reading
        self.currents.update(zip(reading.merge_names, joined, strict=True))
        for name, volt, i in zip(reading.merge_names, reading.merge_volts, joined, strict=True):
            self.powers[name] = volt * i
