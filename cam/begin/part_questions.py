"""The questions on what a part is for: what was measured off the clock or instrument, its end shake, its holes."""

from __future__ import annotations

from cam.begin.form import Asking, Form, Tree, with_value
from cam.ground.problem import Problem
from cam.ground.source.lines import Path
from cam.ground.units import LENGTH, QuantityError, parse
from cam.lengths import part_of
from cam.part.schema import part_schema

READ = {"mm": "46.22 mm; or 46.22, 46.23, 46.21 mm", "in": "1.82 in; or 1.82, 1.821, 1.819 in"}
"""Unit -> what was read, as an example."""
ORDER = ("hook", "measurement", "span", "hole")


def measured_form(name: str, text: str, unit: str) -> Form:
    """Return a form for the measuring tables of a part file.

    Args:
        name: name of the file, for messages.
        text: the file without them.
        unit: "mm" or "in", of bare lengths.
    """
    special = {"hole_a": _stand_off, "hole_b": _stand_off}
    form = Form(name, part_schema(), ORDER, part_of, base=text, special=special)
    form.unit = unit
    return form


def ask_measured(form: Form, sections: tuple[str, ...], tree: Tree) -> Asking:
    """Ask for one measured length after another, with its span and the holes between which it runs.

    Args:
        sections: their names, from the A end.
        tree: what else is said.
    """
    while True:
        count = len(tree.get("span", []))
        tree = yield from _one(form, tree, sections)
        if len(tree.get("span", [])) == count:
            return tree


def ask_hook(form: Form, tree: Tree) -> Asking:
    """Ask whether the head of a screw is filed to a hook for a spring, and how."""
    if not (yield from form.yes(tree, "is the head of the screw filed to a hook for a spring")):
        return tree
    return (yield from form.fill(with_value(tree, ("hook",), {}), ("hook",)))


def _one(form: Form, tree: Tree, sections: tuple[str, ...]) -> Asking:
    """Ask for one measured length and its span; nothing more is asked where no name is given."""
    rows, spans = tree.get("measurement", []), tree.get("span", [])
    words = "what was measured off the clock or instrument, or will be, for a length of the part"
    name = yield form.ask(tree, words, 'its name, "between plates", or Enter for no more', may_skip=True)
    if not name:
        return tree
    called = yield form.ask(tree, f"{name}: the run of sections that goes with it is called", "frame")
    first = yield from form.choose(tree, f"{called}: it begins at the face toward the A end of which section", sections)
    after = sections[sections.index(first) :]
    last = yield from form.choose(tree, f"{called}: and ends at the face toward the B end of which section", after)
    span = {"name": called, "from": first, "to": last, "measurement": name}
    problems: tuple[Problem, ...] = ()
    while True:
        words = f"{name}: what it reads; or Enter where it can be measured only when the first end is done"
        read = yield form.ask(tree, words, READ[form.unit], problems, may_skip=True)
        new = with_value(tree, ("span",), [*spans, span])
        problems, new = form.tried(new, ("measurement",), [*rows, {"name": name, **_reading(form, read)}])
        if not problems:
            break
    before: Tree = {}
    while new != before:  # what the other end of the span lacks is known only once the hole at this end is whole
        before = new
        new = yield from form.fill(new, ("measurement", len(rows)))
        new = yield from form.fill(new, ("span", len(spans)))
        for at in range(len(tree.get("hole", [])), len(new.get("hole", []))):
            new = yield from form.fill(new, ("hole", at))
    return new


def _reading(form: Form, read: str) -> Tree:
    """Return the reading of a measurement as the file has it; the unit of the last one holds for all that have none."""
    if not read:
        return {"to_be_measured": "after setting 1"}
    readings = form.lengths(read)
    return {"value": readings[0]} if len(readings) == 1 else {"readings": readings}


def _stand_off(form: Form, tree: Tree, path: Path) -> Asking:
    """Ask what the corner at one side of a span stands against: a hole, which is then asked for, or a distance."""
    side = str(path[-1])[-1]
    end = "A" if side == "a" else "B"
    words = (
        f"{form.called(tree, path)}: the hole that the corner at its {end} side stands against; or how far that corner "
        f"keeps the shoulder off, 0 {form.unit} where the hole's edge is broken wider than the corner"
    )
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield form.ask(tree, words, f"front plate; or 0 {form.unit}", problems)
        size = form.with_unit(answer, "mm")
        if _is_length(size):
            problems, new = form.tried(tree, (*path[:-1], f"stand_off_{side}"), size)
        else:
            holes = tree.get("hole", [])
            there = any(hole["name"] == answer for hole in holes)
            named = tree if there else with_value(tree, ("hole",), [*holes, {"name": answer}])
            problems, new = form.tried(named, path, answer)
        if not problems:
            return new


def _is_length(text: str) -> bool:
    try:
        parse(text, LENGTH)
    except QuantityError:
        return False
    return True
