"""Imports point one way, and only the command line speaks to the outside.

The table says for each layer what it may import of ours; by that, a program text can be judged without the
plan or the post that made it, which is what makes the judgement worth having.
"""

from __future__ import annotations

import ast
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).parent.parent

BASE = {"cam.ground", "cam.geometry"}
TOLD = BASE | {"cam.part", "cam.shop", "cam.lengths"}
SET = TOLD | {"cam.setting"}
JUDGES = SET | {"cam.rs274", "cam.judge", "cam.sheet"}
JOB = JUDGES | {"cam.plan", "cam.moves", "cam.mill", "posts", "cam.picture", "cam.job"}
MAY_IMPORT = {
    "cam.ground": set(),
    "cam.geometry": {"cam.ground"},
    "cam.part": BASE,
    "cam.shop": BASE | {"cam.part"},
    "cam.lengths": BASE | {"cam.part"},
    "cam.setting": TOLD,
    "cam.plan": SET,
    "cam.moves": SET | {"cam.plan"},
    "cam.mill": SET | {"cam.plan", "cam.moves", "cam.rs274", "cam.judge"},
    "cam.rs274": {"cam.ground"},
    "cam.judge": SET | {"cam.rs274"},
    "cam.sheet": JUDGES,
    "templates": set(),
    "posts": SET | {"cam.mill", "cam.plan", "cam.moves", "templates"},
    "cam.picture": JUDGES | {"cam.plan", "cam.moves", "cam.mill", "posts", "templates"},
    "cam.dxf": SET,
    "cam.begin": TOLD | {"cam.dxf"},
    "cam.job": JOB,
    "cam.compare": JOB,
    "cam": JOB | {"cam.dxf"},
    "cam.cli": JOB | {"cam.begin", "cam.compare", "cam.dxf"},
    "cam.__main__": {"cam.cli"},
}
"""Room by room, from the ground up; a room may import itself too."""
SPEAKS = "cam.cli"
"""The only package that reads arguments, prints or exits."""

SETS = {("cam.dxf.library", "os.environ")}
"""It tells a library by a variable, as that wants it, where not to write."""

HEAVY = {"numpy", "shapely", "pint", "matplotlib", "scipy", "pydantic"}
"""Never imported when a module is loaded, only inside the function that needs it: start-up counts."""
LATE = {"ezdxf", "jinja2", "reportlab", "svglib"}
"""Likewise, but they may be imported when a module is loaded."""
DOORS = {"cam", "cam.cli", "cam.job"}
"""Rooms whose functions import what they need, each command and step its own."""
CARRIES = {"cam.geometry.convex", "cam.picture.marks", "cam.picture.scene"}
"""But for shapely and its arrays, in the modules that are made of them."""

MODULES = sorted(p for folder in ("cam", "posts", "templates") for p in (ROOT / folder).rglob("*.py"))


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """Every node of a module."""
    return tuple(ast.walk(tree_of(path)))


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


NAMES = {name_of(path) for path in MODULES}


def layer_of(module: str) -> str:
    """The layer is a folder just below cam; posts and templates are one layer each."""
    parts = module.split(".")
    return ".".join(parts[:2]) if parts[0] == "cam" else parts[0]


@cache
def imports_of(path: Path) -> list[tuple[int, str]]:
    """Every module that is imported anywhere in the file, in functions too, with its line."""
    found = []
    package = name_of(path) if path.name == "__init__.py" else name_of(path).rpartition(".")[0]
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *([base] if base else [])])
            whole = [f"{base}.{alias.name}" for alias in node.names]  # from cam.part import x: x may be a module
            found += [(node.lineno, name if base == "cam" or name in NAMES else base) for name in whole]
    return found


def test_there_is_something_to_look_at() -> None:
    assert {"cam.ground.problem", "cam.part.model", "cam.rs274.model"} <= {name_of(p) for p in MODULES}


