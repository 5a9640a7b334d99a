"""A shop file in the making: what its reader still lacks is what is asked, in the words of its schema."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from pathlib import Path as File
from typing import Any

from cam.part.starter import toml_text
from cam.problem import Problem, ProblemError, Where
from cam.shop.read import shop_of
from cam.source import parse_source
from cam.source.lines import Path

Tree = dict[str, Any]
"""What is said so far, as tomllib would read it."""

ORDER = (
    "lathe", "lathe.control", "lathe.x", "lathe.z", "lathe.spindle", "lathe.feed", "lathe.tailstock", "lathe.headstock",
    "centre", "carrier", "chuck", "tool", "mill", "mill.block", "mill.vice", "mill.x", "mill.y", "mill.z", "cutter",
)  # fmt: skip
"""Tables in the order in which they are asked for and written."""
SCHEMA = File(__file__).resolve().parent.parent / "shop" / "shop.schema.json"
INCH = {"mm": "in", "mm/rev": "in/rev", "m/min": "ft/min", "mm/min": "in/min"}
"""Unit of an example -> of a bare number where the person thinks in inches."""
WIDE = 44
"""Column at which what a key means is written beside it."""


class Keys:
    """What the schema says of the keys of a shop file."""

    def __init__(self) -> None:
        self.schema = json.loads(SCHEMA.read_text(encoding="utf-8"))

    def node(self, path: Path) -> dict[str, Any]:
        """The schema of a key or table; numbers in the path count within an array and say nothing more."""
        found = self.schema
        for key in path:
            found = self._meant(found)
            found = found["items"] if isinstance(key, int) else found["properties"][key]
        return {**self._meant(found), **found}

    def place(self, path: Path) -> tuple[int, tuple[int, ...], int]:
        """By which keys are put in order: table, row of an array, key as the schema has it."""
        table = ".".join(k for k in path[:-1] if isinstance(k, str))
        rows = tuple(k for k in path if isinstance(k, int))
        keys = list(self._meant(self.node(path[:-1]))["properties"])
        return ORDER.index(table) if table in ORDER else len(ORDER), rows, keys.index(str(path[-1]))

    def _meant(self, node: dict[str, Any]) -> dict[str, Any]:
        ref = node.get("$ref", "")
        return self.schema["$defs"][ref.rpartition("/")[2]] if ref else node


def judge(tree: Tree, name: str) -> tuple[list[Path], frozenset[Problem]]:
    """What the reader lacks in a shop file so far, and what it finds wrong in it.

    Args:
        tree: what is said. name: of the file, for messages.
    """
    source = parse_source(shop_text(tree).encode(), name)
    try:
        shop_of(source)
    except ProblemError as found:
        keys = (p.lacks.split(".") for p in found.problems if p.lacks)
        lacking: list[Path] = [tuple(int(k) if k.isdigit() else k for k in path) for path in keys]
        wrong = (replace(p, where=Where(path=name)) for p in found.problems if not p.lacks)
        return lacking, frozenset(wrong)
    return [], frozenset()


def with_value(tree: Tree, path: Path, value: Any) -> Tree:
    """A copy with one value more."""
    new = deepcopy(tree)
    table: Any = new
    for key in path[:-1]:
        table = table[key]
    table[path[-1]] = value
    return new


def value_of(keys: Keys, path: Path, answer: str, unit: str) -> Any:
    """An answer as the file's value: a bare number gets its unit, two lengths become a pair.

    Args:
        unit: "mm" or "in", of bare lengths; the other quantities go with it.
    """
    node = keys.node(path)
    kind = node.get("type")
    if kind == "integer" and re.fullmatch(r"[0-9]{1,6}", answer):
        return int(answer)
    if kind == "boolean":
        return {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}.get(
            answer.lower(), answer
        )
    if kind == "array":
        return [with_unit(one.strip(), "mm", unit) for one in re.split(r",| to ", answer)]
    return with_unit(answer, unit_of(node), unit)


def unit_of(node: dict[str, Any]) -> str:
    """Unit of a key's first example; "" for what has none."""
    example = next(iter(node.get("examples", [])), "")
    found = re.fullmatch(r"-?[0-9.]+ ([^0-9].*)", example) if isinstance(example, str) else None
    return found[1] if found and "enum" not in node else ""


def with_unit(answer: str, of_example: str, unit: str) -> str:
    """An answer with the unit that its example has, where it is a bare number."""
    if not of_example or not re.fullmatch(r"[+-]?[0-9 ./½¼¾⅛⅜⅝⅞]+", answer):
        return answer
    return f"{answer} {INCH.get(of_example, of_example) if unit == 'in' else of_example}"


def box_points(sizes: list[str]) -> list[list[str]]:
    """Corners of a box from its four sizes: toward the headstock, toward the tailstock, begins back, ends back."""
    left, right, near, far = sizes
    minus = left.removeprefix("-") if left.startswith("-") else f"-{left}"
    return [[minus, near], [right, near], [right, far], [minus, far]]


def shop_text(tree: Tree, keys: Keys | None = None) -> str:
    """The file, TOML; with keys, what each means beside it."""
    lines: list[str] = []
    for table in ORDER:
        for path, rows in _found(tree, tuple(table.split("."))):
            repeated = isinstance(path[-1], int)
            lines += ["", f"[[{table}]]" if repeated else f"[{table}]"]
            for key, value in rows.items():
                if isinstance(value, dict) or (key == "outline" and isinstance(value, list)):
                    continue
                row = f"{key} = {_value(value)}"
                said = "" if keys is None else keys.node((*path, key)).get("description", "")
                lines.append(f"{row:<{WIDE - 1}} # {said}" if said else row)
            for outline in rows["outline"] if isinstance(rows.get("outline"), list) else ():
                lines += ["", f"[[{table}.outline]]", *(f"{k} = {_value(v)}" for k, v in outline.items())]
    return "\n".join(lines[1:]) + "\n"


def _found(tree: Tree, names: tuple[str, ...]) -> Iterator[tuple[Path, Tree]]:
    """Every table of a name that is there, with its path."""
    table: Any = tree
    for name in names:
        table = table.get(name) if isinstance(table, dict) else None
    if isinstance(table, dict):
        yield names, table
    for at, row in enumerate(table if isinstance(table, list) else ()):
        yield (*names, at), row


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, list):
        return f"[{', '.join(_value(one) for one in value)}]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {_value(v)}" for k, v in value.items()) + " }"
    return f'"{toml_text(str(value))}"'
