"""A file in the making: what its reader still lacks is asked for, in the words of its schema.

The reader refuses each answer that breaks a rule, so no rule is written here again.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Generator, Iterator, Mapping
from copy import deepcopy
from dataclasses import replace
from typing import Any

from cam.begin.draft import THIS
from cam.begin.phrases import meant, with_units
from cam.ground.frozen import frozen
from cam.ground.keys import Node
from cam.ground.problem import Problem, ProblemError
from cam.ground.source import Source, parse_source
from cam.ground.source.lines import Path
from cam.ground.trade_words import TYPED
from cam.ground.units import INCH, in_unit
from cam.part.starter import toml_value

Tree = dict[str, Any]
"""What has been said so far, as tomllib would read it."""

WIDE = 44
"""The column at which the meaning of a key is written beside it."""
YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


@frozen
class FormQuestion:
    """A question to the person who answers.

    Attributes:
        words: the words of the question.
        hint: what may be said; "" for nothing.
        problems: what is wrong with the last answer to it.
        told: what is wrong with everything that was said.
        may_skip: whether an empty answer is allowed.
        so_far: the file as it stands.
        brief: the question without what explains it, for one that is put again; "" for all its words.
    """

    words: str
    so_far: str
    brief: str = ""
    hint: str = ""
    problems: tuple[Problem, ...] = ()
    told: tuple[Problem, ...] = ()
    may_skip: bool = False


Asking = Generator[FormQuestion, str, Tree]
"""A generator that yields questions, takes answers, and returns what is said in the end."""
Special = Callable[["Form", Tree, Path], Asking]
"""A function that asks for one key in a way of its own."""


class Form:
    """A file whose contents are being asked for.

    Attributes:
        name: name of the file, for messages.
        unit: "mm" or "in", of bare lengths; the other quantities follow it.
    """

    def __init__(
        self, name: str, schema: Node, order: tuple[str, ...], read: Callable[[Source], object], *, base: str = "",
        special: Mapping[str, Special] | None = None,
    ) -> None:  # fmt: skip
        """Make an empty form.

        Args:
            schema: that of the file.
            order: tables as they are asked for and written, "lathe.x".
            read: the file's reader, which raises ProblemError.
            base: text that stands before what is asked for here.
            special: key -> the function that asks for it in a way of its own.
        """
        self.name, self.order, self.read, self.base = name, order, read, base
        self.schema, self.special = schema, special or {}
        self.unit = "mm"
        self._judged: dict[str, tuple[list[Path], frozenset[Problem]]] = {}

    # What the schema says -----------------------------------------------------------------------------

    def node(self, path: Path) -> dict[str, Any]:
        """Return the schema of a key or table; numbers in the path count within an array and say nothing more."""
        found = self.schema
        for key in path:
            found = self._meant(found)
            found = found["items"] if isinstance(key, int) else found["properties"][key]
        return {**self._meant(found), **found}

    def place(self, path: Path) -> tuple[int, tuple[int, ...], int]:
        """Return what keys are ordered by: table, row of an array, place of the key in the schema."""
        table = ".".join(k for k in path[:-1] if isinstance(k, str))
        rows = tuple(k for k in path if isinstance(k, int))
        keys = list(self._meant(self.node(path[:-1]))["properties"])
        return self.order.index(table) if table in self.order else len(self.order), rows, keys.index(str(path[-1]))

    def about(self, path: Path) -> str:
        """Return what a key means, or "" where the schema does not say."""
        return str(self.node(path).get("description", ""))

    def _meant(self, node: dict[str, Any]) -> dict[str, Any]:
        ref = node.get("$ref", "")
        return self.schema["$defs"][ref.rpartition("/")[2]] if ref else node

    # What the reader says -----------------------------------------------------------------------------

    def judge(self, tree: Tree) -> tuple[list[Path], frozenset[Problem]]:
        """Return what the reader lacks in the file so far, and what it finds wrong in it; each text is read once."""
        text = self.text(tree)
        if text not in self._judged:
            self._judged[text] = self._read(text)
        return self._judged[text]

    def _read(self, text: str) -> tuple[list[Path], frozenset[Problem]]:
        source = parse_source(text.encode(), self.name)
        try:
            self.read(source)
        except ProblemError as found:
            lacking = [_lacking(source, p) for p in found.problems if p.lacks]
            wrong = (replace(p, where=THIS) for p in found.problems if not p.lacks)
            return lacking, frozenset(wrong)
        return [], frozenset()

    def tried(self, tree: Tree, path: Path, value: Any) -> tuple[tuple[Problem, ...], Tree]:
        """Return what a value makes wrong that was not wrong before, and what is said with it."""
        new = with_value(tree, path, value)
        wrong = self.judge(new)[1] - self.judge(tree)[1]
        return tuple(sorted(wrong)), tree if wrong else new

    def refusal(self, what: str, given: str, allowed: str) -> Problem:
        """Return a problem with an answer."""
        return Problem(where=THIS, what=what, given=given, allowed=allowed)

    # Questions ----------------------------------------------------------------------------------------

    def fill(self, tree: Tree, under: Path) -> Asking:
        """Ask for everything that the reader lacks under a table."""
        while True:
            lacking, _ = self.judge(tree)
            inside = sorted((p for p in lacking if p[: len(under)] == under), key=self.place)
            tables = [p for p in inside if self.node(p).get("type") == "object"]
            if tables:
                for path in tables:
                    tree = with_value(tree, path, {})
            elif inside:
                tree = yield from self.key(tree, inside[0])
            else:
                return tree

    def key(self, tree: Tree, path: Path) -> Asking:
        """Ask for one key until the reader takes it."""
        special = self.special.get(str(path[-1]))
        if special is not None:
            return (yield from special(self, tree, path))
        node = self.node(path)
        words, hint = self.words(tree, path), self._hint(node)
        problems: tuple[Problem, ...] = ()
        while True:
            answer = yield self.ask(tree, words, hint, problems, brief=self.title(tree, path))
            value = self.value_of(node, answer)
            problems, tree = self.tried(tree, path, value)
            if not problems:
                return tree

    def ask(
        self, tree: Tree, words: str, hint: str = "", problems: tuple[Problem, ...] = (), *, may_skip: bool = False,
        brief: str = "",
    ) -> FormQuestion:  # fmt: skip
        """Return a question, with what is said so far beside it."""
        said = self.text(tree)
        return FormQuestion(words=words, hint=hint, problems=problems, may_skip=may_skip, so_far=said, brief=brief)

    def choose(self, tree: Tree, words: str, options: tuple[str, ...]) -> Generator[FormQuestion, str, str]:
        """Ask for one of several answers."""
        problems: tuple[Problem, ...] = ()
        while True:
            answer = yield self.ask(tree, words, ", ".join(options), problems)
            if (found := meant(answer, options)) in options:
                return found
            problems = (self.refusal("this is not one of the answers", answer, ", ".join(options)),)

    def yes(self, tree: Tree, words: str) -> Generator[FormQuestion, str, bool]:
        """Ask for yes or no."""
        return (yield from self.choose(tree, words, ("yes", "no"))) == "yes"

    def row(
        self, tree: Tree, kind: str, words: str, hint: str, more: Tree | None = None, *, may_skip: bool = True
    ) -> Asking:
        """Ask for one more of a table that may be there several times: its name, then all that the reader lacks of it.

        Args:
            more: the keys that it has already.
        """
        rows = tree.get(kind, [])
        problems: tuple[Problem, ...] = ()
        while True:
            answer = yield self.ask(tree, words, f"{hint}{', or Enter for no more' if may_skip else ''}", problems,
                                    may_skip=may_skip)  # fmt: skip
            if not answer:
                return tree
            if any(r.get("name") == answer for r in rows):
                problems = (self.refusal(f"there is one called {answer} already", answer, "another name"),)
                continue
            problems, new = self.tried(tree, (kind,), [*rows, {**(more or {}), "name": answer}])
            if not problems:
                return (yield from self.fill(new, (kind, len(rows))))

    def words(self, tree: Tree, path: Path) -> str:
        """Return the words of a question: whose key, which key, what it means, how to find it out."""
        title, about = self.title(tree, path), self.about(path)
        about = " ".join(w for w in (about[:1].lower() + about[1:], self.node(path).get("$comment", "")) if w)
        return f"{title}: {in_unit(about, self.unit)}" if about else title

    def title(self, tree: Tree, path: Path) -> str:
        """Return whose key is asked for, and which: a name is told as it was given."""
        whose = self.called(tree, path) or " ".join(TITLES.get(str(k), str(k)) for k in path[:-1] if k != "lathe")
        return f"{whose or path[0]}, {str(path[-1]).replace('_', ' ')}"

    @staticmethod
    def called(tree: Tree, path: Path) -> str:
        """Return the name of the row to which a key belongs, with its inner table; "" in a table that is there once."""
        if len(path) < 2 or not isinstance(path[1], int):
            return ""
        return " ".join([str(tree[str(path[0])][path[1]]["name"]), *(str(k).replace("_", " ") for k in path[2:-1])])

    def _hint(self, node: dict[str, Any]) -> str:
        if options := _options(node):
            return ", ".join(options)
        if node.get("type") == "boolean":
            return "yes, no"
        if node.get("type") == "array":
            return f"for example {'0.12 in, 0.35 in' if self.unit == 'in' else '3 mm, 9 mm'}"
        example = in_unit(_example(node), self.unit)
        return f"for example {example}" if example else ""

    # Answers ------------------------------------------------------------------------------------------

    def value_of(self, node: dict[str, Any], answer: str) -> Any:
        """Return an answer as the file's value: a bare number gets its unit, two lengths become a pair."""
        if options := _options(node):
            return meant(answer, options)
        if re.match(r"(chamfer|radius|fillet|undercut)\b", answer):
            return with_units(answer, self.unit)
        kind = node.get("type")
        if kind == "integer" and re.fullmatch(r"[0-9]{1,6}", answer):
            return int(answer)
        if kind == "boolean":
            return YES.get(answer.lower(), answer)
        if kind == "array":
            return [self.with_unit(one.strip(), "mm") for one in re.split(r",| to ", answer)]
        if re.fullmatch("[0-9./ ]+([a-z]*)", answer) and _example(node).startswith("±"):
            answer = f"±{answer}"
        return self.with_unit(answer, _unit_of(node))

    def with_unit(self, answer: str, of_example: str) -> str:
        """Return an answer with the unit of its example, where it is a bare number or bare limits."""
        if not of_example or not re.fullmatch(r"[-+±−0-9 ./½¼¾⅛⅜⅝⅞]+", answer):
            return answer
        return f"{answer} {INCH.get(of_example, of_example) if self.unit == 'in' else of_example}"

    def lengths(self, answer: str) -> list[str]:
        """Split several lengths at commas or semicolons; the unit of the last holds for all that have none."""
        if re.fullmatch(r"[0-9]+,[0-9]+ *[a-z]*", answer.strip()):  # a decimal comma
            return [answer.strip()]
        last = re.fullmatch(r".*[0-9] *([a-z]+)", answer.strip())
        texts = [text.strip() for text in re.split("[,;]", answer)]
        return [t if re.search("[a-z]", t) else f"{t} {last[1] if last else self.unit}" for t in texts]

    # The file -----------------------------------------------------------------------------------------

    def text(self, tree: Tree, *, explained: bool = False) -> str:
        """Return the file, TOML; if explained is set, with the meaning of each key beside it."""
        lines: list[str] = []
        for table in self.order:
            for path, rows in _found(tree, tuple(table.split("."))):
                lines += self._table(table, path, rows, explained)
        return self.base + "\n".join(lines if self.base else lines[1:]) + "\n"

    def _table(self, table: str, path: Path, rows: Tree, explained: bool) -> Iterator[str]:
        yield from ("", f"[[{table}]]" if isinstance(path[-1], int) else f"[{table}]")
        outlines = rows["outline"] if isinstance(rows.get("outline"), list) else []
        own = {k: v for k, v in rows.items() if f"{table}.{k}" not in self.order and v is not outlines}
        yield from self._rows(path, own, explained)
        for outline in outlines:
            yield from ("", f"[[{table}.outline]]", *(f"{k} = {toml_value(v)}" for k, v in outline.items()))

    def _rows(self, path: Path, rows: Tree, explained: bool) -> Iterator[str]:
        for key, value in rows.items():
            row = f"{key} = {toml_value(value)}"
            said = self.about((*path, key)) if explained else ""
            yield f"{row:<{WIDE - 1}} # {said}" if said else row


