"""Changes to one node of a module's tree, each as the code of the whole module, with its lines as they were."""

from __future__ import annotations

import ast
from collections.abc import Container, Iterator
from types import CodeType
from typing import NamedTuple

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
REVERSED: dict[type[ast.cmpop], type[ast.cmpop]] = {ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE, ast.GtE: ast.LtE}
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult
}  # fmt: skip
SCOPES = (ast.FunctionDef, ast.ClassDef)


class Mutant(NamedTuple):
    """One change: its line, the function that it is in, how it reads, and the whole module's code with it."""

    line: int
    within: str
    words: str
    code: CodeType


def mutants_of(source: str, path: str, chosen: Container[int] | None = None) -> Iterator[Mutant]:
    """Return every small change to what a module does, or of these the chosen ones by number, from 0."""
    tree = ast.parse(source)
    for number, (line, within, words) in enumerate(changes_of(tree)):
        if chosen is None or number in chosen:
            yield Mutant(line, within, words, compile(tree, path, "exec"))


def changes_of(tree: ast.Module) -> Iterator[tuple[int, str, str]]:
    """Make every small change in turn: line, function, words; none in docstrings, annotations or messages."""
    for within, node in _nodes(tree, ""):
        before = ast.unparse(node) if isinstance(node, ast.expr | ast.stmt) else ""
        for undo in _changes(node):
            yield getattr(node, "lineno", 0), within, _words(node, before, ast.unparse(node))
            undo()


def _words(node: ast.AST, before: str, after: str) -> str:
    """Return how a change reads; of a long statement only its first line."""
    short = isinstance(node, ast.If)
    return "  ->  ".join(text.splitlines()[0] if short else text for text in (before, after))


def _nodes(node: ast.AST, within: str) -> Iterator[tuple[str, ast.AST]]:
    """Return every node and the name of what it is in, left to right; no annotations, messages, nor zip's strict."""
    yield within, node
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns") or isinstance(value, ast.JoinedStr):
            continue
        if isinstance(node, ast.keyword) and node.arg == "strict":  # that lengths are the same is never otherwise
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr):
                name = f"{within}.{child.name}".lstrip(".") if isinstance(child, SCOPES) else within
                yield from _nodes(child, name)


def _changes(node: ast.AST) -> Iterator:
    """Change a node, hand over how to undo it, and go on with the next change once it is undone."""
    match node:
        case ast.Compare(ops=[op]):
            for table in (COMPARED, REVERSED):
                if type(op) in table:
                    node.ops = [table[type(op)]()]
                    yield lambda: setattr(node, "ops", [op])
        case ast.BinOp(op=op) if type(op) in SUMS and not _text(node):
            node.op = SUMS[type(op)]()
            yield lambda: setattr(node, "op", op)
        case ast.BoolOp(op=op):
            node.op = ast.Or() if isinstance(op, ast.And) else ast.And()
            yield lambda: setattr(node, "op", op)
        case ast.UnaryOp(op=ast.USub() as op):
            node.op = ast.UAdd()
            yield lambda: setattr(node, "op", op)
        case ast.UnaryOp(op=ast.Not()) | ast.If() | ast.IfExp():
            yield from _negated(node)
        case ast.Constant(value=value) if isinstance(value, (int, float)) and not isinstance(value, bool):
            node.value = value * 2 if value else 1
            yield lambda: setattr(node, "value", value)
        case ast.Constant(value=bool() as value):
            node.value = not value
            yield lambda: setattr(node, "value", value)


def _negated(node: ast.If | ast.IfExp | ast.UnaryOp) -> Iterator:
    """Turn a condition round."""
    name = "operand" if isinstance(node, ast.UnaryOp) else "test"
    was = getattr(node, name)
    setattr(node, name, ast.copy_location(ast.UnaryOp(op=ast.Not(), operand=was), was))
    yield lambda: setattr(node, name, was)


def _text(node: ast.BinOp) -> bool:
    """Tell whether a sum joins texts."""
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in (node.left, node.right)
    )
