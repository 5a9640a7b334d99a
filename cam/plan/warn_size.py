"""Warnings of what the lathe's own cone and the work's warmth will do to sizes, and of a bar that whips."""

from __future__ import annotations

from collections.abc import Iterator

from cam.ground.problem import Problem, Where, problem
from cam.ground.tolerances import ROUNDING
from cam.part.model import Part
from cam.setting.cone import cone_radius, runs_of
from cam.setting.model import Setting
from cam.setting.words import at_most, say
from cam.shop.model import Material, Shop

SHARE = 0.25
"""The share of a tolerance that one cause may use up before it is worth a warning; common practice, no source."""


SLENDER = 20.0
"""How many of its diameters a bar may reach on behind its chuck's nose before it is asked what supports it there: the
shop file does not say how long the spindle is. Common practice, no source.
"""


def bar_behind(part: Part, setting: Setting) -> float:
    """Return how far a bar reaches behind its chuck's nose, mm, if that is too far to be unsupported, or 0."""
    if setting.chuck is None:
        return 0.0
    behind = setting.grip_near - setting.chuck.nose_length - setting.head_z
    return behind if behind > SLENDER * part.stock.diameter + ROUNDING else 0.0


def warn_of_long_bar(part: Part, setting: Setting) -> Iterator[Problem]:
    """Warn of a bar in a chuck or collet whose other end may stand out behind the spindle and whip."""
    behind = bar_behind(part, setting)
    if not behind or setting.chuck is None:
        return
    most = SLENDER * part.stock.diameter
    what = f'the bar stands out behind "{setting.chuck.name}" further than is known to be supported: it may whip'
    allowed = f"{at_most(most, part)}, {SLENDER:g} diameters (common practice, no source)"
    fix = f"support it to its end, or saw it to {at_most(part.stock.length - behind + most, part)} or less"
    yield problem(part.stock.length.where, what, f"{say(behind, part)}, of {part.stock.length.text}", allowed, fix)


def warn_of_cone(part: Part, shop: Shop, setting: Setting) -> Iterator[Problem]:
    """Warn of sections made uneven by the lathe's known cone, beyond a share of their limits; between centres alone."""
    cone = shop.lathe.cone
    if not cone or setting.method != "between centres":
        return
    for turned in setting.turned:
        limits = turned.section.tolerance
        uneven = abs(cone) * (turned.near - turned.far)
        if limits is None or uneven <= SHARE * (limits.upper - limits.lower):
            continue
        larger = "tailstock" if cone > 0 else "headstock"
        over = say(turned.near - turned.far, part)
        what = f'"{turned.section.name}" will come out {say(uneven, part)} larger at its {larger} end'
        given = f"a lathe that turns a cone of {1000 * abs(cone):.3f} mm in a metre, over {over}"
        allowed = f"{say(SHARE * (limits.upper - limits.lower), part)}, a quarter of its limits"
        fix = "set the tailstock true first (endshake tailstock), or measure and finish it at its middle"
        yield problem(turned.section.where, what, given, allowed, fix)


def tell_cone(part: Part, setting: Setting) -> Iterator[str]:
    """Tell how a known cone is taken into account, section by section."""
    if not setting.cone:
        return
    larger = "tailstock" if setting.cone > 0 else "headstock"
    rows = []
    for run in runs_of(setting.turned):
        name = " and ".join(t.section.name for t in run)
        middle, length = (run[0].near + run[-1].far) / 2, run[0].near - run[-1].far
        rows.append(
            f'"{name}" {-2000 * cone_radius(setting, middle):+.1f} um at its middle, which leaves '
            f"{500 * abs(setting.cone) * length:.1f} um either way at its ends"
        )
    yield (
        f"the lathe turns a cone of {1000 * abs(setting.cone):.3f} mm in a metre, larger at the {larger}: X is true at "
        f"Z {say(setting.cone_z, part)} and set otherwise for each section, on diameter: {'; '.join(rows)}. Measure "
        "each at its middle"
    )


def lengthening(length: float, material: Material, warmer: float) -> float:
    """Return how much longer work of a length in mm is while it is warmer by so many K, mm."""
    return length * material.expansion * warmer


def warn_of_warmth(part: Part, shop: Shop, setting: Setting) -> Iterator[Problem]:
    """Warn of what warm work does to shoulders and centres, where the shop file says how warm it gets."""
    warmer = shop.lathe.warmer
    material = shop.materials[part.stock.material]
    if not warmer:
        return
    where = Where(path=shop.path, line=shop.lathe.where.line)
    if not material.expansion:
        what = f"how far warm {material.name} grows is not known"
        fix = f'write expansion = "..." in the row of {material.name}'
        yield problem(where, what, f"warmer_after_roughing = {warmer:g} K", fix=fix)
        return
    far = max((abs(t.far) for t in setting.turned if t.far_kind == "shoulder"), default=0.0)
    whole = setting.stock_end_z - setting.head_z
    centre = ", and pushes on the tailstock centre: ease it and set it again" if setting.tail_centre else ""
    yield Problem(
        where=where,
        what=f"setting {setting.number}: work {warmer:g} K warm is "
        f"{say(lengthening(whole, material, warmer), part)} longer than cold{centre}",
        given=f"{material.name}, {1e6 * material.expansion:.1f} um for each metre and K",
        allowed=f"a shoulder {say(far, part)} from Z zero cut to size while warm comes out "
        f"{say(lengthening(far, material, warmer), part)} short when cold",
        fix="let it cool to the shop's temperature between roughing and finishing, and before lengths are measured",
    )
