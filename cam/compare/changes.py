"""The differences between two records, row by row, in the order of the work."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from difflib import SequenceMatcher
from itertools import pairwise
from typing import Any

from cam.compare.sides import Side
from cam.geometry.differ import Zone, find_zones
from cam.ground.figures import say_small
from cam.ground.frozen import Row
from cam.ground.tolerances import AS_RECORDED
from cam.ground.units import show_length, show_number

NOTHING = ""
ARROW = "->"
SHOULDER = 0.1
"""A face this near to where two sections meet, mm, is their shoulder: metal may be left on it."""
SECONDS = 0.5
"""Times that differ by less than this, s, are the same."""

APART = frozenset(
    {"format", "format_version", "endshake", "part", "shop", "programs", "closest", "settings", "warnings", "files"}
)
"""Keys of a record that are not compared leaf by leaf: they have rows of their own here, or say nothing of the work."""

SECTION_TEXTS = {
    "role": "role", "corner_a": "corner at its A end", "corner_b": "corner at its B end",
    "edge_a": "edge at its A end", "edge_b": "edge at its B end",
}  # fmt: skip
"""What a section's record says in words, and how it is called here."""
OF_NO_ACCOUNT = frozenset(
    {"line", "sha256", "problems", "reasons", "lowest_xyz_mm", "highest_xyz_mm", "setting_up", "file"}
)
"""Keys within a record that say nothing of the work, or only what follows from its sizes."""
STOCK = {"diameter": "stock: diameter", "length": "stock: length"}
Data = dict[str, Any]


class Change(Row):
    """One thing that differs.

    Attributes:
        topic: "part", "setting 1", "setting 1, passes" ...
        what: "front pivot: diameter".
        a, b: the value on each side; "" where it is missing.
    """

    topic: str
    what: str
    a: str
    b: str


def compare_records(a: Side, b: Side) -> tuple[Change, ...]:
    """Return everything that differs; () for two that are alike.

    Lines of the text, hashes, paths and what only follows from what is said here are left out.
    """
    return tuple(_Comparison(a, b).rows())


