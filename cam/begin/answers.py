"""What has been said of a new part so far, and what is still to be asked."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from cam.begin.draft import Keys
from cam.begin.phrases import (
    HINTS,
    HOLE_MORE,
    SQUARE_MORE,
    check_length,
    hole_lacks,
    join_steps,
    meant,
    read_hole,
    read_section,
    read_square,
    square_lacks,
    with_unit,
)
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, ProblemError, Where
from cam.ground.source.table import closest, did_you_mean
from cam.ground.trade_words import british
from cam.ground.units import LENGTH, QuantityError, parse, parse_limits, round_up, show_fine
from cam.part.checks import CLEAN_UP
from cam.part.features import BEARING_ROLES, ROUTES
from cam.part.model import METHODS
from cam.part.texts import CORNERS, EDGES
from cam.shop.model import Shop


@frozen
class SaidOfPart:
    """What was said, each thing in the words of its flag; "" where it was not said.

    Attributes:
        name: name of the part.
        shop: path of the shop file, from here.
        unit: "mm" or "in", the unit of bare numbers.
        sections, cross_holes: one text each.
        drawing: path of a DXF drawing that gives the sections.
        layer: the layer of its outline; "" for all.
        others: as the flags of those names.
    """

    name: str = ""
    shop: str = ""
    unit: str = ""
    material: str = ""
    stock_diameter: str = ""
    stock_length: str = ""
    holding: str = ""
    tail_centre: str = ""
    extra_length: str = ""
    chuck: str = ""
    free_end: str = ""
    stick_out: str = ""
    facing: str = ""
    part_off: str = ""
    corners: str = ""
    edges: str = ""
    finish: str = ""
    bearing_finish: str = ""
    leave: str = ""
    leave_face: str = ""
    tolerance: str = ""
    length: str = ""
    sections: tuple[str, ...] = ()
    square: str = ""
    cross_holes: tuple[str, ...] = ()
    drawing: str = ""
    layer: str = ""


KEYS = tuple(SaidOfPart.__annotations__)
"""Everything that can be said."""


class Question(Row):
    """A question that must be answered.

    Attributes:
        key: a key of SaidOfPart.
        words: the question.
        hint: what may be said, or how much is needed; "" for nothing.
        options: the only answers; () for free text.
        adds: the key by which the answer is added to a text that is said already; "" for an answer that is the whole
            text.
        at: which of several texts it belongs to.
    """

    key: str
    words: str
    hint: str = ""
    options: tuple[str, ...] = ()
    adds: str = ""
    at: int = 0

    @property
    def flag(self) -> str:
        """Return the flag that says it: --stock-diameter; the plural ones are said one by one."""
        singular = {"sections": "section", "unit": "units", "cross_holes": "cross_hole", "drawing": "from_dxf"}
        return "--" + singular.get(self.key, self.key).replace("_", "-")

    def answer(self, said: SaidOfPart, text: str) -> SaidOfPart:
        """Return what is said once this question is answered; an answer that begins with its own key goes as it is."""
        given: Any = text if self.key == "material" else meant(text, self.options)
        if self.adds:
            known = text.partition(" ")[0] in (*HOLE_MORE, *SQUARE_MORE)
            added = text if known else f"{self.adds} {text}"
            texts = getattr(said, self.key)
            if isinstance(texts, tuple):
                given = tuple(f"{t}, {added}" if k == self.at else t for k, t in enumerate(texts))
            else:
                given = f"{texts}, {added}"
        values: dict[str, Any] = {self.key: given}
        return replace(said, **values)


LENGTHS = ("stock_diameter", "stock_length", "extra_length", "stick_out", "facing", "leave", "leave_face", "length")


def open_questions(said: SaidOfPart, shop: Shop | None) -> list[Question]:
    """Return what must still be said before a part file can be written, in the order in which it is asked.

    shop: as read from said.shop; None where that is not said yet or cannot be read: what depends on it is left for
    later.
    """
    return [q for q in _questions(said, shop) if q.adds or not getattr(said, q.key)]


def _questions(said: SaidOfPart, shop: Shop | None) -> Iterator[Question]:
    yield Question("shop", "the shop file, which describes lathe and tools", "a path from here, samples/shop.toml")
    if shop is not None:
        yield Question("material", "what the bar is made of", options=tuple(sorted(shop.materials)))
    yield Question("holding", "how the part is held", options=METHODS)
    if not said.drawing:
        yield Question(
            "sections",
            "the sections, in order from the A end",
            "NAME, ROLE, DIAMETER, LENGTH: front pivot, pivot, 6 mm, 6 mm; LENGTH may be measured, where it comes from "
            "the clock or instrument",
        )
        if said.sections:
            yield from _of_sections(said)
    yield from _of_mill(said)
    yield from _of_stock(said)
    if shop is not None and said.holding in METHODS:
        yield from _of_holding(said, shop)


def _of_sections(said: SaidOfPart) -> Iterator[Question]:
    read = [read_section(text, said.unit, drawn=False)[0] for text in said.sections]
    if any("length" not in keys for keys in read):
        yield Question(
            "length", "length of the whole part, from which the section without a length gets the rest", "60 mm"
        )
    yield Question("corners", "what the tool may leave in an inner corner", CORNERS)
    yield Question("edges", "how outer edges are broken", EDGES)
    yield Question(
        "finish", "how sections get their last surface", "turn; or turn then file, stone, burnish; or as stock"
    )
    for key, own, words, hint in (
        ("leave", "on_diameter", "what turning leaves on the diameter for the rest of the finish", "0.03 mm"),
        ("leave_face", "on_face", "what it leaves on the shoulders' faces for that", "0 mm for nothing"),
    ):
        if _leaves(said, read, own):
            yield Question(key, words, hint)


def measured_sections(said: SaidOfPart) -> tuple[str, ...]:
    """Return the names of the sections whose length comes from a measurement."""
    read = [read_section(text, said.unit, drawn=False)[0] for text in said.sections if not said.drawing]
    return tuple(str(keys["name"]) for keys in read if keys.get("length", "") is None)


def square_blank(said: SaidOfPart) -> str:
    """Return the name of the section whose role is square blank, or "" for none."""
    for text in said.sections:
        keys = read_section(text, said.unit, drawn=bool(said.drawing))[0]
        if keys.get("role") == "square blank":
            return str(keys["name"])
    return ""


def _of_mill(said: SaidOfPart) -> Iterator[Question]:
    """Yield what a square, its blank and a cross hole still lack."""
    for at, text in enumerate(said.sections):
        keys = read_section(text, said.unit, drawn=bool(said.drawing))[0]
        if keys.get("role") == "square blank" and "bearing" not in keys:
            yield _more("sections", "bearing", at, f', of "{keys["name"]}"')
    if said.square:
        yield from (_more("square", key, 0) for key in square_lacks(read_square(said.square, said.unit)[0]))
    for at, text in enumerate(said.cross_holes):
        keys = read_hole(text, said.unit)[0]
        of = f', of cross hole "{keys["name"]}"' if "name" in keys else ""
        yield from (_more("cross_holes", key, at, of) for key in hole_lacks(keys))


def _more(key: str, adds: str, at: int, of: str = "") -> Question:
    words, hint = HINTS[adds]
    return Question(key=key, words=words + of, hint=hint, options=(), adds=adds, at=at)


def _of_stock(said: SaidOfPart) -> Iterator[Question]:
    thick, long = _least_stock(said)
    yield Question("stock_diameter", "diameter of the bar", thick)
    yield Question("stock_length", "length of the bar, as sawn", long)


def _of_holding(said: SaidOfPart, shop: Shop) -> Iterator[Question]:
    if said.holding == "between centres":
        if len(shop.centres) != 1:
            yield Question("tail_centre", "the centre at the tailstock", options=tuple(c.name for c in shop.centres))
        yield Question(
            "extra_length",
            "length beyond each finished end that is cut off after turning",
            "0 mm where centre holes stay in",
        )
        return
    fitting = tuple(c.name for c in shop.chucks if c.kind == said.holding)
    if len(fitting) != 1:
        yield Question("chuck", f"the {said.holding}", options=fitting)
    yield Question("free_end", "the end that stands free and is turned", options=("A", "B"))
    yield Question(
        "stick_out", f"from the {said.holding}'s front to the finished free end", "at least all that is turned"
    )
    yield Question("facing", "metal beyond the finished free end, faced off first", "0.5 mm")
    if any("thread" in read_section(text, said.unit, drawn=False)[0] for text in said.sections if not said.drawing):
        yield Question("part_off", "how the screw comes off its bar", options=("saw", "blade"))


def _least_stock(said: SaidOfPart) -> tuple[str, str]:
    """Return hints for the least diameter and the least length of the bar, where the sections tell them."""
    if said.drawing or not said.sections:
        return "", ""
    unit = "in" if said.unit == "in" else "mm"
    rows = [read_section(text, said.unit, drawn=False)[0] for text in said.sections]
    whole, known = all(keys.get("length") for keys in rows), _known_length(said)
    total = known if whole else _length_of(with_unit(said.length, said.unit))
    more = "the extra length and what is faced off"
    long = f"at least {show_fine(total or known, unit, trim=True)}, and {'' if total else 'what is measured, '}{more}"
    thickest = max(_thickest(said, keys) for keys in rows) + CLEAN_UP
    return f"at least {show_fine(round_up(thickest, unit), unit, trim=True)}, or that of a section left as stock", long


def _thickest(said: SaidOfPart, keys: Keys) -> float:
    """Return the most that a section may be as turned, mm on diameter."""
    sizes = [_length_of(str(keys.get(key, ""))) for key in ("diameter", "diameter_a", "diameter_b")]
    left = _length_of(str(keys.get("on_diameter", with_unit(said.leave, said.unit))))
    return max(sizes) + left + _upper(str(keys.get("tolerance", "")))


def _known_length(said: SaidOfPart) -> float:
    """Return the sum of the lengths that are said, mm."""
    rows = (read_section(text, said.unit, drawn=bool(said.drawing))[0] for text in said.sections)
    return math.fsum(_length_of(str(keys.get("length") or "")) for keys in rows)


def _length_of(text: str) -> float:
    try:
        return parse(text, LENGTH)
    except QuantityError:
        return 0.0


def _upper(limits: str) -> float:
    """Return the upper limit of size over nominal, mm; zero where limits say none that is above it."""
    try:
        return max(parse_limits(limits)[1], 0.0)
    except QuantityError:
        return 0.0


def check_said(said: SaidOfPart, keys: Sequence[str], shop: Shop | None) -> list[Problem]:
    """Report what is wrong with some answers by themselves; each is checked where it was said."""
    problems = [p for key in keys for p in _check_answer(said, key, getattr(said, key), shop)]
    if "unit" in keys and said.unit not in ("", "mm", "in"):
        what = "bare numbers are in mm or in, or carry their own unit"
        problems.append(Problem(where=Where(path="--units"), what=what, given=said.unit, allowed="mm, in"))
    return [*problems, *(p for key in keys for p in _check_texts(said, key))]


def _check_texts(said: SaidOfPart, key: str) -> Iterator[Problem]:
    """Check what is said as a short list: sections, a square, cross holes."""
    if key == "sections":
        for text in said.sections:
            yield from read_section(text, said.unit, drawn=bool(said.drawing))[1]
    elif key == "square" and said.square:
        keys, problems = read_square(said.square, said.unit)
        yield from problems or _beyond_section(said, keys, "--square", square_blank(said))
    elif key == "cross_holes":
        for text in said.cross_holes:
            keys, problems = read_hole(text, said.unit)
            yield from problems or _beyond_section(said, keys, "--cross-hole", str(keys.get("section", "")))


HELD = ("chuck", "free_end", "stick_out", "facing", "part_off")
"""What is said of a part in a collet or chuck alone."""
BETWEEN = ("tail_centre", "extra_length")
"""What is said of one between centres alone."""


def check_counts(said: SaidOfPart) -> list[Problem]:
    """Report what was said and would not count, as far as can be told from what is said already."""
    other = {"between centres": HELD, "collet": BETWEEN, "chuck": BETWEEN}.get(said.holding, ())
    idle = dict.fromkeys(other, f"the part is held {'in a ' if other is BETWEEN else ''}{said.holding}")
    if said.drawing and not said.holding:
        idle |= dict.fromkeys((*HELD, *BETWEEN), "it goes with --holding, which is not said")
    if said.drawing:
        idle["edges"] = "they come from the drawing"
    else:
        idle["layer"] = "it is of a drawing, and there is no --from-dxf"
    idle |= _idle_finish(said)
    return [
        Problem(where=Where(path=_flag(key)), what=f"this would not count: {why}", given=getattr(said, key),
                fix="leave it out, or say what it goes with")
        for key, why in idle.items() if getattr(said, key)
    ]  # fmt: skip


def refuse_all_but(said: SaidOfPart, *counted: str) -> None:
    """Refuse all that was said beside what counts for the commented part file.

    Raises:
        ProblemError: something else was said.
    """
    what, fix = "this would not count: --commented writes the file with its examples", "leave it out, or --commented"
    idle = [(key, getattr(said, key)) for key in KEYS if key not in counted and getattr(said, key)]
    if idle:
        shown = ((key, value if isinstance(value, str) else "; ".join(value)) for key, value in idle)
        raise ProblemError(Problem(where=Where(path=_flag(key)), what=what, given=v, fix=fix) for key, v in shown)


def _idle_finish(said: SaidOfPart) -> dict[str, str]:
    """Return what is said of finishing that no section takes up, each with why; nothing while none is said."""
    rows = [read_section(text, said.unit, drawn=bool(said.drawing))[0] for text in said.sections]
    if not rows:
        return {}
    idle = {}
    if not any(keys.get("role") in BEARING_ROLES and "finish" not in keys for keys in rows):
        idle["bearing_finish"] = "no pivot or journal is without a finish of its own"
    known = said.finish or all("finish" in keys for keys in rows)
    for key, own in (("leave", "on_diameter"), ("leave_face", "on_face")) if known else ():
        if not _leaves(said, rows, own):
            idle[key] = "no section is finished by more than turning, or each says its own"
    return idle


def _leaves(said: SaidOfPart, rows: Sequence[Keys], own: str) -> bool:
    """Tell whether turning leaves something for a later step; own: what a section says of it by itself."""
    routes = [said.finish, said.bearing_finish, *(str(keys.get("finish", "")) for keys in rows if own not in keys)]
    return any(len(join_steps(route).split(",")) > 1 for route in routes)


WITHIN = {
    "across": "diameter", "across_at_shoulder": "diameter", "across_at_tip": "diameter", "at": "length",
    "flats_end": "length", "distance": "length", "depth": "diameter", "diameter": "diameter", "grip_length": "length",
}  # fmt: skip
"""A size of a square or cross hole -> the size of its section, or of the section gripped, that it must stay below."""


def _beyond_section(said: SaidOfPart, milled: Keys, flag: str, of: str) -> Iterator[Problem]:
    """Report sizes that a section does not have; the part's reader tells more once all are said.

    of: name of the section that is milled.
    """
    rows = [read_section(text, said.unit, drawn=bool(said.drawing))[0] for text in said.sections]
    for key, size in WITHIN.items():
        owner = milled.get("grip") if key == "grip_length" else of
        row = next((keys for keys in rows if keys.get("name") == owner), {})
        most = _length_of(str(row.get(size) or ""))
        if key in milled and most and _length_of(str(milled[key])) >= most:
            what, allowed = f'{HINTS[key][0]}: more than the {size} of "{owner}"', f"less than {row[size]}"
            yield Problem(where=Where(path=flag), what=what, given=str(milled[key]), allowed=allowed)


def _options(said: SaidOfPart, key: str, shop: Shop | None) -> tuple[str, ...]:
    """Return the answers of which one is to be chosen; none where another one may be added."""
    return next((q.options for q in _questions(said, shop) if q.key == key and not q.adds), ())


def _check_answer(said: SaidOfPart, key: str, value: Any, shop: Shop | None) -> list[Problem]:
    """Say what is wrong with the form of one answer, or with a choice."""
    if not value or (key == "material" and shop is not None and value in shop.materials):
        return []
    if key in LENGTHS:
        return _check_length(said, key, value) or _swings(said, key, shop) or _too_short(said, key)
    if key in ("finish", "bearing_finish"):
        return _check_steps(_flag(key), value)
    return _check_choice(key, value, _options(said, key, shop))


def _check_choice(key: str, value: str, options: Sequence[str]) -> list[Problem]:
    if not options or british(value) in map(british, options):
        return []
    fix, what = _near(value, options), f"there is no {key.replace('_', ' ')} of that name"
    where, allowed = Where(path=_flag(key)), ", ".join(options)
    return [Problem(where=where, what=what, given=value, allowed=allowed, fix=fix)]


def _check_length(said: SaidOfPart, key: str, value: str) -> list[Problem]:
    over = key in ("stock_diameter", "stock_length", "stick_out", "facing", "length")
    return check_length(_flag(key), key.replace("_", " "), with_unit(value, said.unit), said.unit, over=over)


def _swings(said: SaidOfPart, key: str, shop: Shop | None) -> list[Problem]:
    """Report a bar that does not swing over the cross slide."""
    if shop is None or key != "stock_diameter":
        return []
    if _length_of(with_unit(said.stock_diameter, said.unit)) <= shop.lathe.swing_over_slide:
        return []
    what, most = "the bar does not swing over the cross slide", f"at most {shop.lathe.swing_over_slide.text}"
    return [Problem(where=Where(path=_flag("stock_diameter")), what=what, given=said.stock_diameter, allowed=most)]


def _too_short(said: SaidOfPart, key: str) -> list[Problem]:
    """Report a bar that is shorter than the lengths that are said; once all are known, the part's reader tells more."""
    stock, extra = (_length_of(with_unit(text, said.unit)) for text in (said.stock_length, said.extra_length))
    needed = _known_length(said) + (2 * extra if said.holding == "between centres" else 0.0)
    if key not in ("stock_length", "extra_length") or not 0 < stock < needed:
        return []
    unit = "in" if said.unit == "in" else "mm"
    what, given = "the bar is too short", f"{said.stock_length} long, extra length {said.extra_length or '0'}"
    allowed = f"a bar of more than {show_fine(round_up(needed, unit), unit, trim=True)}"
    return [Problem(where=Where(path=_flag(key)), what=what, given=given, allowed=allowed)]


