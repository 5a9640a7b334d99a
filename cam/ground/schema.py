"""The JSON Schema of a file, from the keys that its class declares: what an editor completes, explains and marks.

`python -m tests.schemas` writes the schemas of part and shop files beside their rooms; a test holds them to it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from cam.ground.keys import Key, Node, def_of, keys_of, lacks, needs, when
from cam.ground.trade_words import TYPED
from cam.ground.units import ANGLE, KINDS, LENGTH, Kind

DRAFT = "https://json-schema.org/draft/2020-12/schema"
EXAMPLES = {"length": ["6.35 mm", "1/4 in", "1 1/8 in", "12 thou"], "angle": ["60 deg", "10° 37'"]}
"""Kind of quantity -> how one may be written, where its two units alone do not say it all."""
LIMITS = r'[0-9].*[A-Za-zµμ"″”]\s*$'
TEXTS = "A text has 200 characters at most, unless its key says otherwise."
DEFS: Node = {
    "text": {"type": "string", "minLength": 1, "maxLength": 200},
    "size": {
        "description": "The diameter of a drill: a length, a number or a letter.",
        "type": "string", "minLength": 2, "maxLength": 60, "examples": ["3.5 mm", "No. 30", "letter F"],
    },
    "pair": {
        "description": "Two lengths.", "type": "array", "minItems": 2, "maxItems": 2,
        "items": {"$ref": "#/$defs/quantity"},
    },
    "date": {
        "description": "A date as ISO 8601 writes it.",
        "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "examples": ["2026-05-02"],
    },
    "limits": {
        "description": "Limits as two signed offsets from the size, with a unit.",
        "type": "string", "minLength": 4, "maxLength": 60, "pattern": LIMITS,
        "examples": ["+0 / -0.02 mm", "-0.01 / -0.03 mm", "±0.01 mm", "+0 / -0.5 thou"],
    },
}  # fmt: skip
"""The forms of values that stand under many keys."""


def schema_of(cls: type, title: str, about: str, defs: Node) -> Node:
    """Return the schema of a file.

    Args:
        cls: the class that declares its keys; those of all tables in it follow from there.
        title, about: as an editor shows them.
        defs: forms of values that only this file has, by name.
    """
    table = table_schema(cls)
    forms = {def_of(kind): _form(kind) for kind in KINDS} | DEFS | defs
    used = {name: form for name, form in forms.items() if _refers(table, name) or _refers(forms, name)}
    return {"$schema": DRAFT, "title": title, "description": about, **table, "$defs": used}


def table_schema(cls: type, without: tuple[str, ...] = (), said: dict[str, str] | None = None) -> Node:
    """Return the schema of a table, by the keys of a class; without some, and with some said in other words."""
    own = dict(_keys(cls, without, said or {}))
    conditions = list(_conditions({name: key for name, (key, _) in own.items()}))
    rules = [*conditions, *_rules(cls)]
    needed = [name for name, (key, _) in own.items() if key.needed and key.only is None]
    return {
        "type": "object",
        "additionalProperties": False,
        **({"required": needed} if needed else {}),
        **({"allOf": rules} if rules else {}),
        "properties": {name: node for name, (_, node) in own.items()},
    }


def _rules(cls: type) -> Iterator[Node]:
    """Yield the rules of a class and of the classes within it."""
    yield from getattr(cls, "__rules__", ())
    for key in keys_of(cls).values():
        if "within" in key.node and key.inner:
            yield from _rules(key.inner)


def _keys(cls: type, without: tuple[str, ...], said: dict[str, str]) -> Iterator[tuple[str, tuple[Key, Node]]]:
    """Yield name, declaration and schema of each key of a table, with those of the classes within it."""
    for key in keys_of(cls).values():
        if "within" in key.node and key.inner:
            yield from _keys(key.inner, key.node["without"], key.node["said"])
        elif key.name not in without:
            node = _node(key)
            about = said.get(key.name, key.about)
            examples = (
                {"examples": [list(e) if isinstance(e, tuple) else e for e in key.examples]} if key.examples else {}
            )
            how = {"$comment": key.how} if key.how else {}
            yield key.name, (key, {"description": about, **node, **examples, **how})


def _node(key: Key) -> Node:
    """Return the form of a key's value."""
    node = dict(key.node)
    inner = table_schema(key.inner, node.pop("without", ()), node.pop("said", {})) if key.inner else None
    if inner and node.get("type") == "array":
        node["items"] = inner
    elif inner:
        node = inner
    other = node.pop("or", None)
    return {"oneOf": [node, other]} if other else node