class _Comparison:
    """Two sides, and the way in which a length is shown."""

    def __init__(self, a: Side, b: Side) -> None:
        self.a, self.b = a, b
        self.unit = a.unit

    def rows(self) -> Iterator[Change]:
        a, b = self.a.record, self.b.record
        yield from self.part(a.get("part", {}), b.get("part", {}))
        yield from self.texts("programs", a.get("programs") or {}, b.get("programs") or {},
                              ("dialect", "standard", "units", "x_words"))  # fmt: skip
        yield from self.texts("shop", a.get("shop", {}), b.get("shop", {}), ("lathe",))
        ones, others = ({s["number"]: s for s in record["settings"]} for record in (a, b))
        for number in sorted({*ones, *others}):
            yield from self.setting(number, ones.get(number), others.get(number))
        for key in (k for k in dict.fromkeys((*a, *b)) if k not in APART):
            yield from self.tree(key, a.get(key), b.get(key))
        yield from _both("warnings", _warnings_of(a), _warnings_of(b))
        yield from self.lines()

    def length(self, value: Any) -> str:
        """Show a length of a record, which is in mm there."""
        return "to be measured" if value is None else show_size(float(value), self.unit)

    # The part ---------------------------------------------------------------------------------------------

    def part(self, a: Data, b: Data) -> Iterator[Change]:
        yield from self.texts("part", a, b, ("name",))
        yield from self.lengths("part", a, b, (("length_mm", "length of the whole"),))
        stock_a, stock_b = a.get("stock", {}), b.get("stock", {})
        yield from self.texts("part", stock_a, stock_b, ("material",))
        one, other = ({key: stock.get(key, {}).get("mm") for key in STOCK} for stock in (stock_a, stock_b))
        yield from self.lengths("part", one, other, tuple(STOCK.items()))
        for one, other in _matched(a.get("sections", []), b.get("sections", []), lambda s: s["name"], renamed=True):
            if one and other:
                yield from self.section(one, other)
            else:
                shown = [self.size(section) if section else NOTHING for section in (one, other)]
                yield Change("part", f"section {(one or other)['name']}", *shown)

    def size(self, section: Data) -> str:
        """Show diameter and length of a section."""
        sizes = [self.length(section[key]["mm"]) for key in ("diameter_a", "diameter_b") if key in section]
        thick = " to ".join(dict.fromkeys(sizes))
        return f"{section.get('role', '')}, {thick}, {self.length(section.get('length', {}).get('mm'))} long"

    def section(self, a: Data, b: Data) -> Iterator[Change]:
        name = a["name"]
        if name != b["name"]:
            yield Change("part", "name of a section", name, b["name"])
        for key, words in SECTION_TEXTS.items():
            if a.get(key) != b.get(key):
                yield Change("part", f"{name}: {words}", _text(a.get(key)), _text(b.get(key)))
        for words, of, show in (
            ("diameter", _diameters, lambda pair: " to ".join(dict.fromkeys(map(self.length, pair)))),
            ("length", lambda s: s.get("length", {}).get("mm"), self.length),
            ("limits", lambda s: s.get("limits_on_diameter_mm"), self.limits),
            ("finish", lambda s: ", ".join(s.get("finish", {}).get("route", ())), str),
            ("left on the diameter", lambda s: s.get("finish", {}).get("on_diameter_mm"), self.length),
            ("left on the face", lambda s: s.get("finish", {}).get("on_face_mm"), self.length),
        ):
            one, other = of(a), of(b)
            if _differ_in(one, other):
                yield Change("part", f"{name}: {words}", show(one), show(other))

    def limits(self, pair: Any) -> str:
        """Show limits as offsets, "-0.01 / -0.03 mm" from upper to lower."""
        if pair is None:
            return "none"
        return f"{self.length(pair[1])} / {self.length(pair[0])}"

    # Settings ---------------------------------------------------------------------------------------------

    def setting(self, number: int, a: Data | None, b: Data | None) -> Iterator[Change]:
        topic = f"setting {number}"
        if a is None or b is None:
            yield Change(topic, "planned", *("no" if s is None else "yes" for s in (a, b)))
            return
        yield from self.texts(topic, a, b, ("end", "method", "tail_centre", "centre_hole", "carrier", "chuck", "grip"))
        yield from self.lengths(topic, a, b, (("datum_from_a_mm", "zero of Z, from the A end"),
                                              ("limit_z_mm", "furthest Z to the headstock")))  # fmt: skip
        yield from self.tools(topic, a.get("tools"), b.get("tools"))
        yield from self.judged(topic, a.get("checked", {}), b.get("checked", {}))
        yield from self.texts(topic, a.get("times", {}), b.get("times", {}), ("belt_changes", "tool_changes"))
        yield from self.passes(f"{topic}, passes", _passes_of(a), _passes_of(b))
        yield from self.metal(topic, number)

    def passes(self, topic: str, a: Sequence[Data], b: Sequence[Data]) -> Iterator[Change]:
        if len(a) != len(b):
            yield Change(topic, "how many", f"{len(a)}", f"{len(b)}")
        for one, other in _matched(a, b, lambda p: (p["kind"], tuple(p["sections"]), p["tool"])):
            if one and other:
                yield from self.one_pass(topic, one, other)
            else:
                yield Change(topic, _name_of(one or other), *(self.cut(p) if p else NOTHING for p in (one, other)))

    def cut(self, cut: Data) -> str:
        """Show a pass that stands on one side alone."""
        feed, speed = f"{cut['feed_mm_rev']:.4g} mm/rev", f"{cut['rpm']:.5g} rpm"
        return f"to {self.length(_leaves(cut))}, {self.length(cut['depth_mm'])} deep, {feed}, {speed}"

    def one_pass(self, topic: str, a: Data, b: Data) -> Iterator[Change]:
        changed = []
        a, b = ({**cut, "leaves_mm": _leaves(cut)} for cut in (a, b))
        for key, words, show in (
            ("leaves_mm", "diameter", self.length),
            ("depth_mm", "depth", self.length),
            ("feed_mm_rev", "feed", lambda v: f"{v:.4g} mm/rev"),
            ("rpm", "speed", lambda v: f"{v:.5g} rpm"),
        ):
            if _differ(a.get(key), b.get(key)):
                changed.append((words, show(a[key]), show(b[key])))
        one, other = (cut["diameter_mm"] - cut["leaves_mm"] for cut in (a, b))
        if _differ(one, other):
            changed.append(("X said for", self.length(a["diameter_mm"]), self.length(b["diameter_mm"])))
        if a.get("speed") != b.get("speed"):
            changed.append(("belt", _text(a.get("speed")), _text(b.get("speed"))))
        changed += self.stops(a, b)
        numbers = f"{a['number']}" if a["number"] == b["number"] else f"{a['number']} {ARROW} {b['number']}"
        name = f"pass {numbers}, {a['kind']} {', '.join(a['sections'])}"
        yield from (Change(topic, f"{name}: {words}", one, other) for words, one, other in changed)

    def stops(self, a: Data, b: Data) -> Iterator[tuple[str, str, str]]:
        """Tell what is measured after a pass, and what it should read."""
        ones, others = ({m["what"]: m["expected_mm"] for m in cut.get("measure", ())} for cut in (a, b))
        for what in [*ones, *(w for w in others if w not in ones)]:
            shown = [self.length(stops[what]) if what in stops else "not measured" for stops in (ones, others)]
            if shown[0] != shown[1]:
                yield f"stop, {what}", shown[0], shown[1]

    def tools(self, topic: str, a: Any, b: Any) -> Iterator[Change]:
        """Compare the feeds and speeds of a program."""
        ones, others = ({t["tool"]: t for t in tools or ()} for tools in (a, b))
        for tool in sorted({*ones, *others}):
            for key in ("feeds", "speeds"):
                one, other = (", ".join(t.get(tool, {}).get(key, ())) for t in (ones, others))
                if one != other:
                    yield Change(
                        topic, f"tool {tool}: {key} in metal and near it", one or "not used", other or "not used"
                    )

    def judged(self, topic: str, a: Data, b: Data) -> Iterator[Change]:
        nearest = [self.nearest(s.get("closest")) for s in (a, b)]
        if nearest[0] != nearest[1]:
            yield Change(topic, "closest approach", *nearest)
        for key, words, least, show in (
            ("gouge_mm", "cut too deep", 1e-4, say_small),
            ("uncut_mm", "uncut", 1e-4, say_small),
            ("cutting_s", "time cutting", SECONDS, _time),
            ("air_s", "time in air", SECONDS, _time),
        ):
            one, other = (float(s.get(key) or 0.0) for s in (a, b))
            if abs(one - other) > least:
                yield Change(topic, words, show(one), show(other))
        found = [[f["what"] for f in s.get("findings", ())] for s in (a, b)]
        yield from _both(f"{topic}, findings", *found)

    def nearest(self, near: Data | None) -> str:
        """Say a closest approach in words."""
        if near is None:
            return "nothing moves"
        words = f"{self.length(near['distance_mm'])}, tool {near['tool']} {near['body']} to the {near['obstacle']}"
        return f"{words}; {near['not_checked']}" if near.get("not_checked") else words

    def metal(self, topic: str, number: int) -> Iterator[Change]:
        outlines = [dict(side.outlines).get(number) for side in (self.a, self.b)]
        if outlines[0] is None or outlines[1] is None:
            return
        for zone in find_zones(outlines[0], outlines[1]):
            yield Change(f"{topic}, metal", *zone_words(zone, section_at(self.a.record, zone), self.length))

    # The rest -------------------------------------------------------------------------------------------------

    def texts(self, topic: str, a: Data, b: Data, keys: Sequence[str]) -> Iterator[Change]:
        for key in keys:
            if a.get(key) != b.get(key):
                yield Change(topic, key.replace("_", " "), _text(a.get(key)), _text(b.get(key)))

    def lengths(self, topic: str, a: Data, b: Data, keys: Sequence[tuple[str, str]]) -> Iterator[Change]:
        for key, words in keys:
            if _differ(a.get(key), b.get(key)):
                yield Change(topic, words, self.length(a.get(key)), self.length(b.get(key)))

    def tree(self, topic: str, a: Any, b: Any, trail: str = "") -> Iterator[Change]:
        """Return every leaf that differs, under the words of its keys."""
        ones, others = _inner(a), _inner(b)
        if ones is not None and others is not None and type(a) is type(b):
            for name in dict.fromkeys([*ones, *others]):
                yield from self.tree(topic, ones.get(name), others.get(name), f"{trail} {name}".strip())
        elif _differ_in(a, b):
            shown = [self.leaf(trail, v) for v in _apart(a, b)]
            if shown[0] != shown[1]:
                yield Change(topic, _plain(trail) or "anything of it", *shown)

    def leaf(self, trail: str, value: Any) -> str:
        """Show a value at the end of a trail, on one line."""
        if isinstance(value, dict):
            return "there"
        if isinstance(value, list):
            return ", ".join(self.leaf(trail, v) for v in value) or "none"
        shows: dict[str, Callable[[float], str]] = {"mm": self.length, "s": _time, "n": _force}
        unit = trail.rpartition(" ")[2]
        return shows[unit](value) if isinstance(value, float) and unit in shows else _text(value)

    def lines(self) -> Iterator[Change]:
        """Say how many lines of two programs differ, and which is the first."""
        one, other = (side.text.splitlines() for side in (self.a, self.b))
        blocks = [op for op in SequenceMatcher(None, one, other, autojunk=False).get_opcodes() if op[0] != "equal"]
        if not blocks:
            return
        _, i1, i2, j1, j2 = blocks[0]
        counts = (sum(op[2] - op[1] for op in blocks), sum(op[4] - op[3] for op in blocks))
        yield Change("text", "lines that differ", *(f"{count}" for count in counts))
        first = [
            f"{i1 + 1}: {one[i1].strip()}" if i2 > i1 else "no line",
            f"{j1 + 1}: {other[j1].strip()}" if j2 > j1 else "no line",
        ]
        yield Change("text", "the first of them", *first)