TITLES = {"x": "X slide", "y": "Y slide", "z": "Z slide"}
"""Table -> what a person calls it."""
TIP_ONLY = "tip only"


def with_value(tree: Tree, path: Path, value: Any) -> Tree:
    """Return a copy with one value more."""
    new = deepcopy(tree)
    table: Any = new
    for key in path[:-1]:
        table = table[key]
    table[path[-1]] = value
    return new


def _unit_of(node: dict[str, Any]) -> str:
    """Return the unit of a key's first example; "" where it has none."""
    found = re.fullmatch(r".*[0-9] ([^0-9].*)", _example(node)) if "enum" not in node else None
    return found[1] if found else ""


def _options(node: Node) -> list[str]:
    """Return the words of which a key takes one, as they are printed; none for other keys."""
    return [word for word in node.get("enum", ()) if word not in TYPED]


def _example(node: Node) -> str:
    """Return a key's first example that is a text, or ""."""
    return next((e for e in node.get("examples", []) if isinstance(e, str)), "")


def _lacking(source: Source, problem: Problem) -> Path:
    """Return the path of a key that a problem reports missing."""
    path: Path = tuple(int(k) if k.isdigit() else k for k in problem.lacks.split("."))
    if len(path) > 1 or not problem.where.line:
        return path
    tables = [p for p, line in source.lines.items() if line == problem.where.line and p and isinstance(p[-1], int)]
    return (*max(tables, key=len, default=()), *path)


def _found(tree: Tree, names: tuple[str, ...]) -> Iterator[tuple[Path, Tree]]:
    """Yield every table of a name that is there, with its path."""
    table: Any = tree
    for name in names:
        table = table.get(name) if isinstance(table, dict) else None
    if isinstance(table, dict):
        yield names, table
    for at, row in enumerate(table if isinstance(table, list) else ()):
        yield (*names, at), row
