"""Changes to one node of a module's tree, each as the new text of the whole module."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from typing import NamedTuple

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
REVERSED: dict[type[ast.cmpop], type[ast.cmpop]] = {ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE, ast.GtE: ast.LtE}
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult
}  # fmt: skip


class Mutant(NamedTuple):
    """One change: its line, how it reads, and the whole text with it."""

    line: int
    words: str
    text: str


def mutants_of(source: str) -> Iterator[Mutant]:
    """Every small change to what a module does; none in docstrings, annotations or messages."""
    tree = ast.parse(source)
    for node in ast.walk(tree):
        for undo in _changes(node):
            new = ast.unparse(tree)
            after = ast.unparse(node)
            undo()
            yield Mutant(getattr(node, "lineno", 0), f"{ast.unparse(node)}  ->  {after}", new)


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
    """A condition the other way round."""
    name = "operand" if isinstance(node, ast.UnaryOp) else "test"
    was = getattr(node, name)
    setattr(node, name, ast.UnaryOp(op=ast.Not(), operand=was))
    yield lambda: setattr(node, name, was)


def _text(node: ast.BinOp) -> bool:
    """Whether a sum joins texts."""
    return any(
        isinstance(side, ast.JoinedStr) or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in (node.left, node.right)
    )
