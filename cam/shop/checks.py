"""What must hold within a shop file, as one small check for each thing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from operator import attrgetter

from cam.ground.problem import Problem, problem, repeats
from cam.ground.quantity import Quantity, misfit
from cam.ground.tolerances import ROUNDING
from cam.ground.units import is_inch, round_down, round_up, show_fine, show_length
from cam.shop.machine import Slide
from cam.shop.model import Carrier, Centre, Chuck, Shop, Tool
from cam.shop.tool_shape import edge_left

Found = Iterator[Problem]


def find_problems(shop: Shop) -> list[Problem]:
    """Return everything that the checks find. Values that could not be read are nan and raise no problem."""
    return [problem for check in CHECKS for problem in check(shop)]


def check_names_are_told_apart(shop: Shop) -> Found:
    """Check that centres, carriers, chucks and tools have different names, since they are called by name."""
    kinds: tuple[tuple[str, Iterable[Centre | Carrier | Chuck | Tool]], ...] = (
        ("centres", shop.centres),
        ("carriers", shop.carriers),
        ("chucks", shop.chucks),
        ("tools", shop.tools),
    )
    for kind, things in kinds:
        for thing, first in repeats(things, attrgetter("name")):
            what = f'there are two {kind} called "{thing.name}"'
            yield problem(thing.where, what, f"also on line {first.where.line}", fix="rename one")


def check_tool_numbers_differ(shop: Shop) -> Found:
    """Check that each T word stands for one tool."""
    for tool, first in repeats(shop.tools, attrgetter("number")):
        what, given = f"two tools have the number {tool.number}", f'"{first.name}" and "{tool.name}"'
        yield problem(tool.where, what, given, fix="give one of them another number")


def check_belt_positions_differ(shop: Shop) -> Found:
    """Check that each belt position has one speed."""
    for speed, _ in repeats(shop.lathe.spindle.positions, attrgetter("name")):
        what = f'there are two belt positions called "{speed.name}"'
        yield problem(speed.rpm.where, what, fix="name them as they are marked")


def check_speeds_rise(shop: Shop) -> Found:
    """Check that the slowest speed is not above the fastest."""
    spindle = shop.lathe.spindle
    if not spindle.positions and spindle.slowest > spindle.fastest:
        given = f"{spindle.slowest:g} and {spindle.fastest:g} rev/min"
        yield Problem(where=shop.lathe.where, what="the slowest spindle speed is above the fastest", given=given)


def check_surface_speed_can_be_held(shop: Shop) -> Found:
    """Check that a held surface speed goes with a speed that varies and a feed that follows it."""
    spindle, where = shop.lathe.spindle, shop.lathe.where
    if not spindle.constant_surface_speed:
        return
    if spindle.positions:
        what = "belt positions cannot hold a constant surface speed"
        yield Problem(where=where, what=what, fix="set constant_surface_speed = false, or give slowest and fastest")
    if not spindle.feeds_per_revolution:
        what = "constant surface speed needs feed per revolution, or the chip changes with the speed"
        yield Problem(where=where, what=what, fix="set feeds_per_revolution = true, or constant_surface_speed = false")


def check_threading_suits_the_control(shop: Shop) -> Found:
    """Check that only a control is said to follow an encoder."""
    threading = shop.lathe.threading
    if threading is not None and threading.by == "encoder" and shop.lathe.control.kind == "hand":
        what = "nothing follows a spindle encoder on a lathe worked by hand"
        fix = 'write by = "change wheels" with leadscrew and wheels, or leave [lathe.threading] out'
        yield problem(threading.where, what, 'by = "encoder", and [lathe.control] kind = "hand"', fix=fix)


def check_feeds_rise(shop: Shop) -> Found:
    """Check that the least feed is below the most, and that the tools' feeds lie between them."""
    lathe = shop.lathe
    if lathe.least_feed > lathe.most_feed:
        yield misfit("the least feed is above the most", least=lathe.least_feed, most=lathe.most_feed)
        return
    for tool in shop.tools:
        feeds = (("rough_feed", tool.rough_feed), ("finish_feed", tool.finish_feed))
        for key, feed in feeds if tool.kind != "threading" else ():
            if feed < lathe.least_feed - ROUNDING or feed > lathe.most_feed + ROUNDING:
                what = f'{key} of "{tool.name}" is outside the lathe\'s range of feeds'
                allowed = f"{lathe.least_feed.text} to {lathe.most_feed.text}"
                yield problem(feed.where, what, f'{key} = "{feed.text}"', allowed)


