"""Finds every public figure of the trade, and checks a working by hand, as a reader would.

The notation of formulas: the names of the terms, ``+ - * / ^ | |``, ``exp ln log10 max min``, *sum
of parts* (of the additions), *least of parts*, *product of parts* and *mean of the trials*. After
a comma follow what is done to the result (*rounded up*, *not below zero*, *at least days*, *from 0
to 100*) and definitions (*r = a / b*), of which a name that is also a term must come to that term.
"""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import math
import operator
import pkgutil
import re
import typing
from collections.abc import Callable, Iterator, Mapping
from types import ModuleType
from typing import Any

from boxwort.working import Term, Working

NEAR = 3e-5
"""Constants are printed to five digits."""

PROSE = {
    "integral of k1(T)": "an integral along the cooling line",
    "100 * Y; X, Y, Z": "a sum over the visible spectrum",
    "255 * (1.055 * light": "two branches, and the light of an empty glass",
    "the least quantity that is enough": "a step in a table of chances",
    "the attenuation of the yeast at which": "the root of the whole computation",
    "weight for weight": "no figure knows an aroma",
}
"""How a formula begins that is read, and not computed from the terms alone; and why."""

PURE_NUMBERS = frozenset(
    {
        "A", "CO2 from it", "X", "Y", "Z", "alpha", "apparent attenuation", "efficiency",
        "fermentability", "fill", "form factor", "light before the cut", "lost since harvest",
        "share of the contact", "storage factor", "storage index", "utilisation", "yearly loss",
    }
)  # fmt: skip
"""Terms that have no unit because they are shares, factors or indices."""

_SUMS = ("sum of parts", "sum of the additions")
_PRODUCT = "product of parts"
_LEAST = "least of parts"
_MEAN = "mean of the trials"
_FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "abs": abs,
    "exp": math.exp,
    "ln": math.log,
    "log10": math.log10,
    "max": max,
    "min": min,
}
_OPERATORS: Mapping[type[ast.AST], Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
}
_ROUNDING_NOISE = 1e-9


def figure_makers(package: str) -> dict[str, Callable[..., Any]]:
    """Return the public functions and properties of a package that give a figure, by name."""
    return {
        f"{module.__name__}.{name}": made
        for module in _modules(package)
        for name, made in _makers(module)
    }


def workings_in(found: Any) -> Iterator[Working]:
    """Yield every figure in what a query or a formula gave, its properties among them."""
    if isinstance(found, Working):
        yield found
        return
    for inner in _inside(found):
        yield from workings_in(inner)


def _inside(found: Any) -> Iterator[Any]:
    """Yield what a collection holds, or the fields and the figures of a row."""
    if isinstance(found, Mapping):
        yield from found.values()
    elif isinstance(found, list | tuple):
        yield from found
    elif dataclasses.is_dataclass(found):
        yield from (getattr(found, field.name) for field in dataclasses.fields(found))
        for name, value in vars(type(found)).items():
            if isinstance(value, property) and not name.startswith("_") and _gives(value.fget):
                yield getattr(found, name)


def with_parts(working: Working) -> Iterator[Working]:
    """Yield a figure and all that it is made of."""
    yield working
    for part in working.parts:
        yield from with_parts(part)


def faults(working: Working) -> list[str]:
    """Return what keeps a reader from checking a figure by hand; empty when nothing does."""
    return [f"{each.name}: {fault}" for each in with_parts(working) for fault in _faults(each)]


def evaluated(working: Working) -> float:
    """Return what the formula comes to with the terms.

    Raises
    ------
    ValueError: the formula is not in the notation, or names something that is not there.
    """
    main, *after = _clauses(working.formula)
    definitions = dict(clause.split(" = ", 1) for clause in after if " = " in clause)
    known = {term.name: float(term.value) for term in working.terms}
    parts = [part.value for part in working.parts]
    known = {
        _LEAST: min(parts, default=0.0),
        _MEAN: math.fsum(known.values()) / max(1, len(known)),
        _PRODUCT: math.prod(parts),
        **dict.fromkeys(_SUMS, math.fsum(parts)),
        **known,
    }
    value = _computed(re.sub(r"\|(.+)\|", r"abs(\1)", main), known, definitions)
    for clause in after:
        if " = " not in clause:
            value = _modified(value, clause, known)
    for name, expression in definitions.items():
        if name in known and not _near(known[name], _computed(expression, known, definitions)):
            msg = f"{name} is not {expression}"
            raise ValueError(msg)
    return value


def _faults(working: Working) -> Iterator[str]:
    if not working.name or not working.formula:
        yield "has no name or no formula"
    if not working.source:
        yield "names no source"
    for term in (Term(name="value", value=working.value, unit=working.unit), *working.terms):
        if not math.isfinite(term.value):
            yield f"{term.name} is {term.value}"
    for term in working.terms:
        if not term.unit.strip() and term.name not in PURE_NUMBERS:
            yield f"the term {term.name} has no unit and is not known to be a pure number"
    if not working.formula.startswith(tuple(PROSE)):
        yield from _wrong(working)


