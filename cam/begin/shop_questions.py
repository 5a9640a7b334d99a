"""The questions for a shop file, one after another: each is a question until the reader takes its answer."""

from __future__ import annotations

import re
from collections.abc import Generator
from typing import Any

from cam.begin.shop_draft import INCH, Keys, Tree, box_points, judge, value_of, with_unit, with_value
from cam.frozen import frozen
from cam.problem import Problem, Where
from cam.shop.tool_shape import INCLUDED
from cam.source.lines import Path
from cam.trade_words import british
from cam.units import LENGTH, SPEED, Kind, QuantityError, parse


@frozen
class Ask:
    """A question.

    Attributes:
        words: of the question. hint: what may be said; "" for nothing.
        problems: what is wrong with the answer that was given to it last. may_skip: an empty answer is one.
        tree: what is said so far.
    """

    words: str
    tree: Tree
    hint: str = ""
    problems: tuple[Problem, ...] = ()
    may_skip: bool = False


Asking = Generator[Ask, str, Tree]
"""Yields questions, takes answers, and gives the file's contents in the end."""

HOW = {
    "backlash": "Set an indicator against the slide, wind one way, zero the dial, wind back until the indicator moves: "
    "what the dial has moved is the backlash. Take the largest of several places.",
    "division": "As engraved beside the dial.",
    "approach": "Lay a protractor from the leading edge to the direction of feed.",
    "barrel_extension": "As it stands when a part is between the centres.",
    "rapid_clearance": "0.5 mm is common practice, no source.",
    "contact_clearance": "0.1 mm is common practice, no source.",
}
"""Key -> how it is found out."""
FIRST = {
    "centre": ("a centre for the tailstock", 'its name, "dead centre", or Enter for no more'),
    "carrier": ("a carrier (dog)", 'its name, "small carrier", or Enter for no more'),
    "chuck": ("a collet or chuck", 'its name, "6 mm collet", or Enter for no more'),
    "tool": ("a tool of the lathe", 'its name, "right-hand knife", or Enter for no more'),
    "cutter": ("a cutter of the mill", 'its name, "6 mm end mill", or Enter for no more'),
}
"""Table that may be there several times -> how it is asked for."""
BOX = "four sizes from the tip: toward headstock, toward tailstock, where it begins behind the tip, where it ends"
TITLES = {"x": "X slide", "y": "Y slide", "z": "Z slide"}
"""Table -> as a person calls it."""
KEYS = Keys()


def ask_shop(name: str) -> Asking:
    """A whole shop file.

    Args:
        name: of the file, for messages.
    """
    tree: Tree = {"lathe": {}}
    unit = yield from _choose(tree, name, "are lengths without a unit mm or in", ("mm", "in"))
    words = "is the lathe worked by hand, or converted to stepper drive"
    hand = (yield from _choose(tree, name, words, ("hand", "converted"))) == "hand"
    tree = {"lathe": {"control": {"kind": "hand" if hand else "stepper"}}}
    tree = yield from _fill(tree, name, unit, ("lathe",))
    for kind in ("centre", "carrier", "chuck", "tool"):
        tree = yield from _several(tree, name, unit, kind)
    if (yield from _yes(tree, name, "is there a mill, for squares and cross holes")):
        tree = yield from _mill(tree, name, unit)
    return tree


def ask_more(tree: Tree, name: str, kind: str) -> Asking:
    """One more of a kind of table, for a file that is there.

    Args:
        tree: what the file says. name: of it. kind: a key of FIRST.
    """
    unit = yield from _choose(tree, name, "are lengths without a unit mm or in", ("mm", "in"))
    return (yield from _one_more(tree, name, unit, kind, may_skip=False))


def _fill(tree: Tree, name: str, unit: str, under: Path) -> Asking:
    """Ask for all that the reader lacks under a table."""
    while True:
        lacking, _ = judge(tree, name)
        inside = sorted((p for p in lacking if p[: len(under)] == under), key=KEYS.place)
        tables = [p for p in inside if KEYS.node(p).get("type") == "object"]
        if tables:
            for path in tables:
                tree = with_value(tree, path, {})
        elif inside:
            tree = yield from _key(tree, name, unit, inside[0])
        else:
            return tree


def _key(tree: Tree, name: str, unit: str, path: Path) -> Asking:
    """Ask for one key until the reader takes it."""
    special = {"positions": _speeds, "shape": _shape, "outline": _outlines}.get(str(path[-1]))
    if special is not None:
        return (yield from special(tree, name, unit, path))
    node = KEYS.node(path)
    words, hint = _words(tree, path, node), _hint(node, unit)
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield Ask(words=words, hint=hint, problems=problems, tree=tree)
        value = british(answer) if "enum" in node else value_of(KEYS, path, answer, unit)
        problems, tree = _tried(tree, name, path, value)
        if not problems:
            return tree


