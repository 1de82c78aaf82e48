"""The equations of a network in given modes: residuals, stamps, the last factor.

Potentials are kept as a sum of two doubles, and every step solves for the change from a residual summed branch by branch, so that
the current in a branch of a few micro-ohms has as many digits as any other.
"""

from __future__ import annotations

from math import fsum

from .curves import Curve
from .elimination import factor, factor_two_sided, solve, solve_two_sided
from .plan import Plan
from .reading import Pair, Reading

__all__ = ["LEAK", "System"]

LEAK = 1e-18
"""Conductance [S] across an idle or current-held output that nothing else ties to its minus; no consistent mode leaves it in use."""

_PEAK = 1 + 1e-12
_BESIDE = 1e-14  # of the largest conductance


class System:
    """Unknown potentials by rank, their equations and the last factor.

    Two more places follow the unknowns in every list by rank: the fixed potential, and what nothing feeds; both stay at 0.
    Consumption of constant power is the sum of a steady part and of a followed part that is multiplied by the share of the load.
    """

    __slots__ = (
        "base",
        "curve_emf",
        "curves",
        "draws",
        "driven",
        "emf",
        "feeds",
        "high",
        "inject",
        "load_emf",
        "loads_followed",
        "loads_steady",
        "low",
        "matrix",
        "matrix_low",
        "offset",
        "pairs_followed",
        "pairs_on",
        "pairs_steady",
        "pivots",
        "plain",
        "plan",
        "reading",
        "share",
        "siemens",
        "values",
        "values_low",
        "wide",
    )

    def __init__(self, plan: Plan, reading: Reading) -> None:
        self.plan = plan
        self.reading = reading
        linear = plan.linear
        self.siemens = [*reading.resistor_siemens, *reading.source_siemens, *[LEAK] * plan.ties]
        emf = [0.0] * plan.resistors
        emf += reading.source_volts
        emf += [0.0] * plan.ties
        self.load_emf = [0.0] * len(plan.loads.a)
        self.curve_emf = [0.0] * len(plan.curves.a)
        self.offset: list[float] | None = None
        if plan.any_held and plan.forest is not None:
            offset = self.offset = plan.forest.offsets(len(plan.group), reading.merge_volts)
            for volts, edges in ((emf, linear), (self.load_emf, plan.loads), (self.curve_emf, plan.curves)):
                for k, (a, b) in enumerate(zip(edges.node_a, edges.node_b, strict=True)):
                    volts[k] += offset[a] - offset[b]
        self.emf = emf
        # Branches without a voltage of their own are the many; the others are summed exactly, since in them large voltages cancel.
        if self.offset is None:
            first, last = plan.resistors, plan.resistors + len(reading.source_volts)
            self.driven = list(range(first, last))
            self.plain = (linear.a[:first], linear.b[:first], self.siemens[:first])
            if plan.ties:
                self.plain[0].extend(linear.a[last:])
                self.plain[1].extend(linear.b[last:])
                self.plain[2].extend(self.siemens[last:])
        else:
            self.driven = [k for k, e in enumerate(emf) if e]
            rest = [k for k, e in enumerate(emf) if not e]
            self.plain = ([linear.a[k] for k in rest], [linear.b[k] for k in rest], [self.siemens[k] for k in rest])
        base = [0.0] * plan.pattern.length
        for siemens, slot in zip(self.siemens, linear.slot, strict=True):
            base[slot] += siemens
        self.base = base
        self.wide = bool(plan.pairs or plan.two_ports)
        self.draws = [i if live else 0.0 for i, live in zip(reading.draw_amperes, plan.draws.live, strict=True)]
        self.feeds = [i if live else 0.0 for i, live in zip(reading.feed_amperes, plan.feeds.live, strict=True)]
        self.loads_steady = [w if live else 0.0 for w, live in zip(reading.load_watts, plan.loads.live, strict=True)]
        self.loads_followed = [0.0] * len(self.loads_steady)
        self.pairs_steady = [1.0] * len(reading.pairs)
        self.pairs_followed = [0.0] * len(reading.pairs)
        self.pairs_on = False
        self.share = 1.0
        self.curves: list[Curve] = reading.curves
        self.high = [0.0] * (plan.size + 2)
        self.low = [0.0] * (plan.size + 2)
        self.inject: list[float] = []
        self.pivots: list[float] = []
        self.matrix: list[float] = []
        self.matrix_low: list[float] = []
        self.values: list[float] = []
        self.values_low: list[float] = []
        self.fix_injections()

    def fix_injections(self) -> None:
        """Sum up the fixed currents by rank; to be called again after `draws` changed."""
        plan = self.plan
        inject = [0.0] * (plan.size + 2)
        for a, b, i in zip(plan.feeds.a, plan.feeds.b, self.feeds, strict=True):
            inject[a] -= i
            inject[b] += i
        for a, b, i in zip(plan.draws.a, plan.draws.b, self.draws, strict=True):
            inject[a] -= i
            inject[b] += i
        self.inject = inject

    def is_linear(self) -> bool:
        """Whether one factor serves every step."""
        if self.curves or self.pairs_on:
            return False
        return not any(self.loads_steady) and not (self.share and any(self.loads_followed))

    def residual(self) -> list[float]:
        """The current that the present potentials leave over at every unknown; sets up the matrix of the next step."""
        high = self.high
        low = self.low
        plan = self.plan
        linear = plan.linear
        right = self.inject[:]
        for a, b, g in zip(*self.plain, strict=True):
            i = g * (high[a] - high[b] + (low[a] - low[b]))
            right[a] -= i
            right[b] += i
        for k in self.driven:
            i = self.siemens[k] * self.drop(k)
            right[linear.a[k]] -= i
            right[linear.b[k]] += i
        self.matrix = self.base[:]
        if self.wide:
            self.matrix_low = self.base[:]
        self._add_loads(right)
        if self.curves:
            self._add_curves(right)
        if self.wide:
            self._add_wide(right)
        return right

    def _add_loads(self, right: list[float]) -> None:
        high = self.high
        low = self.low
        values = self.matrix
        loads = self.plan.loads
        share = self.share
        for a, b, slot, e, steady, followed in zip(
            loads.a, loads.b, loads.slot, self.load_emf, self.loads_steady, self.loads_followed, strict=True
        ):
            watt = steady + share * followed
            if watt:
                u = high[a] - high[b] + e + (low[a] - low[b])
                i = watt / u
                right[a] -= i
                right[b] += i
                values[slot] -= i / u
                if self.wide:
                    self.matrix_low[slot] -= i / u

    def _add_curves(self, right: list[float]) -> None:
        curves = self.plan.curves
        for a, b, slot, e, curve in zip(curves.a, curves.b, curves.slot, self.curve_emf, self.curves, strict=True):
            u = self.high[a] - self.high[b] + e + (self.low[a] - self.low[b])
            i, slope = curve.linearise(u)
            right[a] -= i
            right[b] += i
            self.matrix[slot] += slope
            if self.wide:
                self.matrix_low[slot] += slope

    def _add(self, row: int, column: int, value: float) -> None:
        """Add a derivative to the unsymmetric matrix."""
        size = self.plan.size
        if row < size and column < size:
            self.matrix[row] += value
            if row < column:
                self.matrix[self.plan.pattern.where[row][column]] -= value
            elif column < row:
                self.matrix_low[self.plan.pattern.where[column][row]] -= value

    def _add_wide(self, right: list[float]) -> None:
        plan = self.plan
        group = plan.group
        pairs: list[tuple[float, list[tuple[int, float]]]] = []
        for k, pair in enumerate(self.reading.pairs):
            i, slopes, _ = self.pair(k, pair)
            p, m = group[plan.pairs[k][0]], group[plan.pairs[k][1]]
            right[p] -= i
            right[m] += i
            for column, slope in slopes:
                self._add(p, column, slope)
                self._add(m, column, -slope)
            pairs.append((i, slopes))
        ports: list[tuple[float, list[tuple[int, float]]]] = []
        for k in range(len(plan.two_ports)):
            i, slopes = self.two_port(k)
            for node, sign in zip(plan.two_ports[k], (1.0, -1.0, -1.0, 1.0), strict=True):
                row = group[node]
                right[row] -= sign * i
                for column, slope in slopes:
                    self._add(row, column, sign * slope)
            ports.append((i, slopes))
        for j, _, reach in plan.held_rows:
            self._add(j, j, 1.0)
            right[j] = -self.high[j] - self.low[j]
            for kind, k, sign in reach:
                if kind == 5:
                    i, slopes = pairs[k]
                elif kind == 6:
                    i, slopes = ports[k]
                else:
                    i, slope, a, b = self.branch(kind, k)
                    slopes = [(a, slope), (b, -slope)] if slope else []
                right[j] += sign * i
                for column, slope in slopes:
                    self._add(j, column, -sign * slope)

    def branch(self, kind: int, k: int) -> tuple[float, float, int, int]:
        """Current, slope and ends of a branch; classes as in `Plan.ends`."""
        plan = self.plan
        if kind == 3:
            return self.draws[k], 0.0, plan.draws.a[k], plan.draws.b[k]
        if kind == 4:
            return self.feeds[k], 0.0, plan.feeds.a[k], plan.feeds.b[k]
        if kind == 0:
            a, b = plan.linear.a[k], plan.linear.b[k]
            g = self.siemens[k]
            return g * self.drop(k), g, a, b
        if kind == 1:
            a, b = plan.loads.a[k], plan.loads.b[k]
            watt = self.loads_steady[k] + self.share * self.loads_followed[k]
            if not watt:
                return 0.0, 0.0, a, b
            u = self.across(a, b, self.load_emf[k])
            return watt / u, -watt / (u * u), a, b
        a, b = plan.curves.a[k], plan.curves.b[k]
        i, slope = self.curves[k].linearise(self.across(a, b, self.curve_emf[k]))
        return i, slope, a, b

    def drop(self, k: int) -> float:
        """The voltage that drives the current of a linear branch, rounded once."""
        a, b = self.plan.linear.a[k], self.plan.linear.b[k]
        high, low = self.high, self.low
        return fsum((high[a], -high[b], self.emf[k], low[a], -low[b]))

    def across(self, a: int, b: int, emf: float) -> float:
        """The voltage from rank a to rank b, and what is added to it."""
        return self.high[a] - self.high[b] + emf + (self.low[a] - self.low[b])

    def volt(self, plus: int, minus: int) -> float:
        """The voltage between two nodes; 0 where nothing relates them."""
        home = self.plan.home
        if home[plus] != home[minus]:
            return 0.0
        group = self.plan.group
        emf = self.offset[plus] - self.offset[minus] if self.offset is not None else 0.0
        return self.across(group[plus], group[minus], emf)

    def pair(self, k: int, pair: Pair) -> tuple[float, list[tuple[int, float]], float]:
        """What the input of a two-sided element takes [A], its derivatives by unknown, and what it would take at full share."""
        plan = self.plan
        group = plan.group
        in_plus, in_minus, out_plus, out_minus = plan.pairs[k]
        u = self.volt(in_plus, in_minus)
        if not self.pairs_on or (u <= 0 and pair.power) or plan.home[in_plus] != plan.home[in_minus]:
            return 0.0, [], 0.0
        if pair.ohm is None:
            j = self._row(k)
            x = self.high[j] + self.low[j]
            slopes = [(j, 1.0)]
        else:
            out = self.volt(out_plus, out_minus)
            slope = -1.0 / pair.ohm if pair.ohm else 1.0
            x = (pair.volt - out) / pair.ohm if pair.ohm else out
            slopes = [(group[out_plus], slope), (group[out_minus], -slope)]
        if x > pair.most:
            x, slopes = pair.most, []
        whole = pair.factor * x
        if pair.peak is not None and whole > pair.peak.watt * _PEAK:
            return pair.peak.ampere, [], pair.peak.ampere
        scale = 1.0
        if pair.power:
            whole = (whole + pair.idle) / u
            scale = self.pair_scale(k)
        factor_now = scale * pair.factor / u if pair.power else pair.factor
        slopes = [(column, slope * factor_now) for column, slope in slopes]
        if pair.power:
            slopes += [(group[in_plus], -scale * whole / u), (group[in_minus], scale * whole / u)]
        return scale * whole, slopes, whole

    def pair_scale(self, k: int) -> float:
        """The share of its power that the input of a two-sided element takes at present."""
        if not self.reading.pairs[k].scaled:
            return 1.0
        return self.pairs_steady[k] + self.share * self.pairs_followed[k]

    def _row(self, k: int) -> int:
        """The unknown that holds the output current of pair k: held rows stand in the order of their pairs."""
        before = sum(1 for q in range(k) if self.reading.pairs[q].ohm is None)
        return self.plan.held_rows[before][0]

    def two_port(self, k: int) -> tuple[float, list[tuple[int, float]]]:
        """The current that passes from the in side to the out side [A], and its derivatives by unknown."""
        four = self.plan.two_ports[k]
        group = self.plan.group
        g = self.reading.two_port_siemens[k]
        home = self.plan.home
        if home[four[0]] != home[four[1]] or home[four[2]] != home[four[3]]:
            return 0.0, []
        parts: list[float] = []
        for node, sign in zip(four, (1.0, -1.0, -1.0, 1.0), strict=True):
            parts += (sign * self.high[group[node]], sign * self.low[group[node]])
            if self.offset is not None:
                parts.append(sign * self.offset[node])
        i = g * fsum(parts)
        return i, [(group[v], sign * g) for v, sign in zip(four, (1.0, -1.0, -1.0, 1.0), strict=True)]

    def factor(self) -> bool:
        """Factor the matrix; True where the signs of the pivots are those of a point that can be reached from zero load."""
        try:
            return self._factor()
        except ZeroDivisionError:
            from contextlib import suppress

            # Singular to the last bit, as at a fold. Those who step across it need a direction all the same: that of a matrix beside it.
            self.pivots = [0.0] * self.plan.pattern.size
            self.residual()
            least = _BESIDE * max(map(abs, self.base))
            for k in range(self.plan.size):
                self.matrix[k] += least
            with suppress(ZeroDivisionError):
                self._factor()
            return False

    def _factor(self) -> bool:
        self.values = self.matrix
        self.values_low = self.matrix_low
        if self.wide:
            self.pivots = factor_two_sided(self.plan.pattern, self.values, self.values_low)
            return sum([p < 0 for p in self.pivots]) % 2 == 0
        self.pivots = factor(self.plan.pattern, self.values)
        return not self.pivots or min(self.pivots) > 0

    def solve(self, right: list[float]) -> list[float]:
        """The change of all unknowns that a residual asks for, by the last factor; `right` is used up."""
        if self.wide:
            solve_two_sided(self.plan.pattern, self.values, self.values_low, self.pivots, right)
        else:
            solve(self.plan.pattern, self.values, self.pivots, right)
        right[-1] = right[-2] = 0.0
        return right

    def move(self, change: list[float], part: float = 1.0) -> None:
        """Add a change to the potentials."""
        high = self.high
        if part != 1.0:
            change = [part * d for d in change]
        sums = [x + d for x, d in zip(self.low, change, strict=True)]
        self.high = [h + t for h, t in zip(high, sums, strict=True)]
        self.low = [t - (s - h) for t, s, h in zip(sums, self.high, high, strict=True)]

    def share_slope(self) -> list[float]:
        """What one whole share more of the followed loads adds to the residual at every unknown."""
        plan = self.plan
        right = [0.0] * (plan.size + 2)
        more: dict[tuple[int, int], float] = {}
        for k, followed in enumerate(self.loads_followed):
            if followed:
                a, b = plan.loads.a[k], plan.loads.b[k]
                more[1, k] = i = followed / self.across(a, b, self.load_emf[k])
                right[a] -= i
                right[b] += i
        for k, followed in enumerate(self.pairs_followed):
            if followed:
                more[5, k] = i = followed * self.pair(k, self.reading.pairs[k])[2]
                right[plan.group[plan.pairs[k][0]]] -= i
                right[plan.group[plan.pairs[k][1]]] += i
        for j, _, reach in plan.held_rows:
            right[j] = sum([sign * more.get((kind, k), 0.0) for kind, k, sign in reach])
        return right
