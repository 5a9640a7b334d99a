"""The questions for a shop file."""

from __future__ import annotations

import re
from collections.abc import Callable

from cam.begin.form import Asking, Form, Tree, with_value
from cam.ground.problem import Problem
from cam.ground.source.lines import Path
from cam.ground.units import LENGTH, SPEED, QuantityError, parse
from cam.shop.model import INCLUDED, TIP_ONLY
from cam.shop.read import shop_of
from cam.shop.schema import shop_schema

ORDER = (
    "lathe", "lathe.control", "lathe.x", "lathe.z", "lathe.spindle", "lathe.feed", "lathe.tailstock", "lathe.headstock",
    "centre", "carrier", "chuck", "tool", "mill", "mill.block", "mill.vice", "mill.x", "mill.y", "mill.z", "cutter",
)  # fmt: skip
"""The tables in the order in which they are asked for and written."""
FIRST = {
    "centre": ("a centre for the tailstock", 'its name, "dead centre"'),
    "carrier": ("a carrier (dog)", 'its name, "small carrier"'),
    "chuck": ("a collet or chuck", 'its name, "6 mm collet"'),
    "tool": ("a tool of the lathe", 'its name, "right-hand knife"'),
    "cutter": ("a cutter of the mill", 'its name, "6 mm end mill"'),
}
"""Table that may be there several times -> how it is asked for."""
SIZES = {"mm": ("-1, 10, 6, 25 mm", "12, 30, 25, 80 mm"), "in": ("-0.04, 0.4, 0.24, 1 in", "0.5, 1.2, 1, 3 in")}
"""Unit -> sizes of a holder and of a post, as examples; those of a holder that begins right of its tip have a minus."""
FACTS = ("tool_change", "tool_word", "tool_zeros", "arcs", "message_width", "comment_width", "line_ends")
"""The facts of a control that take one answer each, in the order in which they are asked for."""
MORE = "can more be said of this control: tool changes, arcs, widths, line ends, words that mean something else to it"
OTHERWISE = "words that mean something else to it, as cycles do on many lathe controls, left out of programs"
DATED = "each with the date on which that was seen"
Take = Callable[[str], tuple[tuple[Problem, ...], Tree]]
"""A function that returns what is wrong with an answer, and the file with it."""
UNITS = "are lengths without a unit mm or in"
BOX = (
    "four sizes from the tip: how far it reaches toward the headstock (minus where it stops short of the tip), toward "
    "the tailstock, where it begins behind the tip, and where it ends"
)


def shop_form(name: str, dialects: tuple[str, ...] = ()) -> Form:
    """Return an empty form for a shop file.

    Args:
        name: name of the file, for messages.
        dialects: of which a control takes one; () where none is asked for.
    """

    def dialect(form: Form, tree: Tree, path: Path) -> Asking:
        words = form.words(tree, path)
        return with_value(tree, path, (yield from form.choose(tree, words, dialects)))

    special = {"positions": _speeds, "shape": _shape, "outline": _outlines}
    special |= {"dialect": dialect} if dialects else {}
    return Form(name, shop_schema(), ORDER, shop_of, special=special)


def ask_shop(form: Form) -> Asking:
    """Ask for a whole shop file."""
    form.unit = yield from form.choose({}, UNITS, ("mm", "in"))
    hand = (yield from form.choose({}, "is the lathe worked by hand, or converted to stepper drive",
                                   ("hand", "converted"))) == "hand"  # fmt: skip
    tree: Tree = {"lathe": {"control": {"kind": "hand" if hand else "stepper"}}}
    tree = yield from form.fill(tree, ("lathe",))
    if not hand:
        tree = yield from ask_facts(form, tree, ("lathe", "control"), "arcs")
    for kind in ("centre", "carrier", "chuck", "tool"):
        tree = yield from _several(form, tree, kind)
    if (yield from form.yes(tree, "is there a mill, for squares and cross holes")):
        tree = yield from _mill(form, tree)
    return tree


def ask_more(form: Form, tree: Tree, kind: str) -> Asking:
    """Ask for one more of a kind of table, for a file that is there.

    Args:
        tree: what the file says.
        kind: a key of FIRST.
    """
    form.unit = yield from form.choose(tree, UNITS, ("mm", "in"))
    return (yield from _one_more(form, tree, kind, may_skip=False))


def _several(form: Form, tree: Tree, kind: str) -> Asking:
    """Ask for as many of a kind as there are; of lathe tools and cutters, for at least one."""
    while True:
        count = len(tree.get(kind, []))
        new = yield from _one_more(form, tree, kind, may_skip=bool(count) or kind not in ("tool", "cutter"))
        if len(new.get(kind, [])) == count:
            return tree
        tree = new


