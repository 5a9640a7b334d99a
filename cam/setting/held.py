"""The setting in a collet or chuck, with the free end out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cam.ground.problem import Problem, problem
from cam.ground.quantity import misfit
from cam.lengths.solved import Solved
from cam.part.checks import is_groove
from cam.setting.aims import Aims
from cam.setting.assemble import check_room_at_head, check_stock_swings, find_limit, nose_radii
from cam.setting.by_hand import tell_by_hand
from cam.setting.model import Placed, Setting, Turned
from cam.setting.names import find_named
from cam.setting.obstacles import chuck_obstacles
from cam.setting.outline import cylinder
from cam.setting.parting import find_slot, with_slot
from cam.setting.profiles import check_edges_and_corners_fit, draw_least, with_outlines
from cam.setting.shoulders import aim_lengths
from cam.setting.threaded import find_threads, let_down
from cam.setting.turned import TurnedWork, make_turned
from cam.setting.words import say
from cam.shop.model import Chuck, Shop


def settle_held(part: Solved, shop: Shop, aims: Aims) -> tuple[tuple[Setting, ...], list[Problem]]:
    """Return the one setting: Z is zero at the finished free end, which is faced first."""
    holding, end = part.holding, part.holding.first or "A"
    chuck = find_named(holding.chuck, shop.chucks)
    indices = _turned_from(part)
    if chuck is None or not indices:
        what = f"nothing is to be turned at the {end} end"
        return (), [Problem(where=holding.where, what=what)] if chuck is not None else []
    lengths = aim_lengths(part, shop.lathe, end, (indices, ()))
    part = lengths.part
    sign, datum = (-1, 0.0) if end == "A" else (1, part.length)
    front, facing, bar = -float(holding.stick_out), float(holding.facing), float(part.stock.diameter)
    head_z = facing - part.stock.length
    stock = cylinder(facing, head_z, bar / 2)
    placed = Placed(number=1, end=end, sign=sign, datum=datum, datum_words=_tell_datum(part, chuck), end_z=0.0,
                    head_z=head_z, stock=stock, fullest=stock)  # fmt: skip
    work = TurnedWork(
        part=part, aims=aims, end=end, axes=placed, indices=indices, end_z=0.0, extra_length=0.0, later=(), problems=[],
        reasons=list(lengths.reasons), spares=lengths.spare,
    )  # fmt: skip
    turned = make_turned(work)
    least_nose, widest_nose = nose_radii(shop)
    limit_z = find_limit(turned[-1], widest_nose)
    problems = [
        *work.problems,
        *check_edges_and_corners_fit(part, turned, least_nose),
        *check_room_at_head(part, shop, turned[-1], limit_z, (f"the {chuck.kind}", front, float(chuck.nose_diameter))),
        *_check_chuck(part, shop, chuck, front - head_z),
    ]
    setting = with_outlines(
        placed, shop, turned, limit_z, 0.0, method=holding.method, tail_centre=None, hole=None, head_hole=None,
        carrier=None, chuck=chuck, grip=f'the stock, in "{chuck.name}"', grip_near=front,
        grip_far=front - chuck.grip_length, grip_diameter=bar, protection=0.0, face_end=True, stock_end_z=facing,
        obstacles=tuple(chuck_obstacles(shop.lathe, chuck, front, bar)),
        reasons=(*tell_by_hand(part), *work.reasons), longer=lengths.longer,
    )  # fmt: skip
    if part.screwed is not None:
        threads, more = find_threads(part, shop, turned)
        problems += more
        in_program = shop.lathe.threading is not None and shop.lathe.threading.by == "encoder"
        setting = replace(setting, threads=threads) if in_program else replace(setting, hand_threads=threads)
    setting, more = redraw(part, shop, setting, turned)
    problems += more
    return (setting,), problems


def redraw(part: Solved, shop: Shop, setting: Setting, turned: Sequence[Turned]) -> tuple[Setting, list[Problem]]:
    """Draw the vees of the threads and the slot of the blade in the setting's outlines.

    Args:
        setting: with outlines drawn for the sections alone.
        turned: the sections as the program must say them.
    """
    if setting.threads:
        deepest = let_down(turned, setting.threads)
        setting = replace(setting, least=draw_least(deepest, setting.stock, setting.limit_z))
    if part.holding.part_off != "blade" or setting.chuck is None:
        return setting, []
    slot, problems = find_slot(part, shop, setting.chuck)
    return with_slot(setting, slot) if slot is not None else setting, problems


def _turned_from(part: Solved) -> tuple[int, ...]:
    """Return the indices from the free end inward, up to the first section that stays as stock."""
    order = range(len(part.sections))
    found = []
    for i in order if part.holding.first != "B" else reversed(order):
        if part.sections[i].as_stock:
            break
        if not is_groove(part, i):
            found.append(i)
    return tuple(found)


def _tell_datum(part: Solved, chuck: Chuck) -> str:
    out = say(part.holding.stick_out + part.holding.facing, part)
    facing = part.holding.facing.text
    return (
        f"Z zero is the finished free end, which is faced first. Set the stock to stand out {out} from the front of "
        f"the {chuck.kind}, touch the tool on its end face and set Z to {facing} there."
    )


def _check_chuck(part: Solved, shop: Shop, chuck: Chuck, inside: float) -> list[Problem]:
    """Check that the collet or chuck takes the stock and holds enough of it, and the stock swings over the slide."""
    stock, found = part.stock, check_stock_swings(part, shop.lathe)
    if not chuck.grip_least - 1e-9 <= stock.diameter <= chuck.grip_most + 1e-9:
        allowed = f"{chuck.grip_least.text} to {chuck.grip_most.text}"
        found.append(misfit(f'"{chuck.name}" does not take the stock', allowed, diameter=stock.diameter))
    if inside < chuck.grip_length - 1e-9:
        what, given = f'too little of the stock is inside "{chuck.name}"', say(max(inside, 0.0), part)
        allowed, fix = f"at least {chuck.grip_length.text}", "take longer stock, or let less of it stick out"
        found.append(problem(stock.length.where, what, f"{given} of {stock.length.text}", allowed, fix))
    return found
