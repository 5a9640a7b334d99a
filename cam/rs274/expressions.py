"""Numbers, parameters and expressions of NISTIR 6556, section 3.3.2.

All positions are indices into a line without spaces, in capitals. Precedence (3.3.2.3): `**`; then `*`, `/`, `MOD`;
then `+`, `-`, `OR`, `XOR`, `AND`; from the left within a group. Angles are degrees.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from cam.rs274.fault import Fault

NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
LAST_PARAMETER = 5399
NEAR = 0.0001  # how near an integer a number must be to count as one (3.3.2.1)
RANK = {"**": 3, "*": 2, "/": 2, "MOD": 2, "+": 1, "-": 1, "OR": 1, "XOR": 1, "AND": 1}
OPERATOR_NAMES = ("**", "*", "/", "MOD", "+", "-", "OR", "XOR", "AND")  # "**" before "*"
Parameters = dict[int, float]


def whole(value: float) -> int | None:
    """Return the integer that value is within 0.0001 of, or None (NISTIR 6556, 3.3.2.1)."""
    nearest = math.floor(value + 0.5)
    return nearest if abs(value - nearest) <= NEAR else None


def read_value(text: str, at: int, parameters: Parameters) -> tuple[float, int]:
    """Read a number, parameter, expression or function of one; return it and the index behind it.

    Args:
        at: where it begins. parameters: as they were when the line began.
    Raises:
        Fault: no value stands there, or it cannot be worked out.
    """
    first = text[at : at + 1]
    if first == "[":
        return read_expression(text, at, parameters)
    if first == "#":
        return read_parameter(text, at, parameters)
    if "A" <= first <= "Z":
        return read_function(text, at, parameters)
    match = NUMBER.match(text, at)
    if match is None:
        raise Fault(at, "a number is missing", text[at : at + 12], "a number, a parameter (#5) or an [expression]")
    return float(match.group()), match.end()


def read_parameter(text: str, at: int, parameters: Parameters) -> tuple[float, int]:
    """Read the value of `#5`, `#[1+2]` or `##2` (3.3.2.2)."""
    index, end = read_parameter_index(text, at, parameters)
    return parameter(index, at, parameters), end


def read_parameter_index(text: str, at: int, parameters: Parameters) -> tuple[int, int]:
    """Read `#` and the number of the parameter that it names; `##2` names the one that #2 tells."""
    end = at
    while text.startswith("#", end):
        end += 1
    inner = end - at - 1
    value, end = read_value(text, end, parameters)
    for _ in range(inner):
        value = parameter(check_index(value, at), at, parameters)
    return check_index(value, at), end


def check_index(value: float, at: int) -> int:
    """Return the parameter number that value means, 1 to 5399."""
    index = whole(value)
    if index is None or not 1 <= index <= LAST_PARAMETER:
        raise Fault(at, "there is no such parameter", f"#{value:g}", f"a whole number from 1 to {LAST_PARAMETER}")
    return index


def parameter(index: int, at: int, parameters: Parameters) -> float:
    """Return a parameter that the program has set: what stands in the control's own file is no part of the text."""
    value = parameters.get(index, math.nan)
    if math.isnan(value):
        what = "a parameter is read that the text has not given a value"
        allowed = "parameters set earlier in this program"
        raise Fault(at, what, f"#{index}", allowed, "set it first: its value in the control is not known here")
    return value


def read_expression(text: str, at: int, parameters: Parameters) -> tuple[float, int]:
    """Read `[ ... ]` (3.3.2.3)."""
    value, end = read_value(text, at + 1, parameters)
    values = [value]
    operators: list[str] = []
    while True:
        if text.startswith("]", end):
            while operators:
                reduce_last(values, operators, at)
            return values[0], end + 1
        name = next((n for n in OPERATOR_NAMES if text.startswith(n, end)), None)
        if name is None:
            what = "an expression goes on with neither an operator nor a closing bracket"
            raise Fault(end, what, text[at : end + 6], "** * / MOD + - OR XOR AND ]", "close each [ with a ]")
        while operators and RANK[operators[-1]] >= RANK[name]:
            reduce_last(values, operators, at)
        operators.append(name)
        value, end = read_value(text, end + len(name), parameters)
        values.append(value)


