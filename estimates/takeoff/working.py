"""The working behind a figure: formulas that are computed by the very text that is printed.

A :class:`Working` collects named inputs and steps. A step's formula is evaluated from its own text over
the values already in the working, so what the screen prints cannot differ from what was computed, and a
test can evaluate every figure again from its printed inputs.
"""

from __future__ import annotations

import ast
import decimal
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache

from .errors import DomainError
from .phrases import Phrase, gettext_noop, phrase

_CONTEXT = decimal.Context(prec=28, rounding=decimal.ROUND_HALF_EVEN)
PI = Decimal("3.141592653589793238462643383")


class Origin(StrEnum):
    """Where an input of a figure came from."""

    MEASURED = gettext_noop("measured")
    DATA_SHEET = gettext_noop("data sheet")
    PRACTICE = gettext_noop("practice setting")
    STANDARD = gettext_noop("standard")
    PRICE_LIST = gettext_noop("price list")
    ENTERED = gettext_noop("entered")
    GEOMETRY = gettext_noop("geometry")
    COMPUTED = gettext_noop("computed")


class Round(StrEnum):
    """How a step's result is rounded."""

    EXACT = gettext_noop("not rounded")
    UP_WHOLE = gettext_noop("up to a whole number")
    DOWN_WHOLE = gettext_noop("down to a whole number")
    HALF_UP = gettext_noop("half up")


@dataclass(frozen=True)
class Given:
    """A named input: *value* in *unit*, where it came from and what says so."""

    symbol: str
    label: Phrase
    value: Decimal
    unit: str
    origin: Origin
    source: Phrase | None = None


@dataclass(frozen=True)
class Step:
    """A named result: *formula* over earlier symbols, evaluated and rounded as stated."""

    symbol: str
    label: Phrase
    formula: str
    value: Decimal
    unit: str
    rounding: Round = Round.EXACT
    places: int = 0


@dataclass(frozen=True)
class Figure:
    """A computed quantity that can show its working.

    *value* is the last step's value. *lines* holds inputs and steps in the order they are read.
    """

    key: str
    label: Phrase
    value: Decimal
    unit: str
    lines: tuple[Given | Step, ...]

    def evaluate(self) -> Decimal:
        """Compute the figure again from its printed inputs and formulas; equal to :attr:`value`."""
        names: dict[str, Decimal] = {}
        result = Decimal(0)
        for line in self.lines:
            if isinstance(line, Step):
                result = rounded(evaluate(line.formula, names), line.rounding, line.places)
            else:
                result = line.value
            names[line.symbol] = result
        return result


@dataclass
class Working:
    """Builds a :class:`Figure` line by line."""

    key: str
    label: Phrase
    lines: list[Given | Step] = field(default_factory=list)
    names: dict[str, Decimal] = field(default_factory=dict)

    def given(
        self,
        symbol: str,
        label: Phrase,
        value: Decimal | int,
        unit: str,
        origin: Origin,
        source: Phrase | None = None,
    ) -> Decimal:
        """Add an input and return its value."""
        value = Decimal(value)
        self.lines.append(Given(symbol, label, value, unit, origin, source))
        self.names[symbol] = value
        return value

    def carry(self, symbol: str, label: Phrase, figure: Figure) -> Decimal:
        """Add another figure's value as a computed input and return it."""
        return self.given(symbol, label, figure.value, figure.unit, Origin.COMPUTED)

    def step(
        self,
        symbol: str,
        label: Phrase,
        formula: str,
        unit: str,
        rounding: Round = Round.EXACT,
        places: int = 0,
    ) -> Decimal:
        """Evaluate *formula* over the symbols so far, round it as stated, add it and return the value."""
        value = rounded(evaluate(formula, self.names), rounding, places)
        self.lines.append(Step(symbol, label, formula, value, unit, rounding, places))
        self.names[symbol] = value
        return value

    def figure(self) -> Figure:
        """Close the working; the figure's value and unit are those of the last line."""
        last = self.lines[-1]
        return Figure(self.key, self.label, last.value, last.unit, tuple(self.lines))