def _one_more(form: Form, tree: Tree, kind: str, *, may_skip: bool) -> Asking:
    """Ask for one of a kind; a tool gets the first number that is free."""
    taken = {row.get("number") for row in tree.get(kind, [])}
    more = {"number": next(n for n in range(1, 100) if n not in taken)} if kind in ("tool", "cutter") else {}
    return (yield from form.row(tree, kind, *FIRST[kind], more, may_skip=may_skip))


def _mill(form: Form, tree: Tree) -> Asking:
    """Ask for the mill, its vice, its dials and its cutters."""
    tree = with_value(tree, ("mill",), {})
    if (yield from form.yes(tree, "mill: does the work's block lie in a vice (no for a rotary axis)")):
        tree = with_value(tree, ("mill", "vice"), {})
    if (yield from form.yes(tree, "mill: has it dials or readouts, to be worked by hand")):
        for axis in "xyz":
            tree = with_value(tree, ("mill", axis), {})
    tree = yield from form.fill(tree, ("mill",))
    tree = yield from ask_facts(form, tree, ("mill",), "rotary axis")
    return (yield from _several(form, tree, "cutter"))


def ask_facts(form: Form, tree: Tree, under: Path, sense: str) -> Asking:
    """Ask what a control was seen to be and to do; none of it need be said, and one answer passes over it all.

    Args:
        under: the table that says what the control is.
        sense: what its programs prove in air.
    """
    whose = f"{under[0]}: "
    if not (yield from form.yes(tree, f"{whose}{MORE}")):
        return tree
    for key in FACTS:
        if key in form.node(under)["properties"]:
            tree = yield from _fact(form, tree, (*under, key))
    tree = yield from form.fill(tree, under)
    tree = yield from _dated(form, tree, under, f"{whose}{OTHERWISE}, {DATED} to stand at the start", ("leave_out",))
    tree = yield from _dated(form, tree, under, f"{whose}other words that it stands in at the start, {DATED}", ())
    if _table(tree, under).get("arcs") == "lines":
        return tree  # no arc is said, so none is proved
    path, words = (*under, "proved"), f"{whose}the date on which its {sense} went as meant"
    hint = "2026-05-02; or Enter: programs prove it in air"
    return (yield from _until(form, tree, words, hint, lambda date: form.tried(tree, path, {sense: date})))


def _until(form: Form, tree: Tree, words: str, hint: str, take: Take) -> Asking:
    """Ask until an answer can be used; Enter leaves everything as it is."""
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield form.ask(tree, words, hint, problems, may_skip=True)
        if not answer:
            return tree
        problems, new = take(answer)
        if not problems:
            return new


def _fact(form: Form, tree: Tree, path: Path) -> Asking:
    """Ask for one fact, or none; it is not asked for where an earlier answer allows no value of it."""
    node = form.node(path)
    options = node.get("enum", ())
    if "type" not in node and all(form.tried(tree, path, value)[0] for value in options):
        return tree
    hint = f"{', '.join(options) or 'a number'}; or Enter"

    def take(answer: str) -> tuple[tuple[Problem, ...], Tree]:
        return form.tried(tree, path, form.value_of(node, answer))

    return (yield from _until(form, tree, form.words(tree, path), hint, take))


def _dated(form: Form, tree: Tree, under: Path, words: str, also: Path) -> Asking:
    """Ask which words the control was seen to stand in, with dates; also is a key whose list holds the words too."""
    hint = "G71 2026-05-02, G90 2026-05-02"

    def take(answer: str) -> tuple[tuple[Problem, ...], Tree]:
        pairs = [one.split() for one in answer.upper().split(",")]
        if any(len(pair) != 2 for pair in pairs):
            return (form.refusal("these are not words with a date each", answer, hint),), tree
        table = _table(tree, under)
        new = {"stands": {**table.get("stands", {}), **dict(pairs)}, **{str(k): [w for w, _ in pairs] for k in also}}
        return form.tried(tree, under, {**table, **new})

    return (yield from _until(form, tree, words, f"{hint}; or Enter", take))


def _table(tree: Tree, under: Path) -> Tree:
    for key in under:
        tree = tree[str(key)]
    return tree


