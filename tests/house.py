"""Count what the house is made of: `python -m tests.house`; `--where ROW` for its places, `--tree DIR`.

Everything is counted from the syntax tree of the source and nothing is held to a limit: the table is to be looked at
before and after a change of the house. What a row counts is said in its function's docstring.
"""

from __future__ import annotations

import argparse
import ast
import re
import sys
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from pathlib import Path

FAMILIES = ("cam", "posts", "templates")
HEAVY = {"numpy", "shapely", "pint", "matplotlib", "scipy", "pydantic", "ezdxf", "typer", "jinja2", "rich",
         "watchfiles", "reportlab", "svglib"}  # fmt: skip
TOLERANCES = {"FINE", "SAME", "TINY", "NEAR", "CLOSE", "TOLERANCE", "SLACK", "EPSILON"}
STANDARDS = re.compile(r"NISTIR|RS274|EIA-?274|ISO 6983|^ngc$|^eia$", re.IGNORECASE)
FORKS = {"language", "by_offset", "NGC", "EIA"}
"""Names that stood for one standard or the other when the rows were first counted."""

Places = list[str]
Function = ast.FunctionDef | ast.AsyncFunctionDef


class Module:
    """One file of Python; name: as it is imported, "cam.plan.rough"."""

    def __init__(self, root: Path, path: Path) -> None:
        parts = path.relative_to(root).with_suffix("").parts
        self.name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        self.file, self.is_package = str(path.relative_to(root)), parts[-1] == "__init__"
        self.text = path.read_text(encoding="utf-8")
        self.tree = ast.parse(self.text)

    def at(self, node: ast.AST, words: str = "") -> str:
        """Return the place of a node: "cam/plan/rough.py:12 words"."""
        return f"{self.file}:{getattr(node, 'lineno', 0)} {words}".rstrip()

    @cached_property
    def functions(self) -> list[Function]:
        """Return every function and method in the module."""
        return [n for n in ast.walk(self.tree) if isinstance(n, Function)]

    @cached_property
    def imports(self) -> list[tuple[ast.stmt, str, bool]]:
        """Return every import at run time: statement, what it names, whether it stands in a function."""
        return list(_imports(self, self.tree, inside=False))

    def folder(self) -> str:
        """The folder just below cam, or the loose module there; posts and templates are one folder each."""
        parts = self.name.split(".")
        return ".".join(parts[:2]) if parts[0] == "cam" else parts[0]


def _imports(module: Module, node: ast.AST, *, inside: bool) -> Iterator[tuple[ast.stmt, str, bool]]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import):
            yield from ((child, alias.name, inside) for alias in child.names)
        elif isinstance(child, ast.ImportFrom):
            above = module.name.split(".")
            above = above[: len(above) - child.level + module.is_package] if child.level else []
            base = ".".join([*above, *filter(None, [child.module])])
            yield from ((child, f"{base}.{alias.name}", inside) for alias in child.names)
        elif isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            continue
        else:
            yield from _imports(module, child, inside=inside or isinstance(child, Function))