def _near(value: str, options: Sequence[str]) -> str:
    """Ask which of several was meant: all that say the word, or else the nearest."""
    named = [option for option in options if british(value.lower()) in option.split()]
    return f"say which: {' or '.join(named)}" if named else did_you_mean(closest(value, options))


def _flag(key: str) -> str:
    return Question(key, "").flag


def _check_steps(flag: str, text: str) -> list[Problem]:
    strange = [step for step in join_steps(text).split(", ") if step not in ROUTES]
    if not strange:
        return []
    what, fix = f'there is no step of finishing called "{strange[0]}"', did_you_mean(closest(strange[0], ROUTES))
    allowed = '"as stock"; or "turn", and after it any of file, stone, burnish in that order'
    return [Problem(where=Where(path=flag), what=what, given=text, allowed=allowed, fix=fix)]


def missing(questions: Sequence[Question]) -> list[Problem]:
    """Report the open questions where nobody can be asked, each with the flag that answers it."""
    return [
        Problem(
            where=Where(path=q.flag),
            what=f"must be said: {q.words}",
            allowed=", ".join(q.options) or q.hint,
            fix=f'say {q.flag} "..., {q.adds} ..."'
            if q.adds
            else f'say {q.flag} "..."' + (", once for each section" if q.key == "sections" else ""),
        )
        for q in questions
    ]