def _tried(tree: Tree, name: str, path: Path, value: Any) -> tuple[tuple[Problem, ...], Tree]:
    """What a value makes wrong that was not wrong before, and what is said then."""
    new = with_value(tree, path, value)
    wrong = judge(new, name)[1] - judge(tree, name)[1]
    return tuple(sorted(wrong)), tree if wrong else new


def _words(tree: Tree, path: Path, node: dict[str, Any]) -> str:
    """A question: whose key, which key, what it means, how it is found out."""
    whose = _called(tree, path) or " ".join(TITLES.get(str(k), str(k)) for k in path[:-1] if k != "lathe") or "lathe"
    title = f"{whose}, {str(path[-1]).replace('_', ' ')}"
    about = " ".join(w for w in (node.get("description", ""), HOW.get(str(path[-1]), "")) if w)
    return f"{title}: {about[:1].lower()}{about[1:]}" if about else title


def _called(tree: Tree, path: Path) -> str:
    """Name of the row that a key is of; "" for a key of a table that is there once."""
    return str(tree[str(path[0])][path[1]]["name"]) if isinstance(path[1], int) else ""


def _hint(node: dict[str, Any], unit: str) -> str:
    if "enum" in node:
        return ", ".join(node["enum"])
    if node.get("type") == "boolean":
        return "yes, no"
    examples = [e for e in node.get("examples", []) if isinstance(e, str)]
    if node.get("type") == "array":
        return "0.12 in, 0.35 in" if unit == "in" else "3 mm, 9 mm"
    found = re.fullmatch(r"([0-9.]+) (mm|mm/rev|mm/min)", examples[0]) if unit == "in" and examples else None
    if found:
        return f"for example {float(f'{float(found[1]) / 25.4:.2g}')} {INCH[found[2]]}"
    return f"for example {examples[0]}" if examples else ""


def _choose(tree: Tree, name: str, words: str, options: tuple[str, ...]) -> Generator[Ask, str, str]:
    problems: tuple[Problem, ...] = ()
    while True:
        answer = (yield Ask(words=words, hint=", ".join(options), problems=problems, tree=tree)).lower()
        found = [option for option in options if option == answer or (answer and option.startswith(answer))]
        if answer in options or len(found) == 1:
            return answer if answer in options else found[0]
        problems = (_refusal(name, "this is not one of the answers", answer, ", ".join(options)),)


def _yes(tree: Tree, name: str, words: str) -> Generator[Ask, str, bool]:
    return (yield from _choose(tree, name, words, ("yes", "no"))) == "yes"


def _refusal(name: str, what: str, given: str, allowed: str) -> Problem:
    return Problem(where=Where(path=name), what=what, given=given, allowed=allowed)


def _several(tree: Tree, name: str, unit: str, kind: str) -> Asking:
    """As many of a kind as there are; of lathe tools and cutters one at least."""
    while True:
        count = len(tree.get(kind, []))
        new = yield from _one_more(tree, name, unit, kind, may_skip=bool(count) or kind not in ("tool", "cutter"))
        if len(new.get(kind, [])) == count:
            return tree
        tree = new


def _one_more(tree: Tree, name: str, unit: str, kind: str, *, may_skip: bool) -> Asking:
    """One of a kind: its name first, then all that the reader lacks of it."""
    rows = tree.get(kind, [])
    words, hint = FIRST[kind]
    problems: tuple[Problem, ...] = ()
    while True:
        hint = hint if may_skip else hint.partition(", or")[0]
        answer = yield Ask(words=words, hint=hint, problems=problems, may_skip=may_skip, tree=tree)
        if not answer:
            return tree
        row: Tree = {"name": answer}
        if kind in ("tool", "cutter"):
            taken = {r.get("number") for r in rows}
            row = {"number": next(n for n in range(1, 100) if n not in taken), **row}
        if any(r.get("name") == answer for r in rows):
            problems = (_refusal(name, f"there is one called {answer} already", answer, "another name"),)
            continue
        new = with_value(tree, (kind,), [*rows, row])
        problems = tuple(sorted(judge(new, name)[1] - judge(tree, name)[1]))
        if not problems:
            return (yield from _fill(new, name, unit, (kind, len(rows))))


def _mill(tree: Tree, name: str, unit: str) -> Asking:
    """The mill, its vice, its dials, its cutters."""
    tree = with_value(tree, ("mill",), {})
    if (yield from _yes(tree, name, "mill: does the work's block lie in a vice (no for a rotary axis)")):
        tree = with_value(tree, ("mill", "vice"), {})
    if (yield from _yes(tree, name, "mill: has it dials or readouts, to be worked by hand")):
        for axis in "xyz":
            tree = with_value(tree, ("mill", axis), {})
    tree = yield from _fill(tree, name, unit, ("mill",))
    return (yield from _several(tree, name, unit, "cutter"))


