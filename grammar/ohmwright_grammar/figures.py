"""Reading figures with their units from the tokens of a statement: quantities in all their forms, lists of them, and sizes of conductors."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from ohmwright_grammar.phrases import Miss
from ohmwright_grammar.quantities import DIMENSIONS, Dimension, Form, Gauge, Measure, Quantity
from ohmwright_grammar.syntax import Token
from ohmwright_grammar.units import dimension_of_unit, is_unit_of, plain_symbol, to_si, units_of

__all__ = ["Figures"]

_JOINING = frozenset(
    {
        "and",
        "to",
        "at",
        "from",
        "with",
        "except",
        "plus",
        "minus",
        "no",
        "not",
        "none",
        "all",
        "same",
        "everything",
    }
)
_HOUR = 3600.0  # s


class Figures:
    """Reads values at the places of one statement; a thorough reader also remembers what could have stood where it failed.

    At first only usual units count, from a table. A thorough reader also asks pint for the unusual ones, and finds out why a word is no unit: that
    is worth its time only where a statement could not be read without.
    """

    __slots__ = ("choices", "furthest", "misses", "parameters", "thorough", "tokens")

    def __init__(self, tokens: tuple[Token, ...], parameters: Mapping[str, Measure], thorough: bool = False) -> None:
        self.tokens = tokens
        self.parameters = parameters
        self.furthest = -1
        self.misses: list[Miss] = []
        self.choices: Mapping[str, str] = {}
        self.thorough = thorough

    def miss(self, position: int, miss: Miss) -> None:
        """Remember what was missing at a place, if no further place was reached and somebody is going to ask."""
        if not self.thorough:
            return
        if position > self.furthest:
            self.furthest = position
            self.misses = [miss]
        elif position == self.furthest and miss not in self.misses:
            self.misses.append(miss)

    def _miss_quantity(self, position: int, dimension: Dimension[Any]) -> None:
        if self.thorough:
            self.miss(position, Miss("unreadable-text", f"{dimension.words} such as {_example(dimension)}", dimension.name))

    def _token(self, position: int, *types: str) -> Token | None:
        if position < len(self.tokens) and self.tokens[position].type in types:
            return self.tokens[position]
        return None

    def _is_word(self, position: int, word: str) -> bool:
        return position < len(self.tokens) and str(self.tokens[position]).lower() == word

    def _figure(self, position: int) -> float | None:
        token = self._token(position, "NUMBER")
        if token is None:
            return None
        return float(str(token).replace("−", "-")) + 0.0  # no negative zero

    def _unit(self, position: int, dimension: Dimension[Any], value: float) -> tuple[int, float, str] | None:
        """Read a unit at `position`; return where it ends, the SI value and the symbol."""
        token = self._token(position, "WORD")
        if token is None:
            return None
        symbol = plain_symbol(str(token))
        if position + 1 < len(self.tokens) and self.tokens[position + 1].type == "WORD":
            both = f"{symbol} {self.tokens[position + 1]}"
            if both in dimension.symbols:
                converted = to_si(value, both, dimension)
                if converted is not None:
                    return position + 2, converted, both
        if symbol.lower() in _JOINING:
            return None
        converted = to_si(value, symbol, dimension, not self.thorough)
        return None if converted is None else (position + 1, converted, symbol)

    def _miss_unit(self, position: int, dimension: Dimension[Any]) -> None:
        """Remember why the word after a number is no unit of the dimension."""
        if not self.thorough:
            return
        token = self._token(position, "WORD")
        name = dimension.name
        if token is None or str(token).lower() in _JOINING:
            self.miss(position, Miss("missing-unit", units_of(dimension), name))
            return
        other = dimension_of_unit(str(token))
        if other is not None and other != name:
            self.miss(position, Miss("wrong-unit", units_of(dimension), name))
            return
        glued = position > 0 and self.tokens[position - 1].end_pos == token.start_pos
        looks_like_unit = len(str(token)) <= 5 or str(token).lower().rstrip("s") in _SPELT_OUT
        rule = "unknown-unit" if glued or looks_like_unit else "missing-unit"
        self.miss(position, Miss(rule, units_of(dimension), name))

    def _quantities(self, dimension: Dimension[Any], position: int) -> Iterator[tuple[int, Quantity[Any]]]:
        form: Form = "plain"
        start = position
        between = self._is_word(start, "between")
        if between:
            start += 1
        elif self._is_word(start, "at") and start + 1 < len(self.tokens):
            word = str(self.tokens[start + 1]).lower()
            if word in ("most", "least"):
                form = "at most" if word == "most" else "at least"
                start += 2
        first = self._figure(start)
        if first is None:
            if not between:
                yield from self._parameter(dimension, start)
            self._miss_quantity(start, dimension)
            return
        if not math.isfinite(first):
            self.miss(start + 1, Miss("senseless-value", "a number that can be held", dimension.name))
            return
        read = self._unit(start + 1, dimension, first)
        if form == "plain":
            yield from self._ranges(dimension, start, first, read, "and" if between else "to")
        if between:
            return
        if read is None:
            self._miss_unit(start + 1, dimension)
            return
        end, value, symbol = read
        if form == "plain":
            yield from self._tolerances(dimension, end, value, symbol)
            yield end, Quantity(value, value, value, symbol)
        elif form == "at most":
            low = dimension.low if value < 0 or dimension.name == "temperature" else max(0.0, dimension.low)
            yield end, Quantity(low, value, value, symbol, form)
        else:
            yield end, Quantity(value, value, dimension.high, symbol, form)

    def _parameter(self, dimension: Dimension[Any], position: int) -> Iterator[tuple[int, Quantity[Any]]]:
        token = self._token(position, "WORD")
        if token is None:
            return
        known = self.parameters.get(str(token))
        if known is not None and isinstance(known.value, Quantity) and is_unit_of(known.value.unit, dimension):
            yield position + 1, known.value

    def _ranges(
        self, dimension: Dimension[Any], start: int, first: float, read: tuple[int, float, str] | None, joining: str
    ) -> Iterator[tuple[int, Quantity[Any]]]:
        """Read a range: two figures joined by "to", after "between" by "and"; the first may go without its unit."""
        after = read[0] if read is not None else start + 1
        if not self._is_word(after, joining):
            if joining == "and":
                self.miss(after, Miss("unreadable-text", "'and'"))
            return
        second = self._figure(after + 1)
        if second is None or not math.isfinite(second):
            return
        closing = self._unit(after + 2, dimension, second)
        if closing is None:
            self._miss_unit(after + 2, dimension)
            return
        end, high, symbol = closing
        low = read[1] if read is not None else to_si(first, symbol, dimension)
        assert low is not None
        if low > high:
            self.miss(start, Miss("senseless-value", "a range from the lower to the higher value", dimension.name))
            return
        yield end, Quantity(low, (low + high) / 2, high, symbol, "range")

    def _tolerances(
        self, dimension: Dimension[Any], position: int, value: float, symbol: str
    ) -> Iterator[tuple[int, Quantity[Any]]]:
        if not (self._is_word(position, "plus") and self._is_word(position + 1, "or") and self._is_word(position + 2, "minus")):
            return
        figure = self._figure(position + 3)
        if figure is None:
            return
        share = self._unit(position + 4, DIMENSIONS["share"], figure)
        if share is not None:
            spread = abs(value) * share[1]
            end = share[0]
        else:
            difference = DIMENSIONS["difference"] if dimension.name == "temperature" else dimension
            read = self._unit(position + 4, difference, figure)
            if read is None:
                self._miss_unit(position + 4, difference)
                return
            end, spread = read[0], read[1]
        yield end, Quantity(value - spread, value, value + spread, symbol, "tolerance")

    def _quantity_list(self, dimension: Dimension[Any], position: int) -> Iterator[tuple[int, tuple[Quantity[Any], ...]]]:
        """Read figures parted by commas or "and", with one unit at the end, or each with its unit; a mixed form does not match."""
        figures: list[float] = []
        values: list[Quantity[Any]] = []
        while True:
            figure = self._figure(position)
            if figure is None:
                break
            read = self._unit(position + 1, dimension, figure)
            if read is not None:
                end, value, symbol = read
                if figures and not values:
                    converted = tuple(to_si(item, symbol, dimension) or 0.0 for item in figures)
                    yield (
                        end,
                        (
                            *(Quantity(item, item, item, symbol) for item in converted),
                            Quantity(value, value, value, symbol),
                        ),
                    )
                    return
                values.append(Quantity(value, value, value, symbol))
                position = end
            elif values:
                self._miss_unit(position + 1, dimension)
                break
            else:
                figures.append(figure)
                position += 1
            goes_on = self._token(position, "COMMA") is not None or self._is_word(position, "and")
            if not goes_on or self._figure(position + 1) is None:
                if figures and not values:
                    self._miss_unit(position, dimension)
                break
            position += 1
        if values:
            yield position, tuple(values)
        else:
            self._miss_quantity(position, dimension)

    def _moment(self, position: int) -> Iterator[tuple[int, Quantity[Any]]]:
        """Read a time under an hour: "for 3 h" might be meant for 3 h a day."""
        for end, value in self._quantities(DIMENSIONS["time"], position):
            if value.high < _HOUR:
                yield end, value
            else:
                self.miss(end - 1, Miss("wrong-unit", units_of(DIMENSIONS["duty"]), "duty"))

    def _number(self, position: int) -> Iterator[tuple[int, Quantity[Any]]]:
        first = self._figure(position)
        if first is None or not math.isfinite(first):
            self.miss(position, Miss("unreadable-text", "a number"))
            return
        second = self._figure(position + 2) if self._is_word(position + 1, "to") else None
        if second is not None and second >= first:
            yield position + 3, Quantity(first, (first + second) / 2, second, "", "range")
        yield position + 1, Quantity(first, first, first, "")

    def _count(self, position: int) -> Iterator[tuple[int, int]]:
        figure = self._figure(position)
        if figure is None or not math.isfinite(figure):
            self.miss(position, Miss("unreadable-text", "a whole number"))
        elif figure != int(figure):
            self.miss(position, Miss("senseless-value", "a whole number"))
        else:
            yield position + 1, int(figure)

    def _gauge(self, position: int) -> Iterator[tuple[int, Gauge]]:
        read = self._one_gauge(position)
        if read is not None:
            yield read

    def _gauges(self, position: int) -> Iterator[tuple[int, tuple[Gauge, Gauge]]]:
        """Read a range of sizes, "14 AWG to 4 AWG" or "14 to 4 AWG"; the result goes from thin to thick."""
        first = self._one_gauge(position)
        if first is not None:
            second = self._one_gauge(first[0] + 1) if self._is_word(first[0], "to") else None
            if second is not None:
                thin, thick = sorted((first[1], second[1]), key=lambda gauge: gauge.area)
                yield second[0], (thin, thick)
            yield first[0], (first[1], first[1])
            return
        if self._is_word(position + 1, "to") and self._token(position, "NUMBER", "GAUGE") is not None:
            second = self._one_gauge(position + 2)
            if second is not None:
                unit = self.tokens[second[0] - 1]
                alone = Figures((self.tokens[position], unit), self.parameters, self.thorough)._one_gauge(0)
                if alone is not None:
                    thin, thick = sorted((alone[1], second[1]), key=lambda gauge: gauge.area)
                    yield second[0], (thin, thick)

    def _one_gauge(self, position: int) -> tuple[int, Gauge] | None:
        token = self._token(position, "NUMBER", "GAUGE")
        if token is None:
            word = self._token(position, "WORD")
            known = self.parameters.get(str(word)) if word is not None else None
            if known is not None and isinstance(known.value, Gauge):
                return position + 1, known.value
            if known is not None and known.dimension == "area" and isinstance(known.value, Quantity):
                return position + 1, Gauge.from_area(float(f"{known.value.nominal * 1e6:.9g}"))
            if word is not None and str(word).upper().startswith("AWG"):
                self.miss(position, Miss("unreadable-text", "a size such as 12 AWG, with the number first"))
            else:
                self.miss(position, Miss("unreadable-text", "a size such as 12 AWG or 4 mm2"))
            return None
        unit = self._token(position + 1, "WORD")
        text = str(token).replace("−", "-")
        if unit is not None and str(unit).upper() == "AWG":
            number = 1 - int(text[0]) if token.type == "GAUGE" else int(float(text)) if float(text).is_integer() else None
            if number is None or not -3 <= number <= 40 or text.startswith("-"):
                self.miss(position, Miss("senseless-value", "a gauge from 40 AWG to 4/0 AWG"))
                return None
            return position + 2, Gauge.from_awg(number)
        if unit is not None and token.type == "NUMBER":
            area = to_si(float(text), plain_symbol(str(unit)), DIMENSIONS["area"], not self.thorough)
            if area is not None:
                if not 1e-9 <= area <= 1e-2:
                    self.miss(position, Miss("senseless-value", "an area that a conductor can have"))
                    return None
                mm2 = float(f"{area * 1e6:.9g}")
                return position + 2, Gauge.from_area(mm2)
        if not self.thorough:
            return None
        if unit is not None and dimension_of_unit(str(unit)) is not None:
            self.miss(position + 1, Miss("wrong-unit", "AWG or mm2", "gauge"))
        else:
            self.miss(position + 1, Miss("missing-unit", "AWG or mm2", "gauge"))
        return None

    def _measure(self, position: int) -> Iterator[tuple[int, Measure]]:
        """Read a quantity of whatever dimension its unit has, or a conductor size."""
        start = position  # of the figure
        if self._is_word(position, "between"):
            start += 1
        elif self._is_word(position, "at") and (self._is_word(position + 1, "most") or self._is_word(position + 1, "least")):
            start += 2
        if self._figure(start) is None and self._token(start, "GAUGE") is None:
            self.miss(start, Miss("unreadable-text", "a value with its unit"))
            return
        gauge = Figures(self.tokens, self.parameters)._one_gauge(start)
        if gauge is not None and str(self.tokens[start + 1]).upper() == "AWG" and start == position:
            yield gauge[0], Measure("gauge", gauge[1])
            return
        joining = "and" if self._is_word(position, "between") else "to"
        after = start + 2 if self._is_word(start + 1, joining) else start  # the unit may stand at the second figure alone
        unit = self._token(after + 1, "WORD")
        name = dimension_of_unit(plain_symbol(str(unit))) if unit is not None else None
        if name is None:
            self.miss(after + 1, Miss("missing-unit" if unit is None else "unknown-unit", "any unit of the manual"))
            return
        for end, value in self._quantities(DIMENSIONS[name], position):
            yield end, Measure(name, value)


_SPELT_OUT = frozenset(
    {
        "volt",
        "amp",
        "ampere",
        "watt",
        "ohm",
        "metre",
        "meter",
        "inch",
        "inche",
        "foot",
        "feet",
        "degree",
        "celsiu",
        "percent",
        "gram",
        "pound",
    }
)

_EXAMPLES = {
    "temperature": "25 degC",
    "share": "60 %",
    "length": "1.2 m",
    "duty": "3 h/day",
    "time": "2 h",
    "charge": "60 Ah",
}


def _example(dimension: Dimension[Any]) -> str:
    return _EXAMPLES.get(dimension.name) or f"12 {next(iter(dimension.symbols))}"