class House:
    """All modules of a tree, and those of the tests."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.modules = [m for family in FAMILIES for m in self.read(family)]
        self.names = {m.name: m for m in self.modules}

    def read(self, family: str) -> list[Module]:
        """Return the modules of a folder."""
        return [Module(self.root, path) for path in sorted((self.root / family).rglob("*.py"))]

    def needs(self, module: Module) -> set[str]:
        """Return our modules that one imports at run time, in functions too."""
        found = {name if name in self.names else name.rpartition(".")[0] for _, name, _ in module.imports}
        return {name for name in found if name in self.names and name != module.name}

    def knots(self) -> Iterator[tuple[int, Places]]:
        """Folders that import each other at run time, functions' imports counted."""
        graph: dict[str, set[str]] = defaultdict(set)
        for module in self.modules:
            if module.name not in FAMILIES:
                graph[module.folder()] |= {self.names[n].folder() for n in self.needs(module) if n not in FAMILIES}
        for knot in circles(graph):
            lines = sum(m.text.count("\n") for m in self.modules if m.folder() in knot)
            yield 1, [f"{', '.join(sorted(knot))}: {lines:,} lines"]

    def file_circles(self) -> Iterator[tuple[int, Places]]:
        """Files of one folder that import each other at run time; a folder's own __init__ is left out."""
        graph = {
            m.name: {n for n in self.needs(m) if self.names[n].folder() == m.folder() and not self.names[n].is_package}
            for m in self.modules if not m.is_package
        }  # fmt: skip
        for circle in circles(graph):
            yield 1, [", ".join(sorted(circle))]

    def untyped(self) -> Iterator[tuple[int, Places]]:
        """Fields of classes that are annotated `object` or `object | None`."""
        for module, kind, item in self._fields():
            if re.search(r"\bobject\b", ast.unparse(item.annotation)):
                yield 1, [module.at(item, f"{kind.name}.{ast.unparse(item.target)}")]

    def _fields(self) -> Iterator[tuple[Module, ast.ClassDef, ast.AnnAssign]]:
        for module in self.modules:
            for kind in (n for n in ast.walk(module.tree) if isinstance(n, ast.ClassDef)):
                yield from ((module, kind, item) for item in kind.body if isinstance(item, ast.AnnAssign))

    def late_imports(self) -> Iterator[tuple[int, Places]]:
        """Import statements in functions, of cam/cli, cam/job and heavy libraries left out."""
        for module in self.modules:
            if module.folder() not in ("cam.cli", "cam.job"):
                late = {s: n for s, n, inside in module.imports if inside and n.split(".")[0] not in HEAVY}
                yield from ((1, [module.at(statement, name)]) for statement, name in late.items())

    def twin_classes(self) -> Iterator[tuple[int, Places]]:
        """Names that more than one class at the top of a module has."""
        homes: dict[str, Places] = defaultdict(list)
        for module in self.modules:
            for kind in (n for n in module.tree.body if isinstance(n, ast.ClassDef)):
                homes[kind.name].append(module.at(kind, kind.name))
        yield from ((1, places) for _, places in sorted(homes.items()) if len(places) > 1)

    def tolerances(self) -> Iterator[tuple[int, Places]]:
        """Constants at the top of modules called FINE, SAME, NEAR, TINY and the like, of 0.005 or less."""
        for module in self.modules:
            for node in module.tree.body:
                target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
                value = getattr(node, "value", None)
                small = isinstance(value, ast.Constant) and isinstance(value.value, float) and value.value <= 0.005
                if isinstance(target, ast.Name) and small and TOLERANCES & set(target.id.split("_")):
                    yield 1, [module.at(node, f"{target.id} = {ast.unparse(value)}")]  # type: ignore[arg-type]

    def number_texts(self) -> Iterator[tuple[int, Places]]:
        """Functions of at most eight lines that make a text of one number: a float or int first, a str back, a format
        or `show` inside."""
        for module in self.modules:
            for f in module.functions:
                first = next((a for a in f.args.args if a.arg not in ("self", "cls")), None)
                takes = first is not None and first.annotation is not None
                number = takes and ast.unparse(first.annotation) in ("float", "int", "float | None", "Quantity")  # type: ignore[union-attr, arg-type]
                back = f.returns is not None and ast.unparse(f.returns) == "str"
                if number and back and _code_lines(f) <= 8 and _formats(f, first.arg):  # type: ignore[union-attr]
                    yield 1, [module.at(f, f.name)]

    def standard_forks(self) -> Iterator[tuple[int, Places]]:
        """Tests (if, while, and/or, comparison, `x if y else z`) that ask by name which standard or dialect it is."""
        for module in self.modules:
            seen = set()
            for node in ast.walk(module.tree):
                for test in _tests_of(node):
                    if _asks_standard(test) and (test.lineno, test.col_offset) not in seen:
                        seen |= {(n.lineno, n.col_offset) for n in ast.walk(test) if isinstance(n, ast.expr)}
                        yield 1, [module.at(test, ast.unparse(test)[:80])]

    def for_tests_only(self) -> Iterator[tuple[int, Places]]:
        """Functions, methods and classes that nothing but the tests names; names with underscores on both sides, what a
        decorator takes and what `cam` itself hands out are left out."""
        ours = self._words(self.modules)
        for path in (p for family in FAMILIES for p in (self.root / family).rglob("*.j2")):
            for word in re.findall(r"\w+", path.read_text(encoding="utf-8")):
                ours[word] += 1
        theirs = self._words(self.read("tests"))
        for module in self.modules:
            for node in ast.walk(module.tree):
                if not isinstance(node, (*Function.__args__, ast.ClassDef)) or node.name.startswith("__"):
                    continue
                taken = any(not re.match(r"(property|cache|lru_cache|static|class|frozen|cached|overload)",
                                         ast.unparse(d).split(".")[-1]) for d in node.decorator_list)  # fmt: skip
                if not taken and not ours[node.name] and theirs[node.name]:
                    yield 1, [module.at(node, node.name)]

    @staticmethod
    def _words(modules: Iterable[Module]) -> dict[str, int]:
        """Return how often each name is used; where it is defined, re-exported or listed does not count."""
        found: dict[str, int] = defaultdict(int)
        for module in modules:
            counted = module.name == "cam" or not module.is_package
            for node in ast.walk(module.tree):
                if isinstance(node, ast.Name):
                    found[node.id] += 1
                elif isinstance(node, ast.Attribute):
                    found[node.attr] += 1
                elif isinstance(node, ast.Constant) and isinstance(node.value, str) and counted:
                    for word in re.findall(r"\w+", node.value) if len(node.value) < 80 else ():
                        found[word] += node.value == word
        return found

    def lines(self) -> Iterator[tuple[int, Places]]:
        """Lines of Python in cam and posts, by folder."""
        for folder in sorted({m.folder() for m in self.modules if m.name.split(".")[0] in ("cam", "posts")}):
            count = sum(m.text.count("\n") for m in self.modules if m.folder() == folder)
            yield count, [f"{count:6,} {folder}"]

    def complex_functions(self) -> Iterator[tuple[int, Places]]:
        """Functions of a complexity over 10: one, and one for each branch, loop, handler and boolean operator."""
        over = [(complexity(f), m.at(f, f.name)) for m in self.modules for f in m.functions if complexity(f) > 10]
        yield from _worst_first(over)

    def many_parameters(self) -> Iterator[tuple[int, Places]]:
        """Functions of more than eight parameters, self left out; cam/cli left out, where a parameter is an option."""
        ours = [m for m in self.modules if m.folder() != "cam.cli"]
        yield from _worst_first([(n, m.at(f, f.name)) for m in ours for f in m.functions if (n := parameters(f)) > 8])