def rounded(value: Decimal, rounding: Round, places: int = 0) -> Decimal:
    """Round *value*: whole numbers up or down, or half up to *places* decimals.

    Before rounding up or down, noise below one part in 10^18 is dropped, so that a quotient such as
    ``(1/3) * 3`` does not buy another pack.
    """
    if rounding is Round.EXACT:
        return value
    if rounding is Round.HALF_UP:
        return value.quantize(Decimal(1).scaleb(-places), rounding=decimal.ROUND_HALF_UP)
    # Of a number of many digits fewer decimals are held, and its noise is as much larger.
    held = min(18, _CONTEXT.prec - 2 - value.adjusted())
    calm = value.quantize(Decimal(1).scaleb(-held), rounding=decimal.ROUND_HALF_EVEN)
    mode = decimal.ROUND_CEILING if rounding is Round.UP_WHOLE else decimal.ROUND_FLOOR
    return calm.to_integral_value(rounding=mode)


def _ceil(value: Decimal) -> Decimal:
    return rounded(value, Round.UP_WHOLE)


def _floor(value: Decimal) -> Decimal:
    return rounded(value, Round.DOWN_WHOLE)


def _sqrt(value: Decimal) -> Decimal:
    return value.sqrt(_CONTEXT)


def _ln(value: Decimal) -> Decimal:
    return value.ln(_CONTEXT)


def _sin_deg(degrees: Decimal) -> Decimal:
    """Return the sine of an angle in degrees by its power series, exact to the working's digits."""
    x = _CONTEXT.divide(_CONTEXT.multiply(degrees, PI), Decimal(180))
    term = total = x
    for n in range(1, 40):
        term = _CONTEXT.divide(-term * x * x, Decimal(2 * n * (2 * n + 1)))
        total += term
    return total.quantize(Decimal(1).scaleb(-20))


_FUNCTIONS: Mapping[str, Callable[..., Decimal]] = {
    "ceil": _ceil,
    "floor": _floor,
    "max": max,
    "min": min,
    "sqrt": _sqrt,
    "ln": _ln,
    "abs": abs,
    "sin_deg": _sin_deg,
}
_OPERATORS: Mapping[type[ast.operator], Callable[[Decimal, Decimal], Decimal]] = {
    ast.Add: _CONTEXT.add,
    ast.Sub: _CONTEXT.subtract,
    ast.Mult: _CONTEXT.multiply,
    ast.Div: _CONTEXT.divide,
    ast.Pow: _CONTEXT.power,
}


def evaluate(formula: str, names: Mapping[str, Decimal]) -> Decimal:
    """Evaluate an arithmetic *formula* over *names* in decimal arithmetic (28 digits).

    Grammar: numbers, names, ``pi``, ``+ - * / **``, brackets, and the functions ceil, floor, max, min,
    sqrt, ln, abs.

    Raises:
        DomainError: the formula divides by zero (rule ``working.division-by-zero``).
        KeyError, SyntaxError: a mistake in our own formula.

    >>> evaluate("ceil((B - o) / (w - o))", {"B": Decimal(60), "o": Decimal(2), "w": Decimal(39)})
    Decimal('2')
    """
    try:
        return _value(_tree(formula), names, formula)
    except (decimal.DivisionByZero, decimal.InvalidOperation) as error:
        raise DomainError(
            phrase(
                gettext_noop("The figure cannot be computed: {formula} divides by zero."), formula=formula
            ),
            rule="working.division-by-zero",
            formula=formula,
        ) from error


@lru_cache(maxsize=4096)
def _tree(formula: str) -> ast.expr:
    return ast.parse(formula, mode="eval").body


def _value(node: ast.expr, names: Mapping[str, Decimal], source: str) -> Decimal:
    match node:
        case ast.Constant():
            # The literal's own text, since a float would already have lost digits.
            return Decimal(ast.get_source_segment(source, node) or "")
        case ast.Name(id="pi"):
            return PI
        case ast.Name(id=name):
            return names[name]
        case ast.BinOp(left=left, op=operator, right=right):
            return _OPERATORS[type(operator)](_value(left, names, source), _value(right, names, source))
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, names, source)
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return _FUNCTIONS[name](*(_value(argument, names, source) for argument in arguments))
    raise SyntaxError(f"not arithmetic: {source!r}")


def whole(value: Decimal) -> int:
    """Return a whole-number figure as an int; raises ValueError when it is not whole."""
    if value != value.to_integral_value():
        raise ValueError(value)
    return math.floor(value)