def show_size(value: float, unit: str) -> str:
    """Show a length to a tenth of a micrometre, or the like in inches."""
    return show_length(value, unit, 5 if unit == "in" else 4, trim=True)


def section_at(record: Data, zone: Zone) -> str:
    """Return the section that a zone lies on, the shoulder that has moved, or what is beyond the part's ends."""
    every = record.get("part", {}).get("sections", [])
    sections = [s for s in every if None not in s.get("from_a_mm", [None])]
    if zone.faces is not None and (found := _shoulder_at(sections, zone.faces[0])):
        return found
    beyond = "beyond the B end" if len(sections) == len(every) else f"past {sections[-1]['name']}" if sections else ""
    return _section_over(sections, (zone.start + zone.end) / 2, beyond)


def _section_over(sections: Sequence[Data], z: float, beyond: str) -> str:
    """Name the section over a place; beyond: what there is past the last."""
    if sections and z < sections[0]["from_a_mm"][0]:
        return "beyond the A end"
    return next((str(s["name"]) for s in sections if s["from_a_mm"][0] <= z <= s["from_a_mm"][1]), beyond)


def _shoulder_at(sections: Sequence[Data], z: float) -> str:
    """Name the shoulder that is near a place; "" for none."""
    for one, other in pairwise(sections):
        if abs(one["from_a_mm"][1] - z) < SHOULDER:
            return f"shoulder between {one['name']} and {other['name']}"
    return ""