def _worst_first(found: list[tuple[int, str]]) -> Iterator[tuple[int, Places]]:
    for number, place in sorted(found, key=lambda pair: (-pair[0], pair[1])):
        yield 1, [f"{number:3} {place}"]


Row = Callable[[House], Iterator[tuple[int, Places]]]
ROWS: dict[str, tuple[str, Row]] = {
    "knots": ("knots of folders that import each other at run time", House.knots),
    "circles": ("circles of files in a folder", House.file_circles),
    "objects": ("fields typed as object", House.untyped),
    "late": ("imports in functions, outside cam/cli and cam/job, light ones", House.late_imports),
    "twins": ("class names with two homes or more", House.twin_classes),
    "tolerances": ("tolerances", House.tolerances),
    "numbers": ("ways to make a text of a number", House.number_texts),
    "standards": ("branches on which standard it is", House.standard_forks),
    "tests": ("definitions that only tests use", House.for_tests_only),
    "lines": ("lines of Python in cam and posts", House.lines),
    "complex": ("functions over complexity 10", House.complex_functions),
    "parameters": ("functions of more than 8 parameters", House.many_parameters),
}


def circles(graph: dict[str, set[str]]) -> list[set[str]]:
    """Return the sets of nodes that reach each other, where a set has more than one."""
    def reach(node: str) -> set[str]:
        seen, todo = set[str](), [node]
        while todo:
            fresh = graph.get(todo.pop(), set()) - seen
            seen |= fresh
            todo += fresh
        return seen

    reached = {node: reach(node) for node in graph}
    found = {frozenset(m for m in reached[n] if n in reached.get(m, ())) | {n} for n in graph if n in reached[n]}
    return sorted((set(circle) for circle in found if len(circle) > 1), key=len, reverse=True)