def _speeds(form: Form, tree: Tree, path: Path) -> Asking:
    """Ask for belt positions one by one, or for a range."""
    words = (
        "spindle: its speeds, one belt position after another as marked, NAME, SPEED; or a range, SLOWEST to FASTEST"
    )
    rows: list[Tree] = []
    problems: tuple[Problem, ...] = ()
    while True:
        hint = f"{len(rows)} so far; Enter when there are no more" if rows else "A1, 320 rpm; or 100 to 2000 rpm"
        answer = yield form.ask(tree, words, hint, problems, may_skip=bool(rows))
        if not answer:
            problems, new = form.tried(tree, path, rows)
            if not problems:
                return new
            rows = []
            continue
        ends = re.split(r" to | - ", answer)
        if len(ends) == 2 and not rows:
            problems, new = _range(form, tree, path[:-1], ends)
            if not problems:
                return new
            continue
        mark, comma, speed = answer.rpartition(",")
        if not comma:
            problems = (form.refusal("this is not a name and a speed", answer, "with a comma between: A1, 320 rpm"),)
            continue
        row = {"name": mark.strip(), "speed": form.with_unit(speed.strip(), "rpm")}
        problems, _ = form.tried(tree, path, [*rows, row])
        if not problems:
            rows.append(row)


def _range(form: Form, tree: Tree, table: Path, ends: list[str]) -> tuple[tuple[Problem, ...], Tree]:
    """Return what is wrong with a range of speeds, and the file with it."""
    slow, fast = (form.with_unit(end.strip(), "rpm") for end in ends)
    slow = slow if slow.endswith("rpm") else f"{slow} rpm"
    problems, new = form.tried(with_value(tree, (*table, "slowest"), slow), (*table, "fastest"), fast)
    if not problems:
        try:
            parse(slow, SPEED, least=0.0, over=True)
        except QuantityError as error:
            problems = (form.refusal(error.what, slow, error.allowed),)
    return problems, new


def _shape(form: Form, tree: Tree, path: Path) -> Asking:
    """Ask for an insert by its letter, or a ground tool by the angle between its edges."""
    about = "the ISO 1832 letter of an insert, or the angle between the edges of a ground tool"
    words = f"{form.called(tree, path)}, shape: {about}"
    problems: tuple[Problem, ...] = ()
    while True:
        answer = yield form.ask(tree, words, f"{', '.join(INCLUDED)}; or 55 deg", problems)
        letter = answer.upper() in INCLUDED
        key = "shape" if letter else "included"
        value = answer.upper() if letter else form.with_unit(answer, "deg")
        problems, tree = form.tried(tree, (*path[:-1], key), value)
        if not problems:
            return tree


BOXES = {0: "holder", 1: "tool post"}
"""What the first boxes behind a tool's edge are; further ones are numbered."""


def _outlines(form: Form, tree: Tree, path: Path) -> Asking:
    """Ask for what follows the tool's edge, as boxes that can be measured with a rule."""
    boxes: list[Tree] = []
    problems: tuple[Problem, ...] = ()
    while True:
        label = BOXES.get(len(boxes), f"box {len(boxes) + 1}")
        part = BOXES.get(len(boxes), "another box")
        sizes = SIZES[form.unit][min(len(boxes), 1)]
        hint = sizes + ("; Enter for no more" if boxes else "; or tip only: then nothing checks holder and post")
        answer = yield form.ask(tree, f"{form.called(tree, path)}, {part}: {BOX}", hint, problems, may_skip=bool(boxes))
        if not answer or (not boxes and answer.lower() == TIP_ONLY):
            problems, tree = form.tried(tree, path, boxes or TIP_ONLY)
            if not problems:
                return tree
            boxes = []
            continue
        problems, box = _box(form, label, answer)
        if not problems:
            problems, _ = form.tried(tree, path, [*boxes, box])
        if not problems:
            boxes.append(box)


def _box(form: Form, label: str, answer: str) -> tuple[tuple[Problem, ...], Tree]:
    """Read a box from its sizes; the unit of the last holds for all that have none."""
    sizes = form.lengths(answer)
    if len(sizes) != 4:
        what = f"this is {len(sizes)} size{'s' * (len(sizes) > 1)}, and a box has four"
        return (form.refusal(what, answer, f"with commas between: {SIZES[form.unit][0]}"),), {}
    numbers = []
    for size in sizes:
        try:
            numbers.append(parse(size, LENGTH))
        except QuantityError as error:
            return (form.refusal(error.what, size, error.allowed),), {}
    left, right, near, far = numbers
    if left + right <= 0 or near >= far:
        what = "this box has no width" if left + right <= 0 else "it would end before it begins"
        return (
            form.refusal(what, answer, "toward headstock and tailstock together over 0; begins before it ends"),
        ), {}
    return (), {"name": label, "points": _box_points(sizes)}


def _box_points(sizes: list[str]) -> list[list[str]]:
    """Return a box's corners from its four sizes: toward the headstock and the tailstock, begins back, ends back."""
    left, right, near, far = sizes
    minus = left.removeprefix("-") if left.startswith("-") else f"-{left}"
    return [[minus, near], [right, near], [right, far], [minus, far]]
