"""The fix of a refusal carried out, where it says a size or a name: the refusal must then be gone."""

from __future__ import annotations

import re
from collections.abc import Callable

from tests.search.spec import INCH, Part

LENGTH = r"([0-9.]+) (mm|in)"
Fix = Callable[[Part, "re.Match[str]"], bool]
"""A function that changes a part as a fix says; it returns False where that cannot be done by rote."""


def _mm(value: str, unit: str) -> float:
    return float(value) * (INCH if unit == "in" else 1.0)


def _resize(part: Part, found: re.Match[str]) -> bool:
    """Make sections thicker or thinner, or those ends of tapers."""
    size = _mm(found["size"], found["unit"])
    more = 0.01 if found.re.pattern.endswith("or more") else -0.01
    while any(abs(size - d) < 1e-6 for s in part.sections for d in (s.da, s.db)):
        size += more  # one size with another would be a level with it
    for end, name in re.findall(r'(?:the ([AB]) end of )?"(\w+)"', found["ends"]):
        s = part.sections[part.index(name)]
        s.da, s.db = (s.da if end == "B" else size), (s.db if end == "A" else size)
    return True


def _edge(part: Part, found: re.Match[str]) -> bool:
    part.sections[part.index(found["name"])].edges[found["side"]].kind = "sharp"
    part.sections[part.index(found["name"])].edges[found["side"]].size = 0.0
    return True


def _corner(part: Part, found: re.Match[str]) -> bool:
    corner = part.sections[part.index(found["name"])].corners[found["side"].lower()]
    corner.radius = _mm(found["size"], found["unit"])
    return corner.radius >= 0.005


def _depth(part: Part, found: re.Match[str]) -> bool:
    part.sections[part.index(found["name"])].corners[found["side"].lower()].depth = _mm(found["size"], found["unit"])
    return True


def _stock_length(part: Part, found: re.Match[str]) -> bool:
    part.stock_length = _mm(found["size"], found["unit"])
    return True


def _stock_diameter(part: Part, found: re.Match[str]) -> bool:
    part.stock_diameter = _mm(found["size"], found["unit"])
    return not any(s.route == "as stock" for s in part.sections)


def _centre(part: Part, found: re.Match[str]) -> bool:
    part.centres[found["end"].lower()] = found["to"]
    return part.method != "chuck"


def _hole(part: Part, found: re.Match[str]) -> bool:
    part.holes[found["end"].lower()] = found["to"]
    return part.method != "chuck"


def _extra(part: Part, found: re.Match[str]) -> bool:
    end, more = found["end"].lower(), _mm(found["size"], found["unit"])
    part.stock_length += more - part.extra[end]
    part.extra[end] = more
    return part.method != "chuck"


def _length(part: Part, found: re.Match[str]) -> bool:
    part.sections[part.index(found["name"])].length = _mm(found["size"], found["unit"])
    return True


def _edge_smaller(part: Part, found: re.Match[str]) -> bool:
    s = part.sections[part.index(found["name"])]
    side = "a" if found["end"] == "A" else "b"
    s.edges[side].size = _mm(found["size"], found["unit"])
    return True


def _chamfer(part: Part, found: re.Match[str]) -> bool:
    """Change an edge that leaves the nose no room, at either end."""
    at = part.index(found["name"])
    sides = [side for side in "ab" if part.has_edge(at, side) and part.sections[at].edges[side].kind != "sharp"]
    for side in sides:
        edge = part.sections[at].edges[side]
        edge.size = min(edge.size, _mm(found["size"], found["unit"]))
        if edge.size < 0.005:
            edge.kind, edge.size = "sharp", 0.0
    return bool(sides)


def _fillet(part: Part, found: re.Match[str]) -> bool:
    """Make the corners of a section that are smaller than the nose as large as the nose."""
    at, nose = part.index(found["name"]), _mm(found["size"], found["unit"])
    small = [c for side, c in part.sections[at].corners.items() if part.has_corner(at, side) and c.radius < nose]
    for corner in small:
        corner.radius = nose + 0.0001  # in inches the file has six places
    return bool(small)


