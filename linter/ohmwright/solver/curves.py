"""Elements whose current follows a curve of their voltage: junctions (diodes, photovoltaic arrays) and sources of constant power.

Currents are counted as taken: from the first node to the second. Every curve rises, so that a network of such elements and
resistors has exactly one operating point.
"""

from __future__ import annotations

from math import exp, expm1, log1p

from .elements import Array, Diode

__all__ = ["DIODE_LEAK", "Curve", "Junction", "PowerFeed"]

_LARGEST = 700.0  # of an exponent, where doubles end
DIODE_LEAK = 1e-15
"""What every diode conducts beside its junction [S]: without it, two that block in series would share their voltage by chance."""
_FIRST_CURRENT = 1e-3  # A, where a junction is taken to work before anything is known


class Junction:
    """I = saturation * (exp(X / slope) - 1) + X * leak - photo, with X = U - I * series.

    A step of Newton's method gives a voltage that may lie far up the exponential. The curve is then entered by current, not by
    voltage: `linearise` keeps the working point that it took, and extends its tangent to the voltage asked for.
    """

    __slots__ = ("current", "leak", "open", "photo", "saturation", "series", "settled", "sign", "slope", "steep", "volt")

    def __init__(self, element: Diode | Array) -> None:
        self.slope = element.slope
        self.saturation = element.saturation
        if isinstance(element, Array):
            self.series = element.series
            self.leak = 1.0 / element.shunt
            self.photo = element.photo
            self.sign = -1.0  # of a current as it is reported: an array gives
        else:
            self.series = element.ohm
            self.leak = DIODE_LEAK
            self.photo = 0.0
            self.sign = 1.0
        if not (self.slope > 0 and self.saturation > 0 and self.series >= 0 and self.leak >= 0):
            raise ValueError(
                f"{element.name}: a junction needs positive saturation, slope and shunt and a series resistance of 0 or more"
            )
        self.volt = 0.0
        self.current = 0.0
        self.steep = 0.0
        self.settled = False
        self.reset()
        self.open = self.volt if self.photo > 0 else 0.0

    def reset(self) -> None:
        """Take the working point from which a solution starts: open circuit, or a small forward current."""
        self._work_at(self.at_current(0.0 if self.photo > 0 else _FIRST_CURRENT))

    def place(self, volt: float) -> None:
        """Take the working point at a voltage [V]."""
        self._work_at(self.at_voltage(volt))

    def at_current(self, current: float) -> float:
        """The junction's own voltage X [V] at a current [A]."""
        target = current + self.photo
        a, s, leak = self.slope, self.saturation, self.leak
        x = 0.0
        if target > 0:
            x = a * log1p(target / s)
            if leak:
                x = min(x, target / leak)
        for _ in range(100):
            e = exp(x / a)
            step = (s * (e - 1.0) + leak * x - target) / (s / a * e + leak)
            x -= step
            if step <= 4e-16 * abs(x):
                break
        return x

    def at_voltage(self, volt: float) -> float:
        """The junction's own voltage X [V] at a voltage across the whole element [V]."""
        r = self.series
        if not r:
            return volt
        a = self.slope
        s = self.saturation * r
        rising = 1.0 + self.leak * r
        target = volt + self.photo * r
        # Both bounds lie above the root of a convex rising function: Newton's steps come down to it without overshoot.
        x = min(target / rising, a * log1p(target / s)) if target > 0 else 0.0
        for _ in range(100):
            e = exp(x / a)
            step = (s * (e - 1.0) + rising * x - target) / (s / a * e + rising)
            x -= step
            if step <= 4e-16 * abs(x):
                break
        return x

    def value(self, volt: float) -> float:
        """The current [A] at a voltage [V]."""
        x = self.at_voltage(volt)
        return self.saturation * expm1(min(x / self.slope, _LARGEST)) + x * self.leak - self.photo

    def linearise(self, volt: float) -> tuple[float, float]:
        """The current at `volt` [V] on a tangent to the curve, and the tangent's slope [S].

        Moves the working point towards `volt`; `settled` says whether it got there.
        """
        along = self.current + self.steep * (volt - self.volt)
        if volt > self.volt:
            # Rising: the point of the curve that has the current which the last tangent promised.
            self._work_at(self.at_current(along))
            self.settled = self.volt > volt or abs(self.volt - volt) < 1e-3 * self.slope
        else:
            self.settled = True
        if self.settled:
            self._work_at(self.at_voltage(volt))
        return self.current + self.steep * (volt - self.volt), self.steep

    def bend(self, volt: float) -> float:
        """The second derivative of the current by the voltage [A/V^2] at the working point `volt`."""
        x = self.at_voltage(volt)
        e = self.saturation / self.slope * exp(min(x / self.slope, _LARGEST))
        inner = e + self.leak
        return e / self.slope / (1.0 + inner * self.series) ** 3

    def _work_at(self, x: float) -> None:
        a = self.slope
        z = min(x / a, _LARGEST)
        grown = self.saturation * expm1(z)
        inner = self.saturation / a * exp(z) + self.leak
        self.current = i = grown + x * self.leak - self.photo
        self.volt = x + i * self.series
        self.steep = inner / (1.0 + inner * self.series)


class PowerFeed:
    """A source of constant power: it takes the current -watt / U, at any positive voltage."""

    __slots__ = ("current", "least", "open", "settled", "sign", "start", "steep", "volt", "watt")

    photo = 0.0  # nothing flows round inside it

    def __init__(self, watt: float, start: float) -> None:
        self.watt = watt
        self.start = self.open = start
        self.sign = -1.0
        self.least = start * 1e-6
        self.settled = False
        self.reset()

    def reset(self) -> None:
        """Take the working point from which a solution starts."""
        self._work_at(self.start)

    def place(self, volt: float) -> None:
        """Take the working point at a voltage [V]."""
        self._work_at(max(volt, self.least))

    def value(self, volt: float) -> float:
        """The current [A] at a voltage [V]."""
        return -self.watt / volt if volt > 0 else 0.0

    def linearise(self, volt: float) -> tuple[float, float]:
        """As `Junction.linearise`."""
        along = self.current + self.steep * (volt - self.volt)
        if volt < self.volt and along < 0:
            self._work_at(max(-self.watt / along, self.volt * 0.05, self.least))
            self.settled = volt > 0 and (self.volt < volt or abs(self.volt - volt) < 1e-3 * volt)
        else:
            self.settled = volt >= self.least
        if self.settled:
            self._work_at(volt)
        return self.current + self.steep * (volt - self.volt), self.steep

    def bend(self, volt: float) -> float:
        """As `Junction.bend`."""
        return -2.0 * self.watt / volt**3

    def _work_at(self, volt: float) -> None:
        self.volt = volt
        self.current = -self.watt / volt
        self.steep = self.watt / (volt * volt)


Curve = Junction | PowerFeed