def complexity(function: Function) -> int:
    """Return the cyclomatic complexity with boolean operators, functions inside left out."""
    count, todo = 1, list(ast.iter_child_nodes(function))
    while todo:
        node = todo.pop()
        if isinstance(node, (*Function.__args__, ast.Lambda)):
            continue
        todo += ast.iter_child_nodes(node)
        if isinstance(node, ast.BoolOp):
            count += len(node.values) - 1
        elif isinstance(node, ast.comprehension):
            count += 1 + len(node.ifs)
        else:
            count += isinstance(node, (ast.If, ast.IfExp, ast.For, ast.While, ast.ExceptHandler, ast.match_case))
    return count


def parameters(function: Function) -> int:
    """Return how many parameters a function takes, self left out."""
    a = function.args
    return len([p for p in (*a.posonlyargs, *a.args, *a.kwonlyargs) if p.arg not in ("self", "cls")])


def _code_lines(function: Function) -> int:
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def _formats(function: Function, argument: str) -> bool:
    """Tell whether a function formats its argument with a count of decimals."""
    inside = [n for n in ast.walk(function) if isinstance(n, ast.FormattedValue) and n.format_spec is not None]
    return any(isinstance(n, ast.Name) and n.id == argument for f in inside for n in ast.walk(f.value)) or bool(
        [n for n in ast.walk(function) if isinstance(n, ast.Call) and ast.unparse(n.func) in ("format", "round_text")]
    )


def _tests_of(node: ast.AST) -> list[ast.expr]:
    if isinstance(node, (ast.If, ast.IfExp, ast.While)):
        return [node.test]
    if isinstance(node, ast.comprehension):
        return list(node.ifs)
    return [node] if isinstance(node, (ast.BoolOp, ast.Compare)) else []


def _asks_standard(test: ast.expr) -> bool:
    for node in ast.walk(test):
        if FORKS & {getattr(node, "attr", ""), getattr(node, "id", "")}:
            return True
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and STANDARDS.search(node.value):
            return True
    return False


def table(house: House) -> str:
    """Show every row with its count and, where there is one, its worst."""
    out = []
    for name, (words, row) in ROWS.items():
        found = list(row(house))
        worst = f"; most: {found[0][1][0].strip()}" if found and name in ("knots", "complex", "parameters") else ""
        out.append(f"{name:11} {sum(n for n, _ in found):7,}  {words}{worst}\n")
    return "".join(out)


def main() -> int:
    """Print the table, or the places of one row."""
    parser = argparse.ArgumentParser(prog="python -m tests.house", description=__doc__)
    parser.add_argument("--where", choices=sorted(ROWS), metavar="ROW", help=", ".join(ROWS))
    parser.add_argument("--tree", type=Path, default=Path(__file__).parent.parent, help="root of another tree")
    asked = parser.parse_args()
    house = House(asked.tree.resolve())
    if asked.where:
        sys.stdout.writelines(f"{'; '.join(places)}\n" for _, places in ROWS[asked.where][1](house))
    else:
        sys.stdout.write(table(house))
    return 0


if __name__ == "__main__":
    sys.exit(main())