def _undercut(part: Part, found: re.Match[str]) -> bool:
    """Make the undercuts of a section as wide and deep as is said."""
    for corner in part.sections[part.index(found["name"])].corners.values():
        if corner.kind == "undercut":
            corner.width = max(corner.width, _mm(found["wide"], found["unit"]) if found["wide"] else 0.0)
            corner.depth = max(corner.depth, _mm(found["deep"], found["unit_deep"]) if found["deep"] else 0.0)
    return part.sections[part.index(found["name"])].role != "undercut"


def _limits(part: Part, found: re.Match[str]) -> bool:
    """Move limits as far apart as is said, with their middle kept."""
    s = part.sections[part.index(found["name"])]
    limits = s.limits if found["what"] == "diameter" else s.length_limits
    if limits is None:  # another fix has taken them away
        return False
    half, middle = _mm(found["size"], found["unit"]) / 2, sum(limits) / 2
    wider = (middle - half, middle + half)
    if found["what"] == "diameter":
        s.limits = wider
    else:
        s.length_limits = wider
    return True


def _stick_out(part: Part, found: re.Match[str]) -> bool:
    more = _mm(found["size"], found["unit"]) - part.stick_out
    part.stick_out += more
    part.stock_length += more
    return part.method == "chuck"


def _less_extra(part: Part, found: re.Match[str]) -> bool:
    part.extra[found["end"].lower()] = _mm(found["size"], found["unit"])
    return part.method != "chuck"


def _thinner(part: Part, found: re.Match[str]) -> bool:
    """Make a section thinner than is said by an ordinary step."""
    s = part.sections[part.index(found["name"])]
    s.da = s.db = _mm(found["size"], found["unit"]) - 0.37
    return s.da > 0.5 and not s.as_stock


def _as_thick(part: Part, found: re.Match[str]) -> bool:
    """Make both ends of a section at least as thick as is said."""
    s, least = part.sections[part.index(found["name"])], _mm(found["size"], found["unit"])
    s.da, s.db = max(s.da, least), max(s.db, least)
    return s.role != "pivot" and not s.as_stock


def _thicker(part: Part, found: re.Match[str]) -> bool:
    """Make an end of a section thicker by as much as is said."""
    s, more = part.sections[part.index(found["name"])], _mm(found["size"], found["unit"])
    s.da += more if s.da == s.db or found["end"] == "A" else 0.0
    s.db += more if s.da == s.db or found["end"] == "B" else 0.0
    if found["beside"]:
        beside = part.sections[part.index(found["beside"])]
        beside.da, beside.db = beside.da + more, beside.db + more
    return not s.as_stock


def _overlap(part: Part, found: re.Match[str]) -> bool:
    """Give sections limits that overlap: none, and so the general ones; as much is left on each."""
    for name in re.findall(r'"(\w+)"', found["names"]):
        s = part.sections[part.index(name)]
        s.limits, s.on_diameter = None, 0.0
    return True


def _deeper(part: Part, found: re.Match[str]) -> bool:
    corner = part.sections[part.index(found["name"])].corners[found["side"].lower()]
    corner.depth = _mm(found["size"], found["unit"]) + 0.002
    return True


def _revolving(part: Part, _: re.Match[str]) -> bool:
    part.centres = dict.fromkeys("ab", "revolving centre")
    return part.method != "chuck"


def _first(part: Part, found: re.Match[str]) -> bool:
    part.first = found["end"]
    return part.method != "chuck"


def _turn_round(part: Part, found: re.Match[str]) -> bool:
    s = part.sections[part.index(found["name"])]
    s.da, s.db = s.db, s.da
    return True


def _role(part: Part, found: re.Match[str]) -> bool:
    part.sections[part.index(found["name"])].role = "plain"
    return True


def _turn_all(part: Part, _: re.Match[str]) -> bool:
    for s in part.sections:
        s.route = "turn"
    return True


