"""Short lists as they are typed, "front pivot, pivot, 6 mm, 6 mm, tolerance h7", become the keys of a table."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from cam.begin.draft import Keys
from cam.ground.problem import Problem, Where
from cam.ground.source.table import closest, did_you_mean
from cam.ground.trade_words import british
from cam.ground.units import LENGTH, QuantityError, in_unit, parse
from cam.part.features import ROLES

SECTION_KEYS = (
    "tolerance", "length_tolerance", "thread_by", "bearing", "edge_a", "edge_b", "corner_a", "corner_b", "finish",
    "on_diameter", "on_face",
)  # fmt: skip
"""The keys of a section that may follow its name, role, diameter and length."""

SQUARE_KEYS = ("across", "at", "taper", "corners", "tolerance", "allowance", "flats_end", "grip", "grip_length")
"""The keys that a square needs."""
SQUARE_MORE = ("across_at_shoulder", "across_at_tip", "flats", "broken", "key")
"""The keys that it may also have; sizes at shoulder and tip replace across, at and taper."""
HOLE_KEYS = ("name", "section", "face", "distance", "angle", "diameter", "depth", "flat_depth", "grip", "grip_length")
HOLE_MORE = ("shoulder", "thread", "through", "lead", "chips")
"""The same for a cross hole: a thread replaces its diameter, and through replaces a depth."""

HINTS = {
    "across": ("size across flats of the square", "4.2 mm"),
    "at": ("where that size is, from the shoulder", "10 mm"),
    "taper": ("its taper", "0 deg per side, 0.3 deg included, 1:200 included"),
    "across_at_shoulder": ("size across flats at the shoulder", "4.3 mm"),
    "across_at_tip": ("size across flats at the tip", "4.1 mm"),
    "corners": ("its corners", "whole, broken, or round where the flats leave some of the blank"),
    "broken": ("how much of each corner is taken off", "0.2 mm"),
    "tolerance": ("limits of the size across flats as milled", "±0.01 mm"),
    "allowance": ("what is left on it for file and stone", "0.02 mm; 0 mm for nothing"),
    "flats_end": ("where the flats end, from the shoulder", "0.1 mm"),
    "grip": ("the section that the mill's collet grips", "body"),
    "grip_length": ("how much of it, from its end away from the tip", "20 mm"),
    "name": ("name of the cross hole", "hook hole"),
    "section": ("the section that it is in", "body"),
    "face": ("the face of that section that its distance counts from", "A or B"),
    "distance": ("that distance", "8 mm"),
    "angle": ("where round the part, from the middle of flat 1", "0 deg, or any"),
    "diameter": ("its diameter, or its thread", "2.5 mm, No. 40; thread M3"),
    "depth": ("its depth, of full thread where it has one, or through", "5 mm; through yes"),
    "lead": ("lead of the last tap", "taper, second, bottoming"),
    "chips": ("room left for chips below the tap", "0.5 mm"),
    "flat_depth": ("depth of a flat for the drill to start on", "0.3 mm; 0 mm for none"),
    "bearing": ("the hole that it must pass through", "6.02 mm"),
}
"""Key -> what it is, and how it may be said."""

WHOLE_NUMBERS = ("flats",)
THREAD = "thread "
REST = "rest"
"""The length of the one section that takes what the others leave of the whole."""

MEASURED = "measured"
"""The length of a section that comes from what is measured off the clock or instrument."""

_BARE = re.compile(r"[+-]?(?:[0-9]+(?:[ -]+[0-9]+/[0-9]+|/[0-9]+)?|[0-9]*\.[0-9]+)")
_BARE_LIMITS = re.compile(r"[+±\-\u2212][0-9.]+(?: */ *[+\-\u2212][0-9.]+)?")
_BARE_LENGTH = re.compile(rf"(?<![\w./-])({_BARE.pattern})(?=\s*$|\s+(?:wide|deep)\b)")


def meant(answer: str, options: Sequence[str]) -> str:
    """Return the one option that an answer names, by its beginning, or with words more or less; otherwise the answer.

    "r" and "right-hand" are right, "by hand" is hand, "centers" is between centres.
    """
    told = british(answer)
    asked = re.findall(r"[a-z]+", " ".join(british(word) for word in told.lower().split()))
    tries: tuple[Callable[[str], bool], ...] = (
        lambda option: option in (answer.lower(), told.lower()),
        lambda option: bool(told) and option.startswith(told.lower()),
        lambda option: bool(asked) and set(asked) <= set(option.split()),
        lambda option: set(option.split()) <= set(asked),
    )
    for fits in tries:
        found = [option for option in options if fits(option.lower())]
        if len(found) == 1:
            return found[0]
    return told


def with_unit(text: str, unit: str) -> str:
    """Give a bare number, or bare limits, the unit that was said for all; return any other text as it is."""
    text = text.strip()
    return f"{text} {unit}" if unit and (_BARE.fullmatch(text) or _BARE_LIMITS.fullmatch(text)) else text


def with_units(text: str, unit: str) -> str:
    """Give every bare length of an edge or a corner that unit: "chamfer 0.2", "undercut 1 wide 0.2 deep"."""
    return _BARE_LENGTH.sub(rf"\1 {unit}", text.strip()) if unit else text.strip()


def read_section(text: str, unit: str, *, drawn: bool) -> tuple[Keys, list[Problem]]:
    """Read one section: name, role, diameter, length, then "key value" pairs.

    Args:
        text: "front pivot, pivot, 6 mm, 6 mm, edge_a radius 0.3 mm"; a taper's diameter is "6 mm to 5 mm", a screw's is
            "thread M3"; a length may be "rest" or "measured"; a finish's steps are joined: "finish turn then stone".
        unit: the unit of bare numbers; "" for none.
        drawn: whether diameters, length, edges and fillets come from a drawing: then only name and role stand here.
    """
    parts = [part.strip() for part in text.split(",")]
    least = 2 if drawn else 4
    if len(parts) < least or not all(parts):
        allowed = "NAME, ROLE" if drawn else "NAME, ROLE, DIAMETER, LENGTH"
        example = "front pivot, pivot" if drawn else in_unit("front pivot, pivot, 6 mm, 6 mm", unit)
        return {}, [
            _problem("--section", "this section is not said in full", text, f"{allowed}, for example {example}")
        ]
    name, role = parts[:2]
    problems: list[Problem] = []
    if role not in ROLES:
        fix = did_you_mean(closest(role, ROLES))
        problems.append(_problem("--section", f'there is no role "{role}"', text, ", ".join(ROLES), fix))
    keys: Keys = {"name": name, "role": role}
    if not drawn:
        keys |= _read_sizes(parts[2], parts[3], unit, problems, text)
    keys |= _read_pairs("--section", parts[least:], SECTION_KEYS, unit, problems, text)
    if "finish" in keys:
        keys["finish"] = join_steps(keys["finish"])
    return keys, _with_a_point(problems, text)


def _with_a_point(problems: list[Problem], text: str) -> list[Problem]:
    """Return the problems of a section, or the comma from which they come."""
    comma = re.search(r"[0-9]+,[0-9]+", text) if problems else None
    if comma is None:
        return problems
    what, point = "decimals are written with a point, not a comma", comma[0].replace(",", ".")
    return [_problem("--section", what, text, point, did_you_mean(point))]


def join_steps(text: str) -> str:
    """Return the steps of a finish as the part file has them: "turn then stone" becomes "turn, stone"."""
    return ", ".join(step.strip() for step in re.split(r",|\bthen\b", text) if step.strip())


def _read_sizes(size: str, length: str, unit: str, problems: list[Problem], text: str) -> Keys:
    if size.lower().startswith(THREAD):  # its diameter comes from that
        return {"thread": size[len(THREAD) :].strip()} | _read_length(length, unit, problems, text)
    ends = [with_unit(end, unit) for end in re.split(r"\bto\b", size)]
    if len(ends) > 2:
        problems.append(_problem("--section", "a taper has two diameters", text, in_unit("6 mm to 5 mm", unit)))
    keys: Keys = {"diameter": ends[0]} if len(ends) == 1 else {"diameter_a": ends[0], "diameter_b": ends[-1]}
    for key, value in keys.items():
        problems += check_length("--section", f"{key} of {text.partition(',')[0]}", value, unit)
    return keys | _read_length(length, unit, problems, text)


def _read_length(length: str, unit: str, problems: list[Problem], text: str) -> Keys:
    if length.lower() == REST:
        return {}
    if length.lower() == MEASURED:
        return {"length": None}
    problems += check_length("--section", f"length of {text.partition(',')[0]}", with_unit(length, unit), unit)
    return {"length": with_unit(length, unit)}


def check_length(flag: str, what: str, text: str, unit: str, *, over: bool = True) -> list[Problem]:
    """Report a text that is no length; nothing for a good one. unit: in which examples are said."""
    try:
        parse(text, LENGTH, least=0.0, over=over)
    except QuantityError as error:
        allowed, fix = error.said_in(unit)
        return [Problem(where=Where(path=flag), what=f"{what}: {error.what}", given=text, allowed=allowed, fix=fix)]
    return []


def _read_pairs(
    flag: str, parts: Sequence[str], known: Sequence[str], unit: str, problems: list[Problem], text: str
) -> Keys:
    """Read parts that are each a key and its value; limits alone are a tolerance."""
    keys: Keys = {}
    for part in parts:
        key, _, value = part.partition(" ")
        if flag == "--section" and key not in known and re.match(r"[+\-±\u2212]|[A-Za-z]{1,2}[0-9]{1,2}$", part):
            key, value = "tolerance", part
        if key not in known or not value.strip():
            allowed = f"{', '.join(known)}, each with its value after it"
            what = f'"{part}" says nothing that is known here' if key not in known else f"{key} has no value"
            problems.append(_problem(flag, what, text, allowed, did_you_mean(closest(key, known))))
        elif key in keys:
            problems.append(_problem(flag, f"{key} is said twice", text))
        else:
            keys[key] = _value(key, value, unit)
    return keys


def _value(key: str, value: str, unit: str) -> str | int | bool:
    """Return the value of a key as the file has it."""
    if key in WHOLE_NUMBERS and value.strip().isdigit():
        return int(value)
    if key == "through":
        return value.strip() in ("true", "yes")
    if key.startswith(("edge_", "corner_")):
        return with_units(value, unit)
    return with_unit(value, unit if key not in ("name", "angle", "taper") else "")


def read_square(text: str, unit: str) -> tuple[Keys, list[Problem]]:
    """Read a square: "across 3.6 mm, at 10 mm, taper 0 deg per side, ..."; `square_lacks` tells what is missing."""
    problems: list[Problem] = []
    return _read_pairs("--square", _split(text), (*SQUARE_KEYS, *SQUARE_MORE), unit, problems, text), problems


def square_lacks(keys: Keys) -> list[str]:
    """Return what must still be said of a square."""
    sizes = ["across_at_shoulder", "across_at_tip"]
    wanted = list(SQUARE_KEYS) if not any(key in keys for key in sizes) else [*sizes, *SQUARE_KEYS[3:]]
    return [key for key in [*wanted, *(["broken"] if keys.get("corners") == "broken" else [])] if key not in keys]


def read_hole(text: str, unit: str) -> tuple[Keys, list[Problem]]:
    """Read a cross hole: "name hook hole, section drum body, face A, ..."; `hole_lacks` tells what is missing."""
    problems: list[Problem] = []
    return _read_pairs("--cross-hole", _split(text), (*HOLE_KEYS, *HOLE_MORE), unit, problems, text), problems


def hole_lacks(keys: Keys) -> list[str]:
    """Return what must still be said of a cross hole; a blind thread has a tap with a lead, and room for its chips."""
    through, tapped = keys.get("through") is True, "thread" in keys
    needless = {"diameter"} if tapped else set()
    needless |= {"depth"} if through else set()
    blind = ["lead", "chips"] if tapped and not through else []
    return [key for key in [*HOLE_KEYS, *blind] if key not in keys and key not in needless]


def _split(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _problem(flag: str, what: str, given: str, allowed: str = "", fix: str = "") -> Problem:
    return Problem(where=Where(path=flag), what=what, given=given, allowed=allowed, fix=fix)