def zone_words(zone: Zone, section: str, show: Callable[[float], str]) -> tuple[str, str, str]:
    """Say a zone in words: where, and the diameter, or the place of the face, on either side."""
    if zone.faces is not None:
        one, other = (show(z) for z in zone.faces)
        return f"{section}: face from the A end", one, other
    one, other = (show(2 * r) for r in zone.radii)
    return f"{section}, {show(zone.start)} to {show(zone.end)} from the A end: diameter", one, other


def _passes_of(setting: Data) -> list[Data]:
    return [cut for operation in setting.get("operations", ()) for cut in operation["passes"]]


def _name_of(cut: Data) -> str:
    return f"pass {cut['number']}, {cut['kind']} {', '.join(cut['sections'])}, tool {cut['tool']}"


def _warnings_of(record: Data) -> list[str]:
    return [w["what"] for of in (record, *record["settings"]) for w in of.get("warnings", ())]


def _both(topic: str, a: Sequence[str], b: Sequence[str]) -> Iterator[Change]:
    """Return the sentences that stand on one side alone."""
    one = topic.rpartition(", ")[2][:-1]
    yield from (Change(topic, one, what, NOTHING) for what in dict.fromkeys(a) if what not in b)
    yield from (Change(topic, one, NOTHING, what) for what in dict.fromkeys(b) if what not in a)