def _extra_to_grip(part: Part, found: re.Match[str]) -> bool:
    part.extra[found["end"].lower()] += 20.0
    part.stock_length += 20.0
    return part.method != "chuck"


def _more_extra(part: Part, found: re.Match[str]) -> bool:
    more = _mm(found["size"], found["unit"])
    part.extra[found["end"].lower()] += more
    part.stock_length += more
    return part.method != "chuck"


def _groove(part: Part, found: re.Match[str]) -> bool:
    """Make a groove as wide and deep as is said."""
    s = part.sections[part.index(found["groove"])]
    s.length = max(s.length, _mm(found["wide"], found["unit"]) if found["wide"] else 0.0)
    if found["round"]:
        for corner in s.corners.values():
            corner.radius = max(corner.radius, _mm(found["round"], found["unit_round"]))
    if found["deep"]:
        s.da = s.db = s.da - 2 * _mm(found["deep"], found["unit_deep"])
    return s.da > 0.3


SIZE = r"(?P<size>[0-9.]+) (?P<unit>mm|in)"
ROOM = r"no room to start on .*the (?P<end>[AB]) end, tool.*"
ONE = r'(?:the [AB] end of )?"\w+"'
END = rf"(?P<ends>{ONE}(?: and {ONE})*) "
FIXES: tuple[tuple[str, str, Fix], ...] = (
    ("a thicker section", rf"the (?:shoulder between|taper) .*make {END}{SIZE} or more", _resize),
    ("a thinner section", rf"the (?:shoulder between|taper) .*(?:make|or) {END}{SIZE} or less", _resize),
    ("a sharp edge", r'write edge_(?P<side>[ab]) = "sharp".* in section "(?P<name>\w+)"', _edge),
    ("a smaller corner", r'the fillet at the (?P<side>[AB]) end of section "(?P<name>\w+)" is larger than the '
     rf"shoulder.*allowed +at most {SIZE}", _corner),
    ("a shallower undercut", r'the undercut at the (?P<side>[AB]) end of section "(?P<name>\w+)" is too deep.*'
     rf"allowed +at most {SIZE}", _depth),
    ("a longer bar", rf"the stock is too short.*allowed +at least {SIZE}", _stock_length),
    ("a thicker bar", rf"the stock is too thin.*allowed +at least {SIZE}", _stock_diameter),
    ("a longer section", r'"(?P<name>\w+)" is too short (?:for what|for its edge|to be meas).*'
     rf"allowed +at least {SIZE} of length", _length),
    ("another centre", rf'{ROOM}fix +(?:.*; or )?the "(?P<to>[a-z ]+ centre)"', _centre),
    ("a smaller centre hole", rf"{ROOM}a smaller centre hole, (?P<to>A [0-9./]+)", _hole),
    ("extra length", rf"{ROOM}fix +(?:.*; or )?{SIZE} of extra length", _extra),
    ("a smaller edge at the end", r'the end face of "(?P<name>\w+)" is too small .* in the (?P<end>[AB]) end.*'
     rf"make that edge {SIZE} at most", _edge_smaller),
    ("less extra length", r'the end face of ".*" is too small .* in the (?P<end>[AB]) end.*'
     rf"leave {SIZE} of extra length there at most", _less_extra),
    ("a larger fillet", r'no tool has a nose small enough for the corner of section "(?P<name>\w+)".*nose radii: '
     rf'tool 1 "[^"]*" {SIZE}', _fillet),
    ("a groove as large as the blade", r'no tool can cut the undercut of .*given +groove "(?P<groove>\w+)".*fix +'
     r"(?:make it (?P<wide>[0-9.]+) (?P<unit>mm|in) wide or more)?(?: and )?"
     r"(?:make it (?P<deep>[0-9.]+) (?P<unit_deep>mm|in) deeper a side)?(?: and )?"
     r"(?:let its corners be (?P<round>[0-9.]+) (?P<unit_round>mm|in) round or more)?, or", _groove),
    ("a groove for the nose", r'has no room in the groove "(?P<groove>\w+)".*fix +'
     r"(?:make it (?P<deep>[0-9.]+) (?P<unit_deep>mm|in) deeper a side)?(?: and )?"
     r"(?:make it (?P<wide>[0-9.]+) (?P<unit>mm|in) wide or more)?(?P<round>), or", _groove),
    ("more standing out", rf"is in the way of the last cut.*make stick_out {SIZE} or more", _stick_out),
    ("more standing out", rf"too near the (?:chuck|collet).*make stick_out {SIZE} or more", _stick_out),
    ("more standing out", rf"is partly inside the chuck.*allowed +at least {SIZE} from", _stick_out),
    ("a thinner pivot", rf'pivot "(?P<name>\w+)" is (?:thicker than|as thick as) the.*less than {SIZE}', _thinner),
    ("sizes in order", rf'no turning tool reaches section "(?P<name>\w+)".*allowed +at least {SIZE}', _as_thick),
    ("limits that overlap", r"(?P<names>.*) have one diameter, but (?:no size is within|their limits)", _overlap),
    ("a deeper undercut", r'the undercut at the (?P<side>[AB]) end of section "(?P<name>\w+)" is shallower.*'
     rf"allowed +more than {SIZE} deep", _deeper),
    ("another hole", r'is too thin for the centre hole in the (?P<end>[AB]) end.*'
     r'centre_hole = "(?P<to>A [0-9./]+)"', _hole),
    ("a thicker end", r'is too thin for the centre hole in the (?P<end>[AB]) end.*make that end of "(?P<name>\w+)"'
     rf'(?:, and "(?P<beside>\w+)" beside it,)? {SIZE} thicker', _thicker),
    ("a revolving centre", "the slowest spindle speed is too fast.*by a revolving centre", _revolving),
    ("the other end first", r"\n +fix .*turn the (?P<end>[AB]) end first", _first),
    ("a taper turned round", r'section "(?P<name>\w+)" grows thinner.*turn the taper round', _turn_round),
    ("another role", r'(?:pivot|undercut) "(?P<name>\w+)" (?:has no shoulder|is not a groove).*another role', _role),
    ("metal to come off", r"every section is left as stock.*finish = ", _turn_all),
    ("more extra length", rf"(?:in the way of the last cut|no carrier fits).*leave {SIZE} more extra length at the "
     r"(?P<end>[AB]) end", _more_extra),
    ("extra length to grip", r"nothing that a carrier may grip.*extra length at the (?P<end>[AB]) end", _extra_to_grip),
    ("a larger undercut", r'no tool can cut the undercut of section "(?P<name>\w+)"\n +given +undercut.*fix +'
     r"(?:make it (?P<wide>[0-9.]+) (?P<unit>mm|in) wide or more)?(?: and )?"
     r"(?:make it (?P<deep>[0-9.]+) (?P<unit_deep>mm|in) deep or more)?, or", _undercut),
    ("wider limits", r'the limits of the (?P<what>diameter|length) of "(?P<name>\w+)" are finer.*allowed +'
     rf"at least {SIZE}", _limits),
    ("a smaller edge on a low step or a thin end", r'the (?:chamfer|radius) on "(?P<name>\w+)" leaves (?:the nose no '
     rf"room|too little of its end face).*a (?:chamfer|radius) up to {SIZE}", _chamfer),
)  # fmt: skip
"""Each fix: its name, the pattern by which a problem says it, and how it is carried out."""


def ways(part: Part, problem: str) -> list[tuple[str, Part]]:
    """Return every change that a problem names and that can be made by rote: what it is, and the changed part."""
    found = []
    for name, pattern, apply in FIXES:
        said = re.search(pattern, problem, re.S)
        if said is None:
            continue
        changed = part.copy()
        if apply(changed, said):
            if changed.span < 0 and name != "a longer bar" and changed.stock_length < part.stock_length + 1e-9:
                changed.stock_length += max(changed.length - part.length, 0.0)
            found.append((name, changed))
    return found