def reduce_last(values: list[float], operators: list[str], at: int) -> None:
    """Work out the last operator upon the last two values."""
    right = values.pop()
    values[-1] = operate(operators.pop(), values[-1], right, at)


def operate(name: str, left: float, right: float, at: int) -> float:
    """Work out one operator of two values."""
    try:
        return checked(OPERATORS[name](left, right), at, f"{left:g} {name} {right:g}")
    except (ArithmeticError, ValueError) as error:
        raise Fault(at, "an expression cannot be worked out", f"{left:g} {name} {right:g}") from error


def checked(value: float, at: int, given: str) -> float:
    """Return the value, if it is a finite real number."""
    if not math.isfinite(value):
        raise Fault(at, "an expression cannot be worked out", given)
    return value


def remainder(left: float, right: float) -> float:
    """Work out MOD, which is never negative."""
    value = math.fmod(left, right)
    return value + abs(right) if value < 0 else value


def power(left: float, right: float) -> float:
    """Work out `**`; a negative number may only have a whole power."""
    if left < 0:
        exponent = whole(right)
        if exponent is None:
            raise ValueError
        return math.pow(left, exponent)
    return math.pow(left, right)


OPERATORS: dict[str, Callable[[float, float], float]] = {
    "**": power,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
    "MOD": remainder,
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "OR": lambda a, b: float(a != 0 or b != 0),
    "XOR": lambda a, b: float((a != 0) != (b != 0)),
    "AND": lambda a, b: float(a != 0 and b != 0),
}


def nearest(value: float) -> float:
    """Work out ROUND: to the nearest whole number, halves away from zero."""
    return math.copysign(math.floor(abs(value) + 0.5), value)


FUNCTIONS: dict[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": lambda v: math.degrees(math.acos(v)),
    "ASIN": lambda v: math.degrees(math.asin(v)),
    "COS": lambda v: math.cos(math.radians(v)),
    "EXP": math.exp,
    "FIX": math.floor,
    "FUP": math.ceil,
    "LN": math.log,
    "ROUND": nearest,
    "SIN": lambda v: math.sin(math.radians(v)),
    "SQRT": math.sqrt,
    "TAN": lambda v: math.tan(math.radians(v)),
}


def read_function(text: str, at: int, parameters: Parameters) -> tuple[float, int]:
    """Read `SIN[...]` and its fellows, and `ATAN[...]/[...]` (3.3.2.4)."""
    bracket = text.find("[", at, at + 6)
    name = text[at:bracket] if bracket > 0 else ""
    if name == "ATAN":
        return read_arctangent(text, at, parameters)
    function = FUNCTIONS.get(name)
    if function is None:
        what, given = "a number is missing, and what stands there is no function", text[at : at + 8]
        raise Fault(at, what, given, "ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN SQRT TAN, each with [ ]")
    argument, end = read_expression(text, bracket, parameters)
    try:
        return checked(float(function(argument)), at, f"{name}[{argument:g}]"), end
    except (ArithmeticError, ValueError) as error:
        raise Fault(at, f"{name} has no value there", f"{name}[{argument:g}]") from error


def read_arctangent(text: str, at: int, parameters: Parameters) -> tuple[float, int]:
    """Read `ATAN[a]/[b]`, the angle of the point (b, a), -180 to 180 degrees."""
    rise, end = read_expression(text, at + 4, parameters)
    if not text.startswith("/[", end):
        raise Fault(at, "ATAN takes two values", text[at : end + 2], "ATAN[1]/[2]")
    run, end = read_expression(text, end + 1, parameters)
    return math.degrees(math.atan2(rise, run)), end