def check_swings_fit(shop: Shop) -> Found:
    """Check that nothing swings larger than what clears the bed, and that the barrel does not fill the lathe."""
    lathe = shop.lathe
    if lathe.swing_over_slide > lathe.swing:
        given = f'swing = "{lathe.swing.text}", swing_over_slide = "{lathe.swing_over_slide.text}"'
        what = "the swing over the cross slide is larger than over the bed"
        yield Problem(where=lathe.swing_over_slide.where, what=what, given=given)
    over = f"at most swing, {lathe.swing.text}"
    if lathe.plate_diameter > lathe.swing:
        yield misfit("the catch plate does not clear the bed", over, plate_diameter=lathe.plate_diameter)
    for carrier in shop.carriers:
        if carrier.swing > lathe.swing:
            yield misfit(f'"{carrier.name}" does not clear the bed', over, swing=carrier.swing)
    if lathe.barrel_extension >= lathe.between_centres:
        what, allowed = "the barrel leaves no room for work", f"less than between_centres, {lathe.between_centres.text}"
        yield misfit(what, allowed, barrel_extension=lathe.barrel_extension)


def _at_least(size: float, beside: Quantity) -> str:
    """Say the least length that is allowed, in the unit of one that is written, so that what is said is allowed."""
    unit = _unit_of(beside)
    return f"at least {show_fine(round_up(size, unit), unit, trim=True)}"


def _unit_of(written: Quantity) -> str:
    return "in" if is_inch(written.text) else "mm"


def check_clearances_are_in_order(shop: Shop) -> Found:
    """Check that rapids keep further off than cuts."""
    lathe = shop.lathe
    if lathe.contact_clearance > lathe.rapid_clearance:
        what = "the clearance for cuts is larger than that for rapids"
        allowed = f"at most rapid_clearance, {lathe.rapid_clearance.text}"
        yield misfit(what, allowed, contact_clearance=lathe.contact_clearance)


def check_dials_divide_evenly(shop: Shop) -> Found:
    """Check that a turn of each dial is a whole number of divisions."""
    for name, slide in (("x", shop.lathe.x), ("z", shop.lathe.z)):
        if slide.reading == "dial" and not divides_evenly(slide):
            what = f"a turn of the {name} dial is not a whole number of its divisions"
            given = f'division = "{slide.division.text}", turn = "{slide.turn.text}"'
            yield problem(slide.turn.where, what, given, fix="give both in the dial's own measure")


def divides_evenly(slide: Slide) -> bool:
    """Whether a turn of a dial is a whole number of its divisions."""
    count = slide.turn / slide.division if slide.division > 0 else math.nan
    return math.isnan(count) or (count > 0.5 and abs(count - round(count)) < 1e-6 * count)


def cone_length(centre: Centre) -> float:
    """Return the length from a centre's point to the end of its cone, mm."""
    return centre.point_diameter / 2 / math.tan(math.radians(centre.cone_angle) / 2)


def check_centres_are_whole(shop: Shop) -> Found:
    """Check that each centre's body follows its cone, and that both are in front of the barrel."""
    for centre in shop.centres:
        if centre.body_diameter < centre.point_diameter:
            what = f'the body of "{centre.name}" is thinner than the end of its cone'
            allowed = f"at least point_diameter, {centre.point_diameter.text}"
            yield misfit(what, allowed, body_diameter=centre.body_diameter)
        if centre.reach < cone_length(centre) - ROUNDING:
            what = f'"{centre.name}" reaches less far than its cone is long'
            yield misfit(what, _at_least(cone_length(centre), centre.reach), reach=centre.reach)


def check_half_centres_are_half(shop: Shop) -> Found:
    """Check that the flat of a half centre takes something away and lies on the centre."""
    for centre in shop.centres:
        if centre.kind != "half":
            continue
        if centre.flat >= centre.body_diameter / 2:
            what = f'the flat of "{centre.name}" is no lower than its body'
            height = show_fine(centre.body_diameter / 2, _unit_of(centre.flat), trim=True)
            allowed = f"the height above the axis, less than {height}"
            yield misfit(what, allowed, flat=centre.flat)
        if centre.flat_length > centre.reach:
            what = f'the flat of "{centre.name}" runs into the barrel'
            yield misfit(what, f"at most reach, {centre.reach.text}", flat_length=centre.flat_length)


def check_carriers_go_round_the_work(shop: Shop) -> Found:
    """Check that carriers and chucks are larger than what they grip."""
    for carrier in shop.carriers:
        if carrier.swing <= carrier.grip_most:
            given = f'swing = "{carrier.swing.text}", grip to "{carrier.grip_most.text}"'
            what = f'"{carrier.name}" swings no larger than what it grips'
            yield Problem(where=carrier.swing.where, what=what, given=given)
    for chuck in shop.chucks:
        if chuck.nose_diameter <= chuck.grip_most:
            given = f'nose_diameter = "{chuck.nose_diameter.text}", grip to "{chuck.grip_most.text}"'
            what = f'the nose of "{chuck.name}" is no larger than what it grips'
            yield Problem(where=chuck.nose_diameter.where, what=what, given=given)