def _speeds(tree: Tree, name: str, unit: str, path: Path) -> Asking:
    """Belt positions one by one, or a range."""
    words = (
        "spindle: its speeds, one belt position after another as marked, NAME, SPEED; or a range, SLOWEST to FASTEST"
    )
    rows: list[Tree] = []
    problems: tuple[Problem, ...] = ()
    while True:
        hint = f"{len(rows)} so far; Enter when there are no more" if rows else "A1, 320 rpm; or 100 to 2000 rpm"
        answer = yield Ask(words=words, hint=hint, problems=problems, may_skip=bool(rows), tree=tree)
        if not answer:
            problems, new = _tried(tree, name, path, rows)
            if not problems:
                return new
            rows = []
            continue
        ends = re.split(r" to | - ", answer)
        if len(ends) == 2 and not rows:
            slow, fast = (with_unit(end.strip(), "rpm", unit) for end in ends)
            slow = slow if slow.endswith("rpm") else f"{slow} rpm"
            problems, new = _tried(with_value(tree, (*path[:-1], "slowest"), slow), name, (*path[:-1], "fastest"), fast)
            problems = problems or _unread(name, slow, SPEED)
            if not problems:
                return new
            continue
        mark, _, speed = answer.rpartition(",")
        row = {"name": mark.strip(), "speed": with_unit(speed.strip(), "rpm", unit)}
        problems, _ = _tried(tree, name, path, [*rows, row])
        if not problems:
            rows.append(row)


def _unread(name: str, text: str, kind: Kind) -> tuple[Problem, ...]:
    """What keeps a text from being read as a quantity."""
    try:
        parse(text, kind, least=0.0, over=True)
    except QuantityError as error:
        return (_refusal(name, error.what, text, error.allowed),)
    return ()


def _shape(tree: Tree, name: str, unit: str, path: Path) -> Asking:
    """An insert by its letter, a ground tool by the angle between its edges."""
    about = "the ISO 1832 letter of an insert, or the angle between the edges of a ground tool"
    words = f"{_called(tree, path)}, shape: {about}"
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield Ask(words=words, hint=f"{', '.join(INCLUDED)}; or 55 deg", problems=problems, tree=tree)
        letter = answer.upper() in INCLUDED
        key = "shape" if letter else "included"
        value = answer.upper() if letter else with_unit(answer, "deg", unit)
        problems, tree = _tried(tree, name, (*path[:-1], key), value)
        if not problems:
            return tree


def _outlines(tree: Tree, name: str, unit: str, path: Path) -> Asking:
    """What follows the tool's edge, as boxes that a rule can be laid on."""
    boxes: list[Tree] = []
    problems: tuple[Problem, ...] = ()
    while True:
        part = ("holder", "tool post")[len(boxes)] if len(boxes) < 2 else "another box"
        sizes = "0.04, 0.4, 0.24, 1 in" if unit == "in" else "1, 10, 6, 25 mm"
        skip = "" if not boxes else "; Enter for no more"
        hint = f"{sizes}{skip if boxes else '; or tip only: then nothing checks holder and post'}"
        answer = yield Ask(
            words=f"{_called(tree, path)}, {part}: {BOX}", hint=hint, problems=problems, may_skip=bool(boxes), tree=tree
        )
        if not answer or (not boxes and answer.lower() == "tip only"):
            value = boxes or "tip only"
            problems, tree = _tried(tree, name, path, value)
            if not problems:
                return tree
            boxes = []
            continue
        label = part if len(boxes) < 2 else f"box {len(boxes) + 1}"
        problems, box = _box(name, label, answer, unit)
        if not problems:
            problems, _ = _tried(tree, name, path, [*boxes, box])
        if not problems:
            boxes.append(box)


def _box(name: str, label: str, answer: str, unit: str) -> tuple[tuple[Problem, ...], Tree]:
    """A box from its sizes; the unit of the last holds for all that have none."""
    last = re.fullmatch(r".*[0-9] *([a-z]+)", answer.strip())
    of_all = last[1] if last else unit
    sizes = [s.strip() if re.search(r"[a-z]", s) else f"{s.strip()} {of_all}" for s in answer.split(",")]
    if len(sizes) != 4:
        return (_refusal(name, f"these are {len(sizes)} sizes", answer, f"four, with commas between: {BOX}"),), {}
    numbers = []
    for size in sizes:
        try:
            numbers.append(parse(size, LENGTH))
        except QuantityError as error:
            return (_refusal(name, error.what, size, error.allowed),), {}
    left, right, near, far = numbers
    if left + right <= 0 or near >= far:
        what = "this box has no width" if left + right <= 0 else "it would end before it begins"
        return (
            _refusal(name, what, answer, "toward headstock and tailstock together over 0; begins before it ends"),
        ), {}
    return (), {"name": label, "points": box_points(sizes)}
