"""Changes tried in children of one process that has read a room's tests already.

The tests are run once, to see which lines each reaches; that is kept until a test file or the room changes. For a
change, a child is given the changed functions and runs the tests that reach its statement: those that noticed most
before, for the processor time that they take, come first. A change to what runs as a module is read (a table, a
default) is put in as it is imported, by a child of a process that has not read it yet.
Processor time is counted, so the answer is the same on a busy machine.
"""

from __future__ import annotations

import ast
import gc
import importlib.abc
import importlib.machinery
import json
import os
import re
import resource
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import pytest

from tests.mutants.changes import Mutant

OPTIONS = ["-q", "-n", "0", "-p", "no:cacheprovider", "-o", "addopts=", "-m", "not slow or told"]
ROOT = Path(__file__).parent.parent.parent
OFTEN = 300  # calls of a function in one test, after which its lines are not followed any more
MEMORY = 4 << 30  # bytes that a test of a change may take: some changes never end
LONGEST_READ = 60  # seconds that may be spent until the first test begins
BEST = "test_told.py"  # holds the tests that notice most
NEW_LOCALS = 2  # the flag that code of a function has and code of a class body has not


class Reach:
    """What each test of a room reaches, and what it has noticed so far.

    Attributes:
        seconds: processor time of a test, by node id.
        lines: path and number of the lines that it reached, by node id.
        noticed: how many changes a test noticed.
    """

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self.lines: dict[str, set[tuple[str, int]]] = {}
        self.noticed: Counter[str] = Counter()

    def choose(self, path: str, lines: range | None, most: float) -> list[str]:
        """Return the tests that reach any of some lines, or a module if None, the likeliest a second first."""
        wanted = {(path, line) for line in lines or ()}
        direct = [
            name for name, seen in self.lines.items()
            if (any(p == path for p, _ in seen) if lines is None else not wanted.isdisjoint(seen))
        ]  # fmt: skip
        if lines is None and not direct:  # a module of declarations alone
            direct = list(self.lines)

        def rate(name: str) -> float:
            return (self.noticed[name] + (20 if BEST in name else 0.5)) / (self.seconds[name] + 0.01)

        chosen, spent = [], 0.0
        for name in sorted(direct, key=rate, reverse=True):
            if BEST in name:
                chosen.append(name)
            elif spent + self.seconds[name] <= most:
                chosen.append(name)
                spent += self.seconds[name]
        return chosen