def test_imports_point_down_the_table() -> None:
    for path in MODULES:
        layer = layer_of(name_of(path))
        assert layer in MAY_IMPORT, f"give {layer} its row in the table"
        ours = [(line, name) for line, name in imports_of(path) if name.split(".")[0] in ("cam", "posts", "templates")]
        wrong = [(line, name) for line, name in ours if layer_of(name) not in {*MAY_IMPORT[layer], layer}]
        assert not wrong, path


def test_the_judges_know_nothing_of_plan_and_posts() -> None:
    for judge in ("cam.rs274", "cam.judge", "cam.sheet"):
        seen, todo = set[str](), {judge}
        while todo:
            layer = todo.pop()
            seen.add(layer)
            todo |= MAY_IMPORT[layer] - seen
        assert not seen & {"posts", "templates", "cam.plan", "cam.moves", "cam.job", "cam.picture"}


def outside_of(path: Path) -> list[tuple[int, str]]:
    """Every place where the file prints, exits, or reads what the user typed."""
    found = []
    for node in nodes_of(path):
        if isinstance(node, ast.Name) and node.id in ("print", "input", "exit", "quit", "SystemExit"):
            found.append((node.lineno, node.id))
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            name = f"{node.value.id}.{node.attr}"
            if name in ("sys.argv", "sys.exit", "sys.stdout", "sys.stderr", "sys.stdin", "os._exit", "os.environ"):
                found.append((node.lineno, name))
        elif isinstance(node, ast.ImportFrom) and node.module == "sys":
            found += [(node.lineno, a.name) for a in node.names if a.name not in ("platform", "version_info")]
        elif isinstance(node, ast.Import):
            found += [(node.lineno, a.name) for a in node.names if a.name in ("argparse", "typer", "click", "getopt")]
    return found


def test_only_the_command_line_speaks_to_the_outside() -> None:
    for path in (p for p in MODULES if layer_of(name_of(p)) != SPEAKS):
        assert not [found for found in outside_of(path) if (name_of(path), found[1]) not in SETS], path


def test_the_command_line_is_seen_to_speak() -> None:
    assert {"typer"} <= {what for _, what in outside_of(ROOT / "cam" / "cli" / "answers.py")}


def test_heavy_libraries_are_imported_only_where_they_are_needed() -> None:
    for path in MODULES:
        tree = tree_of(path)
        top = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
        names = [a.name for n in top if isinstance(n, ast.Import) for a in n.names]
        names += [n.module or "" for n in top if isinstance(n, ast.ImportFrom)]
        allowed = {"numpy", "shapely"} if name_of(path) in CARRIES else set()
        assert not HEAVY & {name.split(".")[0] for name in names} - allowed, path


def test_a_function_imports_only_at_a_door_or_what_is_heavy() -> None:
    for path in (p for p in MODULES if layer_of(name_of(p)) not in DOORS):
        inner = [f for f in nodes_of(path) if isinstance(f, ast.FunctionDef)]
        found = [node for f in inner for node in ast.walk(f) if isinstance(node, ast.Import | ast.ImportFrom)]
        names = [a.name for n in found if isinstance(n, ast.Import) for a in n.names]
        names += [n.module or "" for n in found if isinstance(n, ast.ImportFrom)]
        assert not {name.split(".")[0] for name in names} - HEAVY - LATE, path


def test_no_files_import_one_another_in_a_circle() -> None:
    TopologicalSorter({name_of(p): {n for _, n in imports_of(p) if n in NAMES} for p in MODULES}).prepare()


def test_no_module_and_no_function_grows_too_long() -> None:
    """House style: modules at most 600 lines, functions at most 60 with their docstring off."""
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        assert len(text.splitlines()) <= 600, path
        for node in nodes_of(path):
            if isinstance(node, ast.FunctionDef):
                doc = ast.get_docstring(node, clean=False)
                length = (node.end_lineno or 0) - node.lineno + 1 - (len(doc.splitlines()) if doc else 0)
                assert length <= 60, f"{path}: {node.name} has {length} lines"