def _conditions(keys: dict[str, Key]) -> Iterator[Node]:
    """Yield what is wanted, and what has no place, by the value of another key."""
    groups: dict[tuple[str, tuple[str, ...]], tuple[list[str], list[str]]] = {}
    for key in keys.values():
        if key.only is not None and key.only.key in keys:
            needed, out = groups.setdefault((key.only.key, key.only.values), ([], []))
            needed += [key.name] if key.needed else []
            out += [key.name] if key.only.why else []
    for (name, values), (needed, out) in groups.items():
        yield when(name, values, needs(*needed) if needed else {}, lacks(*out) if out else None)


def _form(kind: Kind) -> Node:
    """Return the form of a quantity: a text that has a digit and ends as a unit does."""
    units = [unit for unit in kind.units if unit.isascii() and unit != '"']
    ends = 'A-Za-zµμ"″”' if kind is LENGTH else "A-Za-z°'²2" if kind is not ANGLE else "A-Za-z°'"
    return {
        "description": f"A {kind.name}, a number and its unit: {', '.join(units)}.",
        "type": "string", "minLength": 2, "maxLength": 60,
        "pattern": rf"[0-9¼½¾⅛⅜⅝⅞].*[{ends}]\s*$",
        "examples": EXAMPLES.get(kind.name, [f"6 {unit}" for unit in kind.examples]),
    }  # fmt: skip


def _refers(node: Any, name: str) -> bool:
    if isinstance(node, dict):
        return node.get("$ref") == f"#/$defs/{name}" or any(_refers(one, name) for one in node.values())
    return isinstance(node, list) and any(_refers(one, name) for one in node)


def node_at(schema: Node, place: str) -> Node:
    """Return the node of a table, "section.square", or of each table of a list of them."""
    for name in filter(None, place.split(".")):
        schema = schema["properties"][name]
        schema = schema.get("items", schema)
    return schema


def said_of(node: Node) -> str:
    """Return what a key is for, with the words that may stand there where the sentence does not name them."""
    about, words = str(node["description"]), [str(word) for word in node.get("enum", ()) if word not in TYPED]
    named = all(re.search(rf"\b{re.escape(word)}\b", about, re.IGNORECASE) for word in words)
    return about if named or len(words) == 1 else f"{about} One of: {', '.join(words)}."


def _bounds_of(node: Node) -> Iterator[str]:
    """Yield the bounds of a key's value as a sentence, where it has any that are not said of it already."""
    words = str(node.get("bounds", ""))
    if "minimum" in node:
        step = f", in steps of {node['multipleOf']}" if "multipleOf" in node else ""
        words = f"{node['minimum']:g} to {node['maximum']:g}{step}"
    elif "maxLength" in node:
        words = f"at most {node['maxLength']} characters"
    if words and words not in node["description"]:
        yield f"{words[0].upper()}{words[1:]}."


def reference(schema: Node, width: int = 100) -> str:
    """Return every key of a file by its table: what it is for, which words or bounds hold, an example.

    A text without bounds of its own has at most 200 characters.
    """
    lines = wrap(f"{schema['description']} {TEXTS}", width)
    for place, table in tables_in(schema):
        lines += ["", f"[{place}]" if place else "at the top of the file"]
        for key, node in table["properties"].items():
            if not any("properties" in one for one in (node, node.get("items", {}))):
                examples = [json.dumps(one, ensure_ascii=False) for one in node.get("examples", ())[:1]]
                words = " ".join([said_of(node), *_bounds_of(node), *(f"For example {one}." for one in examples)])
                lines += wrap(words, width, initial_indent=f"  {key}  ", subsequent_indent="      ")
    return "\n".join(lines) + "\n"


def tables_in(node: Node, place: str = "") -> Iterator[tuple[str, Node]]:
    """Yield the place and the node of a table and of all tables in it."""
    yield place, node
    for key, value in node["properties"].items():
        whole: Node = next(
            (one for one in (value, *value.get("oneOf", ())) if "items" in one or "properties" in one), {}
        )
        table = whole.get("items", whole)
        if "properties" in table:
            yield from tables_in(table, f"{place}.{key}".lstrip("."))