def check_edges_clear_the_work(shop: Shop) -> Found:
    """Check that each trailing edge rises from the work, and that the edge is longer than the nose."""
    for tool in shop.tools:
        if tool.kind == "turning" and tool.included > 0 and tool.trailing <= 0:
            yield Problem(
                where=tool.approach.where,
                what=f'the trailing edge of "{tool.name}" would rub on the work',
                given=f"approach {tool.approach:g} deg, included angle {tool.included:g} deg ({tool.text})",
                allowed=f"together less than 180 deg, so an approach below {180 - tool.included:g} deg",
            )
        if tool.shape != "R" and edge_left(tool) <= 0:
            what = f'the edge of "{tool.name}" is no longer than its own nose'
            unit = _unit_of(tool.edge)
            allowed = f"an edge of more than {show_fine(round_up(tool.edge - edge_left(tool), unit), unit, trim=True)}"
            yield misfit(what, allowed, edge=tool.edge, nose_radius=tool.nose_radius)


def check_grooving_tools_hold_their_corners(shop: Shop) -> Found:
    """Check that two corner radii fit into the width of a grooving tool."""
    for tool in shop.tools:
        if tool.kind != "turning" and tool.width < 2 * tool.nose_radius - ROUNDING:
            what = f'"{tool.name}" is narrower than {_radii(tool)}'
            allowed = f"{_at_least(2 * tool.nose_radius, tool.width)} wide"
            yield misfit(what, allowed, width=tool.width, nose_radius=tool.nose_radius)


def _radii(tool: Tool) -> str:
    return "its two corner radii" if tool.kind == "grooving" else "its own nose"


def check_cuts_are_in_order(shop: Shop) -> Found:
    """Check that the deepest cut is above the least and no deeper than the edge, and ridges no taller than the nose."""
    for tool in shop.tools:
        if tool.minimum_cut > tool.deepest_cut:
            what = f'the least cut of "{tool.name}" is above its deepest'
            yield misfit(what, minimum_cut=tool.minimum_cut, deepest_cut=tool.deepest_cut)
        if tool.deepest_cut > _deepest(tool) and (tool.shape == "R" or edge_left(tool) > 0):
            what = f'the deepest cut of "{tool.name}" is deeper than its edge reaches'
            unit = _unit_of(tool.deepest_cut)
            allowed = f"at most {show_fine(round_down(_deepest(tool), unit), unit, trim=True)}"
            yield misfit(what, allowed, deepest_cut=tool.deepest_cut)
        if tool.kind == "turning" and tool.finish_feed > 2 * tool.nose_radius:
            what = f'at the finishing feed of "{tool.name}" its marks would not meet'
            unit = _unit_of(tool.finish_feed)
            most = show_fine(round_down(2 * tool.nose_radius, unit), unit, trim=True)
            allowed = f"at most twice the nose radius, {most}/rev"
            yield misfit(what, allowed, finish_feed=tool.finish_feed, nose_radius=tool.nose_radius)


def _deepest(tool: Tool) -> float:
    """Return the depth, mm, beyond which more than the edges would cut."""
    return float(2 * tool.nose_radius if tool.shape == "R" else tool.edge)


def check_outlines_stay_above_the_tip(shop: Shop) -> Found:
    """Check that no outline reaches as low as the tip, since it would rub on the work."""
    for tool in shop.tools:
        for outline in tool.outlines:
            if outline.polygon and min(p.x for p in outline.polygon) <= 0:
                what = f'outline "{outline.name}" of "{tool.name}" reaches as low as the tip'
                given = f"{show_length(min(p.x for p in outline.polygon))} above the tip"
                allowed = "more than 0 mm: points are [toward the tailstock, away from the axis] from the tip"
                yield problem(tool.where, what, given, allowed)


CHECKS = (
    check_names_are_told_apart,
    check_tool_numbers_differ,
    check_belt_positions_differ,
    check_speeds_rise,
    check_surface_speed_can_be_held,
    check_threading_suits_the_control,
    check_feeds_rise,
    check_swings_fit,
    check_clearances_are_in_order,
    check_dials_divide_evenly,
    check_centres_are_whole,
    check_half_centres_are_half,
    check_carriers_go_round_the_work,
    check_edges_clear_the_work,
    check_grooving_tools_hold_their_corners,
    check_cuts_are_in_order,
    check_outlines_stay_above_the_tip,
)