def _leaves(cut: Data) -> Any:
    """Return the diameter that a pass leaves, mm; a plan of an older version says only the one that X is said for."""
    return cut.get("leaves_mm", cut["diameter_mm"])


def _diameters(section: Data) -> list[Any]:
    return [section.get(key, {}).get("mm") for key in ("diameter_a", "diameter_b")]


def _differ(a: Any, b: Any) -> bool:
    if isinstance(a, int | float) and isinstance(b, int | float):
        return abs(a - b) > AS_RECORDED
    return bool(a != b)


def _differ_in(a: Any, b: Any) -> bool:
    if isinstance(a, list) and isinstance(b, list):
        return len(a) != len(b) or any(_differ_in(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, dict) and isinstance(b, dict):
        return set(a) != set(b) or any(_differ_in(a[k], b[k]) for k in a)
    return _differ(a, b)


def _inner(value: Any) -> Data | None:
    """Return what a value holds by its words: a table's keys, but for those of no account, or a list's named rows."""
    if isinstance(value, dict):
        return {key.replace("_", " "): v for key, v in value.items() if key not in OF_NO_ACCOUNT}
    if isinstance(value, list) and all(isinstance(row, dict) and "name" in row for row in value):
        return {row["name"]: row for row in value}
    return None


def _apart(a: Any, b: Any) -> tuple[Any, Any]:
    """Return two lists of sentences without those that both have; anything else as it is."""
    if all(isinstance(v, list) and all(isinstance(t, str) for t in v) for v in (a, b)):
        return [t for t in a if t not in b], [t for t in b if t not in a]
    return a, b


def _plain(trail: str) -> str:
    """Return the words of a trail without its unit, the list it is in, and any word that it says twice running."""
    words = re.sub(r" (mm|s|n)$", "", trail).removeprefix("works ")
    return re.sub(r"\b(\w+)( \1\b)+", r"\1", words)


def _matched(
    a: Sequence[Data], b: Sequence[Data], key: Callable[[Data], Any], *, renamed: bool = False
) -> Iterator[tuple[Data, Data]]:
    """Yield the rows of two lists side by side, in order; {} stands for one that the other side does not have.

    Args:
        key: gives what rows that belong together have in common.
        renamed: whether as many others in the same place belong together too.
    """
    matcher = SequenceMatcher(None, [key(row) for row in a], [key(row) for row in b], autojunk=False)
    for tag, i1, i2, j1, j2 in matcher.get_opcodes():
        if tag == "equal" or (renamed and tag == "replace" and i2 - i1 == j2 - j1):
            yield from zip(a[i1:i2], b[j1:j2], strict=True)
        else:
            yield from ((row, {}) for row in a[i1:i2])
            yield from (({}, row) for row in b[j1:j2])


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "none" if value in (None, "") else str(value)


def _force(newtons: float) -> str:
    return f"{show_number(newtons, 1)} N"


def _time(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"
