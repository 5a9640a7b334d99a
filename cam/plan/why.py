"""Why a pass is as it is: from the numbers given to depth, speed and feed, each with its formula and source."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import chain
from textwrap import fill

from cam.ground.material_names import fold
from cam.ground.problem import Problem, ProblemError, Where
from cam.part.model import Part
from cam.plan.allowance import ROUGHING_SPRING
from cam.plan.choose_cuts import SHARE
from cam.plan.cutting import (
    FORCE_BAND,
    RADIAL_SHARE,
    can_drive,
    chip_of,
    choose_speed,
    clip_feed,
    driven_speed,
    ridge_height,
    spindle_speed,
)
from cam.plan.drive import drive_words
from cam.plan.model import Pass, Plan, SettingPlan
from cam.plan.speeds import BELT_CHANGE
from cam.setting.fastest import speed_limits
from cam.setting.words import say
from cam.shop.model import Material, Shop

WIDTH = 88
FINE_FEED = 0.05
"""The feed, mm a turn, under which real ridges are much higher than theory has them; from memory."""
SLOW = {
    "thread": "It is the fastest that [lathe.threading], the slide's rapid over the pitch and the material allow; all "
    "passes of a thread have the same.",
    "part off": "For parting off no more than half of that is taken (common practice, no source).",
}
KINDS = {
    "face": "facing", "rough": "a roughing layer", "semi-finish": "a cut before the last", "finish": "the last cut",
    "groove": "a groove", "fillet": "a fillet", "edge": "an edge", "taper": "a taper",
    "thread": "a pass of a thread", "part off": "parting off",
}  # fmt: skip


def explain_pass(plan: Plan, planned: SettingPlan, cut: Pass, said: dict[str, list[str]]) -> str:
    """Explain one pass from the given numbers on, in a few indented paragraphs of at most WIDTH characters a line.

    Args:
        said: the sentences of the pass before, by the name of their paragraph; those of this one replace them. What is
            the same is not said again.
    """
    part, shop = plan.part, plan.shop
    names = " and ".join(cut.sections)
    head = f"setting {planned.setting.number}, pass {cut.number}: {KINDS[cut.kind]} on {names}, tool {cut.tool.number}"
    material = shop.materials[part.stock.material]
    parts = [
        ("depth", _depth(part, planned, cut)),
        ("speed", _speed(part, shop, material, planned, cut)),
        ("feed", _feed(part, shop, cut)),
        ("force", _force(part, shop, material, cut)),
        ("spring", _spring(part, planned, cut)),
    ]
    body = []
    for name, texts in ((name, list(texts)) for name, texts in parts):
        words = " ".join(t for t in texts if t not in said.get(name, [])) or "as in the pass before."
        said[name] = texts
        body += [fill(words, WIDTH, initial_indent=f"  {name:<8}", subsequent_indent=" " * 10)] if texts else []
    return "\n".join([head, *body]) + "\n"


def explain_setting(planned: SettingPlan) -> str:
    """Explain how the work is held, and how allowance, depths and finish were worked out: a sentence each, indented."""
    sentences = (f"{r[0].upper()}{r[1:].rstrip('.')}." for r in (*planned.setting.reasons, *planned.reasons))
    lines = [fill(s, WIDTH, initial_indent="  - ", subsequent_indent="    ") for s in sentences]
    return "\n".join([f"setting {planned.setting.number}:", *lines, ""])


def answer_why(plan: Plan, setting: int | None, number: int | None, *, whole: bool = True) -> str:
    """Return what `endshake why` answers: all passes, those of a setting, or one.

    Args:
        whole: whether each of several passes is explained in full; otherwise they are listed.

    Raises:
        ProblemError: there is no such setting or pass.
    """
    settings = [s for s in plan.settings if setting in (None, s.setting.number)]
    texts = [explain_setting(s) for s in settings if number is None]
    if number is None and not whole:
        texts = [text + _list_passes(plan.part, s) for text, s in zip(texts, settings, strict=True)]
    else:
        texts += chain.from_iterable(_explain_passes(plan, s, number) for s in settings)
    if texts:
        return "\n".join(texts)
    raise ProblemError([_no_such_pass(plan, settings, setting, number)])


def _explain_passes(plan: Plan, planned: SettingPlan, number: int | None) -> Iterator[str]:
    """Explain the pass of that number, or all of a setting."""
    said: dict[str, list[str]] = {}
    yield from (explain_pass(plan, planned, c, said) for c in planned.passes if number in (None, c.number))


def _no_such_pass(plan: Plan, settings: list[SettingPlan], setting: int | None, number: int | None) -> Problem:
    """Report a setting or a pass that the plan does not have; settings are those of that number."""
    asked = [c.number for s in settings for c in s.passes]
    numbers = asked or [s.setting.number for s in plan.settings]
    option, given = ("--pass", number) if asked else ("--setting", setting)
    what = f"the plan has no such {option[2:]}"
    allowed = f"{min(numbers)} to {max(numbers)}" if len(set(numbers)) > 1 else f"{numbers[0]}"
    return Problem(where=Where(path=option), what=what, given=str(given), allowed=allowed)


def _list_passes(part: Part, planned: SettingPlan) -> str:
    """List the passes that there are, a line each."""
    rows = [
        f"  pass {cut.number:<4} {KINDS[cut.kind]} on {' and '.join(cut.sections)}, to {say(cut.leaves, part)}"
        for cut in planned.passes
    ]
    first = planned.passes[0].number if planned.passes else 1
    rows.append(
        f"  of one, all: endshake why {part.path} --setting {planned.setting.number} --pass {first}; of all: --every"
    )
    return "\n".join(["", *rows, ""])


def _depth(part: Part, planned: SettingPlan, cut: Pass) -> Iterator[str]:
    tool = cut.tool
    if cut.kind in ("groove", "part off"):
        yield f"the whole width of the tool, {tool.width.text}."
        return
    said = f", X said for {say(cut.diameter, part)} by what its stop read" if cut.deeper else ""
    yield f"{say(cut.depth, part)} per side, to {say(cut.leaves, part)} diameter{said}."
    if cut.kind == "thread":
        yield (
            "Depth k of n is the whole depth times sqrt(k / n), so that every pass takes the same area of chip "
            f"(exact), the first no deeper than the {tool.deepest_cut.text} that you gave; equal steps where "
            f"that is less than the tool's least cut of {tool.minimum_cut.text}; at radii that the dial can be set to."
        )
        return
    if cut.kind == "rough":
        yield f'"{tool.name}" was given a deepest cut of {tool.deepest_cut.text}, a least of {tool.minimum_cut.text}.'
        yield (
            f"The depth allowed is that, or less where the work would spring more than {say(ROUGHING_SPRING, part)} or "
            "spindle and slide could not drive it. "
            + "".join(f"{r[0].upper()}{r[1:]}. " for r in planned.reasons if r.startswith("roughing layers"))
            + "Each level is a full depth under the one above, or so much less that no size under it is left a film "
            "thinner than the least cut. A layer goes to the first shoulder above its level; a size passed over is "
            "cut next from the same metal, over its own length."
        )
    elif cut.kind in ("semi-finish", "finish"):
        yield f"{planned.reasons[0][0].upper()}{planned.reasons[0][1:]}."
        name = " and ".join(cut.sections)
        yield from (f"{r[0].upper()}{r[1:]}." for r in planned.reasons if r.startswith(f'"{name}" is finished '))
    elif cut.kind == "face":
        yield "Half of the tool's deepest cut at most, the last one light; common practice, no source."
    else:
        yield f"In as few cuts as the deepest of {tool.deepest_cut.text} allows."


def _speed(part: Part, shop: Shop, material: Material, planned: SettingPlan, cut: Pass) -> Iterator[str]:
    least, most = material.speed[cut.tool.material]
    source = material.source_of(f"speed {cut.tool.material}")
    diameter = diameter_cut(cut)
    wanted = spindle_speed(diameter, most) if diameter > 0 else math.inf
    where = f"position {cut.speed_name}, " if cut.speed_name else ""
    written = part.stock.material
    name = written if fold(written) == fold(material.name) else f"{written}, which is {material.name},"
    yield (
        f"{where}{cut.rpm:.0f} rev/min, which is {cut.surface_speed:.1f} m/min on {say(diameter, part)}: "
        "v = pi d n / 1000 (exact)."
    )
    yield f"{name[0].upper()}{name[1:]} with {cut.tool.material} takes {least:.0f} to {most:.0f} m/min ({source})."
    yield f"The most would be n = 1000 v / (pi d) = {wanted:.0f} rev/min."
    if cut.kind in SLOW:
        yield SLOW[cut.kind]
    elif cut.speed_name:
        yield (
            f"Of the positions that there are, those for the whole setting take the least time, a change counted as "
            f"{BELT_CHANGE:.0f} s (common practice, no source); none is faster than the most."
        )
    yield from _slower(shop, material, planned, cut, wanted)
    if cut.css:
        yield "The control holds the surface speed."


def _slower(shop: Shop, material: Material, planned: SettingPlan, cut: Pass, wanted: float) -> Iterator[str]:
    """Say what keeps a pass below the most speed, rev/min, that its material takes."""
    diameter = diameter_cut(cut)
    if cut.ruled_by:
        yield f"No faster here: {speed_limits(planned.setting)[0].words}, which is the shop file's figure."
    elif cut.rpm < wanted / 1.1 and choose_speed(shop, material, cut.tool, diameter).rpm > cut.rpm * 1.01:
        driven = spindle_speed(diameter, driven_speed(shop.lathe, cut.force))
        if driven < wanted:
            yield f"The motor drives this cut up to {driven:.0f} rev/min, the force at the upper end of its band."


def diameter_cut(cut: Pass) -> float:
    """Return the largest diameter that a pass cuts, mm, by its speed."""
    return 1000 * cut.surface_speed / (math.pi * cut.rpm)


def _feed(part: Part, shop: Shop, cut: Pass) -> Iterator[str]:
    tool = cut.tool
    if cut.kind == "thread":
        yield (
            f"the pitch, {say(cut.feed, part)} a turn, {say(cut.feed * cut.rpm, part)} a minute at {cut.rpm:.0f} "
            "rev/min: the slide follows the spindle."
        )
        return
    given = tool.rough_feed if cut.kind in ("rough", "groove", "part off") else tool.finish_feed
    yield (
        f"{say(cut.feed, part)} a turn, {say(cut.feed * cut.rpm, part)} a minute at the true {cut.rpm:.0f} rev/min; "
        f'you gave {given.text} for "{tool.name}".'
    )
    if cut.feed < clip_feed(shop, float(given)) - 1e-9:
        eased = cut.kind not in ("semi-finish", "finish") or not can_drive(shop, cut.force / 0.9, diameter_cut(cut))
        yield "It is less here: " + (
            "spindle and slide could not drive more, see force." if eased else "the work springs, see spring."
        )
    elif abs(cut.feed - given) > 1e-9:
        yield f"The lathe feeds from {shop.lathe.least_feed.text} to {shop.lathe.most_feed.text}."
    nose = float(tool.nose_radius)
    if cut.kind in ("semi-finish", "finish") and cut.feed <= 2 * nose:
        yield (
            f"Ridges of r - sqrt(r^2 - f^2 / 4) = {1000 * ridge_height(cut.feed, nose):.2f} um are left in theory "
            f"(exact); real ones are higher, below about {say(FINE_FEED, part)} a turn much (from memory)."
        )


def _force(part: Part, shop: Shop, material: Material, cut: Pass) -> Iterator[str]:
    if cut.kind == "thread":
        yield (
            "Kienzle's law over both flanks' chip, each as thick as the step square to it: "
            f"{drive_words(shop.lathe, cut)}. "
            "An estimate, as the chip is far thinner than the constants are fitted for."
        )
        return
    nose = float(cut.tool.nose_radius) if cut.tool.kind == "turning" else 0.0
    width, thickness = chip_of(cut.depth, cut.feed, nose, float(cut.tool.approach))
    if cut.tool.kind != "turning":
        width, thickness = cut.depth, cut.feed
    low, high = material.spread
    source = material.source_of("force")
    spread = f", in tables {low:.0f} to {high:.0f}" if high else ""
    yield f"F = kc1.1 b h^(1 - mc), Kienzle: kc1.1 {material.kc11:.0f} N/mm2{spread} ({source}), mc {material.mc:g}."
    yield (f"The constants are fitted for chips thicker than about 0.05 mm and good to {FORCE_BAND:.0%} here at best.")
    yield f"b {width:.3f} mm of edge in the cut, h {thickness:.4f} mm of chip: {drive_words(shop.lathe, cut)}."


def _spring(part: Part, planned: SettingPlan, cut: Pass) -> Iterator[str]:
    held = "between its centres" if planned.setting.method == "between centres" else "out of what holds it"
    yield f"about {1000 * cut.deflection:.1f} um per side at its worst place."
    yield (
        f"{RADIAL_SHARE:g} of the force pushes outward (from memory) on the stepped bar {held} as it is at this pass "
        "(Euler and Bernoulli, the unit-load integral)."
    )
    if cut.kind in ("semi-finish", "finish"):
        yield (
            f"Twice the difference along the length, {1000 * cut.error:.1f} um, is what the diameter will differ by; "
            f"it may use {SHARE:g} of the limits (common practice, no source)."
        )
