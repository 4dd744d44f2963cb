"""A formula with numbers in it: written once, read by people as text and by Python as code."""

import ast
from dataclasses import dataclass
from math import isfinite, isnan

_OPERATORS = {
    ast.Add: (" + ", 1),
    ast.Sub: (" − ", 1),
    ast.Mult: (" × ", 2),
    ast.Div: (" / ", 2),
    ast.Pow: ("^", 4),
}
_FUNCTIONS = {
    "sqrt": "√",
    "cbrt": "∛",
    "ln": "ln",
    "log10": "log₁₀",
    "exp": "exp",
    "smaller": "the smaller of ",
    "larger": "the larger of ",
}
WORKED_OUT = "worked out under: "  # then the answer whose step it is


def digits(value):
    """Return a number with four digits at most; very small and large ones with a power of ten."""
    number = float(value)
    if isnan(number):
        return "no figure"
    if not isfinite(number):
        return "without limit"
    rounded = float(f"{number:.4g}")
    if rounded and not 1e-3 <= abs(rounded) < 1e7:
        mantissa, power = f"{rounded:.3e}".split("e")
        text = f"{float(mantissa):g} × 10^{int(power)}"
    else:
        text = f"{rounded:,.7f}".rstrip("0").rstrip(".")
    return text.replace("-", "−").replace(",", "\N{NARROW NO-BREAK SPACE}")


@dataclass(frozen=True)
class Given:
    """A number that goes into a formula, and where it comes from.

    A ``constant`` stands in the formula as its number, anything else as its symbol.
    """

    words: str
    value: float
    unit: str
    source: str
    constant: bool = False

    @property
    def text(self):
        """The number with its unit."""
        return f"{digits(self.value)} {self.unit}".rstrip()


@dataclass(frozen=True)
class Step:
    """One step of a working: ``symbol`` [unit] from an ``expression`` over its ``inputs``.

    ``inputs`` maps each symbol of the expression to its `Given`; an empty expression means that
    the value is taken as it is. ``answer`` says which question the step belongs to.
    """

    answer: str
    name: str
    symbol: str
    expression: str
    inputs: dict
    value: float
    unit: str
    source: str

    @property
    def result(self):
        """The value with its unit, as shown."""
        return Given(self.name, self.value, self.unit, "").text

    @property
    def in_symbols(self):
        """The right side with its symbols, empty where the value is taken as it is."""
        return self._written(lambda symbol, given: given.constant)

    @property
    def in_numbers(self):
        """The right side with this setting's numbers, as shown."""
        return self._written(lambda symbol, given: True)

    @property
    def formula(self):
        """The whole line: symbol = symbols = numbers = value unit, repeats left out."""
        parts = dict.fromkeys((self.symbol, self.in_symbols, self.in_numbers, self.result))
        return " = ".join(filter(None, parts))

    def _written(self, as_number):
        if not self.expression:
            return ""
        written = {
            symbol: _in_brackets(digits(given.value)) if as_number(symbol, given) else symbol
            for symbol, given in self.inputs.items()
        }
        return _typeset(ast.parse(self.expression, mode="eval").body, {"π": "π"} | written)


class Sheet:
    """Steps in the order they are worked out; each may use the results of those before it."""

    def __init__(self):
        self.steps, self._known = [], {}

    def given(self, symbol, words, value, unit, source):
        """Take a number that is set, looked up or read from a file."""
        self._known[symbol] = Given(words, float(value), unit, source)

    def constants(self, source, *rows):
        """Take constants of one source; a row is symbol, value, words and, if any, unit."""
        for symbol, value, words, *unit in rows:
            self._known[symbol] = Given(words, float(value), "".join(unit), source, constant=True)

    def step(self, answer, name, equation, value, unit, source, **own):
        """Work one step out by an equation, or take its value where that has no right side.

        ``own`` are inputs that no other step uses.
        """
        symbol, _, expression = equation.partition(" = ")
        known = self._known | own
        inputs = {name: known[name] for name in symbols_of(expression)}
        step = Step(answer, name, symbol, expression, inputs, float(value), unit, source)
        self.steps.append(step)
        self._known[symbol] = Given(
            name.partition(":")[0], step.value, unit, f"{WORKED_OUT}{answer}"
        )


def _in_brackets(number):
    return f"({number})" if "×" in number or number.startswith("−") else number


def symbols_of(expression):
    """Return the symbols of an expression, in the order they are read."""
    nodes = ast.walk(ast.parse(expression or "()", mode="eval"))
    names = sorted((n.col_offset, n.id) for n in nodes if isinstance(n, ast.Name))
    return [n for n in dict.fromkeys(name for _, name in names) if n not in (*_FUNCTIONS, "π")]


def _argument(node, written):
    """Return an argument of a function as text: a number alone needs no brackets of its own."""
    text = _typeset(node, written)
    return text.removeprefix("(").removesuffix(")") if isinstance(node, ast.Name) else text


def _typeset(node, written, outer=0):
    """Return an expression as text, with brackets only where they are needed."""
    if isinstance(node, ast.Name):
        return written[node.id]
    if isinstance(node, ast.Constant):
        return digits(node.value)
    if isinstance(node, ast.Call):
        inside = "; ".join(_argument(part, written) for part in node.args)
        return f"{_FUNCTIONS[node.func.id]}({inside})"
    if isinstance(node, ast.UnaryOp):
        text, rank = f"−{_typeset(node.operand, written, 3)}", 3
    else:
        sign, rank = _OPERATORS[type(node.op)]
        left_binds = rank + 1 if isinstance(node.op, ast.Pow) else rank
        right_binds = 3 if isinstance(node.op, ast.Pow) else rank + 1
        left = _typeset(node.left, written, left_binds)
        text = left + sign + _typeset(node.right, written, right_binds)
    return f"({text})" if rank < outer else text