def _wrong(working: Working) -> Iterator[str]:
    try:
        value = evaluated(working)
    except (ValueError, SyntaxError, ZeroDivisionError) as problem:
        yield f"cannot be computed from its terms: {working.formula} ({problem})"
        return
    if not _near(working.value, value):
        yield f"{working.formula} comes to {value:g}, and {working.value:g} is shown"


def _near(shown: float, computed: float) -> bool:
    return math.isclose(shown, computed, rel_tol=NEAR, abs_tol=1e-9)


def _clauses(formula: str) -> list[str]:
    """Return the parts of a formula between commas that are in no brackets."""
    found, depth = [""], 0
    for character in formula:
        depth += {"(": 1, ")": -1}.get(character, 0)
        if character == "," and depth == 0:
            found.append("")
        else:
            found[-1] += character
    return [clause.strip() for clause in found]


def _modified(value: float, clause: str, known: Mapping[str, float]) -> float:
    if clause == "rounded up":
        return max(1.0, math.ceil(value - _ROUNDING_NOISE))
    if least := re.fullmatch(r"(?:not below|at least) (.+)", clause):
        named = {"zero": 0.0, **known}
        return max(value, named[least[1]] if least[1] in named else float(least[1]))
    if limits := re.fullmatch(r"from (\d+) to (\d+)", clause):
        return min(float(limits[2]), max(float(limits[1]), value))
    msg = f"nothing is known of “{clause}”"
    raise ValueError(msg)


def _computed(expression: str, known: Mapping[str, float], definitions: Mapping[str, str]) -> float:
    names = sorted({*known, *definitions}, key=len, reverse=True)
    places = {name: f"_{number}_" for number, name in enumerate(names)}
    spelled = re.sub(
        "|".join(rf"(?<![\w.]){re.escape(name)}(?!\w)" for name in names),
        lambda found: places[found[0]],
        expression,
    )
    values = {
        place: known[name]
        if name in known
        else lambda name=name: _computed(definitions[name], known, definitions)
        for name, place in places.items()
    }
    return _value(ast.parse(spelled.replace("^", "**"), mode="eval").body, values)


def _value(node: ast.AST, values: Mapping[str, Any]) -> float:
    """Return the value of an arithmetic expression, and of nothing else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        return float(node.value)
    if isinstance(node, ast.Name) and node.id in values:
        value = values[node.id]
        return value() if callable(value) else value
    if isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        return _OPERATORS[type(node.op)](_value(node.left, values), _value(node.right, values))
    if isinstance(node, ast.UnaryOp) and type(node.op) in _OPERATORS:
        return _OPERATORS[type(node.op)](_value(node.operand, values))
    if (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in _FUNCTIONS
    ):
        return _FUNCTIONS[node.func.id](*(_value(given, values) for given in node.args))
    msg = f"“{ast.unparse(node)}” is neither a term nor arithmetic"
    raise ValueError(msg)


def _modules(package: str) -> Iterator[ModuleType]:
    root = importlib.import_module(package)
    yield root
    for found in pkgutil.walk_packages(getattr(root, "__path__", ()), f"{package}."):
        yield importlib.import_module(found.name)


def _makers(module: ModuleType) -> Iterator[tuple[str, Callable[..., Any]]]:
    for name, thing in vars(module).items():
        if name.startswith("_") or getattr(thing, "__module__", "") != module.__name__:
            continue
        if inspect.isfunction(thing) and _gives(thing):
            yield name, thing
        elif inspect.isclass(thing):
            for inner, value in vars(thing).items():
                made = value.fget if isinstance(value, property) else value
                if not inner.startswith("_") and inspect.isfunction(made) and _gives(made):
                    yield f"{name}.{inner}", made


def _gives(made: Callable[..., Any] | None) -> bool:
    """Return whether a function's annotation says that it gives a figure."""
    return made is not None and _holds(typing.get_type_hints(made).get("return"), ())


def _holds(hint: Any, seen: tuple[Any, ...]) -> bool:
    if hint is Working:
        return True
    if any(_holds(inner, seen) for inner in typing.get_args(hint)):
        return True
    if hint in seen or not (inspect.isclass(hint) and dataclasses.is_dataclass(hint)):
        return False
    within = (*seen, hint)
    properties = [value.fget for value in vars(hint).values() if isinstance(value, property)]
    hints = [*typing.get_type_hints(hint).values()]
    hints += [typing.get_type_hints(each).get("return") for each in properties]
    return any(_holds(inner, within) for inner in hints)
