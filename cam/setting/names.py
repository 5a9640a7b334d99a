"""Names in the part file that stand for things of the shop file."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from cam.ground.problem import Problem, Where, problem
from cam.ground.source.table import closest, did_you_mean
from cam.ground.trade_words import british
from cam.part.model import EndHolding, Part
from cam.setting.centre_holes import TABLE, designate, parse_designation
from cam.setting.words import quoted
from cam.shop.model import Carrier, Centre, Chuck, Shop

Thing = TypeVar("Thing", Centre, Carrier, Chuck)


def find_named(name: str, things: Iterable[Thing]) -> Thing | None:
    """Return the thing of that name; its American name will do where none is called exactly so."""
    known = list(things)
    exact = next((thing for thing in known if thing.name == name), None)
    return exact or next((thing for thing in known if british(thing.name) == british(name)), None)


def check_names(part: Part, shop: Shop) -> list[Problem]:
    """Check that the material, centres, carriers, chuck and centre holes that the part file names exist."""
    holding, stock = part.holding, part.stock
    found: list[Problem] = []
    if stock.material not in shop.materials:
        found += _check_name("material", stock.material, shop.materials, stock.where, "the material table")
    if holding.method != "between centres":
        kind = [chuck.name for chuck in shop.chucks if chuck.kind == holding.method]
        return found + _check_name(holding.method, holding.chuck, kind, holding.where, shop.path)
    for end in (holding.end_a, holding.end_b):
        if end is not None:
            found += _check_end(end, shop)
    if not shop.carriers:
        what = "the shop file has no carrier, and nothing else drives work between centres"
        found.append(Problem(where=holding.where, what=what, fix="add a [[carrier]] to the shop file"))
    return found


def _check_end(end: EndHolding, shop: Shop) -> list[Problem]:
    found = _check_name("centre", end.tail_centre, [c.name for c in shop.centres], end.where, shop.path)
    if end.carrier:
        found += _check_name("carrier", end.carrier, [c.name for c in shop.carriers], end.where, shop.path)
    if end.centre_hole and parse_designation(end.centre_hole) is None:
        what, allowed = "this is no centre hole of ISO 866, form A", ", ".join(designate(row) for row in TABLE)
        fix = "name one of these (ISO 6411), or leave centre_hole out to have one chosen"
        found.append(problem(end.where, what, f'centre_hole = "{end.centre_hole}"', allowed, fix))
    return found


def _check_name(kind: str, name: str, known: Iterable[str], where: Where, place: str) -> list[Problem]:
    names = sorted(known)
    if british(name) in map(british, names):
        return []
    given = f'{kind} "{name}"' if name else ""
    what = f'there is no {kind} called "{name}" in {place}' if name else f"no {kind} is named"
    allowed = quoted(names) if names else f"there is none in {place}"
    fix = did_you_mean(closest(name, names)) or "name one of these, or add it there"
    return [Problem(where=where, what=what, given=given, allowed=allowed, fix=fix)]