class Watch:
    """A pytest plugin that runs every test once, and keeps what each reaches."""

    def __init__(self, files: list[str], reach: Reach) -> None:
        self.places = {str(ROOT / file): file for file in files}
        self.reach, self.failed = reach, set()
        self.seen: set[tuple[str, int]] = set()
        self.missing: dict[CodeType, set[int]] = {}
        self.calls: Counter[CodeType] = Counter()

    def _called(self, frame: FrameType, _event: str, _arg: Any) -> Any:
        """Follow the lines of a room's function until all were seen; what is called very often counts as seen whole."""
        code = frame.f_code
        path = self.places.get(code.co_filename)
        if path is None:
            return None
        if code not in self.missing:
            self.missing[code] = {line for _, _, line in code.co_lines() if line}
        missing = self.missing[code]
        self.calls[code] += 1
        if missing and self.calls[code] > OFTEN:
            self.seen |= {(path, line) for line in missing}
            missing.clear()

        def at_line(frame: FrameType, _event: str, _arg: Any) -> Any:
            self.seen.add((path, frame.f_lineno))
            missing.discard(frame.f_lineno)
            return at_line if missing else None

        return at_line(frame, "", None) if missing else None

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        """Run a test under watch; one that fails as it is shows nothing."""
        self.seen, self.missing, self.calls = set(), {}, Counter()
        begin = time.process_time()
        sys.settrace(self._called)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            if item.nodeid not in self.failed:
                self.reach.seconds[item.nodeid] = time.process_time() - begin
                self.reach.lines[item.nodeid] = self.seen

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember a failure."""
        if not report.passed:
            self.failed.add(report.nodeid)


class Chosen:
    """A pytest plugin that runs some tests in their order, until one fails or takes far longer than it did."""

    def __init__(self, names: list[str], seconds: dict[str, float]) -> None:
        self.names, self.seconds, self.first = names, seconds, ""
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, resource.RLIM_INFINITY))
        self._bound(LONGEST_READ)

    def _bound(self, seconds: float) -> None:
        """Bound the processor time from now on: what never ends is ended."""
        resource.setrlimit(resource.RLIMIT_CPU, (int(time.process_time() + seconds) + 1, resource.RLIM_INFINITY))

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Keep the chosen tests, in their order."""
        by_name = {item.nodeid: item for item in items}
        items[:] = [by_name[name] for name in self.names if name in by_name]

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        """Give a test some times as long as it took."""
        self._bound(4 * self.seconds[item.nodeid] + 5)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Remember the first failure."""
        if report.failed and not self.first:
            self.first = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Count a file that can no longer be read as a failure as well."""
        if report.failed and not self.first:
            self.first = report.nodeid

    def run(self, items: Iterable[pytest.Item]) -> str:
        """Return the first of some collected tests to fail, or nothing."""
        listed = list(items)
        for item, following in zip(listed, [*listed[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.first:
                break
        return self.first


class Changed(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Gives one module its changed code as it is imported."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        importlib.machinery.SourceFileLoader.__init__(self, name, path)
        self.code = code

    def find_spec(self, fullname: str, _path: Any = None, _target: Any = None) -> Any:
        """Say that the module is ours."""
        package = self.path.endswith("__init__.py")
        where = [str(Path(self.path).parent)] if package else None
        spec = importlib.machinery.ModuleSpec(fullname, self, origin=self.path, is_package=package)
        spec.has_location = True
        spec.submodule_search_locations = where
        return spec if fullname == self.name else None

    def get_code(self, _fullname: str) -> CodeType:
        """Return the changed code."""
        return self.code


def read_with_cases(test: str) -> Iterator[str]:
    """Yield the text of a test file, and of what it takes from this folder."""
    text = (ROOT / test.partition("::")[0]).read_text(encoding="utf-8")
    yield text
    for name in sorted(set(re.findall(r"\btests\.(\w+)", text))):
        folder = ROOT / "tests" / name
        for file in sorted(folder.glob("*.py")) if folder.is_dir() else [folder.with_suffix(".py")]:
            yield file.read_text(encoding="utf-8")


def child(work: Callable[[], str]) -> str | None:
    """Return what a child says; None where it dies."""
    ear, mouth = os.pipe()
    if (own := os.fork()) == 0:
        try:
            os.close(ear)
            nothing = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(nothing, stream)
            os.write(mouth, work().encode())
        finally:
            os._exit(0)
    os.close(mouth)
    with os.fdopen(ear, "rb") as pipe:
        said = pipe.read()
    os.waitpid(own, 0)
    return said.decode() if said else None


def _codes(code: CodeType) -> dict[tuple[str, int], CodeType]:
    """Return every function's code in a module's, by qualified name and first line."""
    found = {(code.co_qualname, code.co_firstlineno): code}
    for const in code.co_consts:
        if isinstance(const, CodeType):
            found |= _codes(const)
    return found


def _own(code: CodeType) -> tuple:
    """Return what code does itself, without the functions within."""
    consts = tuple((type(c), c) for c in code.co_consts if not isinstance(c, CodeType))
    return code.co_code, code.co_names, consts, code.co_varnames


def differing(path: str, mutant: Mutant) -> dict[tuple[str, int], CodeType] | None:
    """Return the changed functions, and those that they are within; None where what runs at import changes."""
    good = _codes(compile((ROOT / path).read_text(encoding="utf-8"), str(ROOT / path), "exec"))
    bad = _codes(mutant.code)
    own = [key for key, code in good.items() if key not in bad or _own(code) != _own(bad[key])]
    if any(key not in bad or not good[key].co_flags & NEW_LOCALS for key in own):
        return None
    return {key: bad[key] for key, code in good.items() if code != bad[key] and code.co_flags & NEW_LOCALS}


def statement(path: str, line: int) -> range:
    """Return the lines of the smallest statement round a line; of one with others within, those before them."""
    found = range(line, line + 1)
    for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or line):
            within = [n.lineno for n in ast.iter_child_nodes(node) if isinstance(n, ast.stmt)]
            if not within or line < min(within):
                found = range(node.lineno, min(within, default=(node.end_lineno or line) + 1))
    return found


def functions_of(files: list[str]) -> dict[str, list[FunctionType]]:
    """Return every function that already exists in some modules, and put all else out of the collector's sight."""
    gc.unfreeze()  # what tests/conftest.py has put out of sight
    names = {str(ROOT / file): file for file in files}
    found: dict[str, list[FunctionType]] = {file: [] for file in files}
    for one in gc.get_objects():
        if isinstance(one, FunctionType) and one.__code__.co_filename in names:
            found[names[one.__code__.co_filename]].append(one)
    gc.freeze()
    return found


def put_in(functions: list[FunctionType], codes: dict[tuple[str, int], CodeType]) -> None:
    """Give functions their changed code."""
    for found in functions:
        new = codes.get((found.__code__.co_qualname, found.__code__.co_firstlineno))
        if new is not None and len(new.co_freevars) == len(found.__code__.co_freevars):
            found.__code__ = new


class Room:
    """A pytest plugin that tries changes in place of running the tests."""

    def __init__(self, files: list[str], tests: list[str], most: float) -> None:
        self.files, self.tests, self.most, self.reach = files, tests, most, Reach()
        self.todo: list[tuple[str, Mutant]] = []
        self.functions: dict[str, list[FunctionType]] = {}
        self.tell: Callable[[str, Mutant, str], None] = lambda *_: None

    def watch(self) -> None:
        """Run all tests once, in a child, and keep what they reach, until a test file or the room changes."""
        room = "".join((ROOT / file).read_text(encoding="utf-8") for file in self.files)
        for test in self.tests:
            name = sha256((room + test + "".join(read_with_cases(test))).encode()).hexdigest()
            kept = ROOT / ".pytest_cache" / "mutants" / f"{name}.json"
            if not kept.exists():
                kept.parent.mkdir(parents=True, exist_ok=True)
                kept.write_text(self._watched(test), encoding="utf-8")
            seconds, lines = json.loads(kept.read_text(encoding="utf-8"))
            self.reach.seconds |= seconds
            self.reach.lines |= {name: {(path, line) for path, line in rows} for name, rows in lines.items()}

    def _watched(self, test: str) -> str:
        def work() -> str:
            reach = Reach()
            pytest.main([*OPTIONS, test], plugins=[Watch(self.files, reach)])
            return json.dumps([reach.seconds, {k: sorted(v) for k, v in reach.lines.items()}])

        said = child(work)
        assert said, f"{test} as it is did not come to an end"
        return said

    def run(self) -> None:
        """Try every change: those within functions in one collected session, the others each in its own."""
        later = [(path, mutant) for path, mutant in self.todo if differing(path, mutant) is None]
        inside = [(path, mutant) for path, mutant in self.todo if differing(path, mutant) is not None]
        for path, mutant in later:
            self._try(path, mutant, lambda names, p=path, m=mutant: self._import(p, m, names))
        self.todo = inside
        pytest.main([*OPTIONS, *self.tests], plugins=[self])

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try the changes within functions."""
        items = {item.nodeid: item for item in session.items}
        self.functions = functions_of(self.files)
        for path, mutant in self.todo:
            self._try(path, mutant, lambda names, p=path, m=mutant: self._patch(p, m, [items[n] for n in names]))
        return True

    def _patch(self, path: str, mutant: Mutant, items: list[pytest.Item]) -> str:
        put_in(self.functions[path], differing(path, mutant) or {})
        plugin = Chosen([], self.reach.seconds)
        items[0].config.pluginmanager.register(plugin)
        return plugin.run(items)

    def _import(self, path: str, mutant: Mutant, names: list[str]) -> str:
        module = path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
        assert module not in sys.modules
        sys.meta_path.insert(0, Changed(module, str(ROOT / path), mutant.code))
        plugin = Chosen(names, self.reach.seconds)
        pytest.main([*OPTIONS, "-x", *sorted({name.split("::")[0] for name in names})], plugins=[plugin])
        return plugin.first

    def _try(self, path: str, mutant: Mutant, run: Callable[[list[str]], str]) -> None:
        codes = differing(path, mutant)
        names = self.reach.choose(path, None if codes is None else statement(path, mutant.line), self.most)
        if not names:
            self.tell(path, mutant, "not reached")
            return
        said = child(lambda: run(names) or ".")
        if said and said != ".":
            self.reach.noticed[said] += 1
        self.tell(path, mutant, "not noticed" if said == "." else "noticed")
