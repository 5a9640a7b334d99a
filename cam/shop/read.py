"""Reads and checks a shop file."""

from __future__ import annotations

from os import PathLike
from typing import Literal

from cam.geometry.convex import hull, is_convex
from cam.geometry.path import Point, Polygon
from cam.ground.material_names import fold
from cam.ground.problem import Problem, ProblemError
from cam.ground.quantity import Quantity
from cam.ground.source import Source, Table, read_source
from cam.ground.units import (
    ACCELERATION,
    ANGLE,
    CUTTING_SPEED,
    FEED,
    FORCE,
    KELVIN,
    POWER,
    SPEED,
    TIME,
    TORQUE,
    QuantityError,
    show_length,
)
from cam.part.threads import find_thread
from cam.shop.checks import find_problems
from cam.shop.control import read_control
from cam.shop.materials import TOOL_MATERIALS, Materials, built_in_materials, read_material
from cam.shop.model import (
    Carrier,
    Centre,
    CentreKind,
    Chuck,
    Lathe,
    Outline,
    Shop,
    Speed,
    Spindle,
    Threading,
    Tool,
    ToolKind,
)
from cam.shop.read_mill import read_milling
from cam.shop.slides import read_slide, refuse
from cam.shop.tool_shape import INCLUDED

CENTRE_KINDS: tuple[CentreKind, ...] = ("plain", "half", "revolving")
TOOL_KINDS: tuple[ToolKind, ...] = ("turning", "grooving", "threading")
THREADING_BY: tuple[Literal["encoder", "change wheels"], ...] = ("encoder", "change wheels")
MOST_TOOLS = 9
MOST_CONE = 0.001
"""The steepest cone, diameter over length, that a plan corrects and not the tailstock; common practice, no source."""
MOST_WHEELS = 40
TIP_ONLY = "tip only"
OUTLINES = (
    "measure holder and post from the tip and write a [[tool.outline]] for each; or write "
    f'outline = "{TIP_ONLY}", and every least distance says that they were not checked'
)
MOST_TEETH = 200


def read_shop(path: str | PathLike[str]) -> Shop:
    """Read and check a shop file.

    Raises:
        ProblemError: everything that is wrong with the file, at once.
    """
    return shop_of(read_source(path))


def shop_of(source: Source) -> Shop:
    """Read and check a shop file, as `read_shop` does, from a text that is already read.

    Raises:
        ProblemError: as for `read_shop`.
    """
    problems: list[Problem] = []
    root = Table(source, problems)
    own = [read_material(table) for table in root.tables("material", fewest=0)]
    shop = Shop(
        lathe=_read_lathe(root.table("lathe")),
        centres=tuple(_read_centre(table) for table in root.tables("centre", fewest=0)),
        carriers=tuple(_read_carrier(table) for table in root.tables("carrier", fewest=0)),
        chucks=tuple(_read_chuck(table) for table in root.tables("chuck", fewest=0)),
        tools=tuple(_read_tool(table) for table in root.tables("tool")),
        materials=Materials([*built_in_materials().values(), *own]),
        path=source.path,
        digest=source.digest,
        milling=read_milling(root),
        dies=_read_dies(root) if root.has("dies") else None,
    )
    root.close()
    problems.extend(_repeated(root.tables("material", fewest=0)))
    problems.extend(find_problems(shop))
    if problems:
        raise ProblemError(problems)
    return shop


def _read_dies(root: Table) -> tuple[str, ...]:
    """Read the names of the threads for which there are dies."""
    names = root.raw("dies")
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        root.note("dies", "dies is a list of threads", allowed='for example dies = ["M3", "4 BA"]')
        return ()
    found = []
    for at, name in enumerate(names):
        try:
            found.append(find_thread(name).name)
        except QuantityError as error:
            root.note_error(error, "dies", at)
    return tuple(found)


def _read_threading(table: Table) -> Threading:
    by = table.choice("by", THREADING_BY)
    wheeled = by == "change wheels"
    if wheeled:
        refuse(table, ("acceleration",), "by", THREADING_BY, "the slide is driven by the leadscrew")
    else:
        refuse(table, ("leadscrew", "wheels"), "by", THREADING_BY, "the control follows the spindle by itself")
    fast = table.quantity("fastest", SPEED, over=True, example="320 rpm")
    hard = 0.0 if wheeled else float(table.quantity("acceleration", ACCELERATION, over=True, example="100 mm/s2"))
    screw = float(table.length("leadscrew", over=True, most=50.0, example="3 mm")) if wheeled else 0.0
    wheels = _read_wheels(table) if wheeled else ()
    return Threading(by=by, fastest=float(fast), acceleration=hard, leadscrew=screw, wheels=wheels, where=table.where)


def _read_wheels(table: Table) -> tuple[int, ...]:
    if not table.has("wheels"):
        table.missing("wheels", "[20, 25, 30, 40, 40, 45, 50, 60]", why="the train is chosen from what there is")
        return ()
    wheels = table.raw("wheels")
    fit = isinstance(wheels, list) and all(type(w) is int and 10 <= w <= MOST_TEETH for w in wheels)
    if not fit or not 2 <= len(wheels) <= MOST_WHEELS:
        allowed = f"2 to {MOST_WHEELS} whole numbers of teeth, 10 to {MOST_TEETH}; two alike are written twice"
        table.note("wheels", "wheels is a list of change wheels", allowed=allowed)
        return ()
    return tuple(wheels)


def _repeated(rows: list[Table]) -> list[Problem]:
    """Report a material row that names an earlier one of the same file."""
    seen: dict[object, int] = {}
    found = []
    for row in rows:
        name = row.values.get("name")
        if isinstance(name, str) and seen.setdefault(fold(name), row.where.line) != row.where.line:
            what = f'there are two materials called "{name}"'
            found.append(
                Problem(where=row.where, what=what, given=f"also on line {seen[fold(name)]}", fix="rename one")
            )
    return found


def _read_lathe(table: Table) -> Lathe:
    feed, tailstock, headstock = table.table("feed"), table.table("tailstock"), table.table("headstock")
    cone, corrects = _read_cone(table.table("cone")) if table.has("cone") else (0.0, False)
    x = read_slide(table.table("x"), across=True)
    control = read_control(table.table("control"), x)
    return Lathe(
        name=table.text("name", example="bench lathe"),
        swing=table.length("swing", over=True, example="140 mm"),
        swing_over_slide=table.length("swing_over_slide", over=True, example="80 mm"),
        between_centres=table.length("between_centres", over=True, example="250 mm"),
        tool_post=table.choice("tool_post", ("front", "rear")),
        x=x,
        z=read_slide(table.table("z"), across=False),
        spindle=_read_spindle(table.table("spindle"), by_hand=control.kind == "hand"),
        control=control,
        least_feed=feed.quantity("least", FEED, over=True, example="0.01 mm/rev"),
        most_feed=feed.quantity("most", FEED, over=True, example="0.15 mm/rev"),
        barrel_diameter=tailstock.length("barrel_diameter", over=True, example="22 mm"),
        barrel_extension=tailstock.length("barrel_extension", example="25 mm"),
        tailstock_radius=tailstock.length("body_radius", over=True, example="45 mm"),
        plate_diameter=headstock.length("plate_diameter", over=True, example="70 mm"),
        centre_projection=headstock.length("centre_projection", over=True, example="30 mm"),
        rapid_clearance=table.length("rapid_clearance", over=True, most=10.0, example="0.5 mm"),
        contact_clearance=table.length("contact_clearance", over=True, most=5.0, example="0.1 mm"),
        where=table.where,
        cone=cone,
        corrects_cone=corrects,
        slide_force=float(table.quantity("slide_force", FORCE, over=True, default=0.0, example="300 N")),
        warmer=float(table.quantity("warmer_after_roughing", KELVIN, most=100.0, default=0.0, example="15 K")),
        threading=_read_threading(table.table("threading")) if table.has("threading") else None,
    )


def _read_cone(table: Table) -> tuple[float, bool]:
    """Read how the diameter grows toward the tailstock, mm per mm, and whether the plan corrects it."""
    larger = table.length("difference", most=5.0, example="0.02 mm")
    over = table.length("over", over=True, example="100 mm")
    end = table.choice("larger_at", ("tailstock", "headstock"))
    corrects = table.choice("plan", ("warn", "correct")) == "correct"
    if corrects and larger > MOST_CONE * over:
        allowed = f"at most {show_length(100 * MOST_CONE)} in 100 mm, to be corrected section by section"
        table.note("difference", "the lathe turns too steep a cone to correct", allowed=allowed, fix="set the "
                   'tailstock true first (endshake tailstock), or write plan = "warn"')  # fmt: skip
    return float(larger / over) * (1 if end == "tailstock" else -1), corrects


def _read_spindle(table: Table, *, by_hand: bool) -> Spindle:
    table.known("slowest", "fastest", "positions")
    positions = tuple(
        sorted(
            (
                Speed(name=row.text("name", most=20, example="B2"), rpm=row.quantity("speed", SPEED, over=True))
                for row in table.tables("positions", fewest=0)
            ),
            key=lambda speed: speed.rpm,
        )
    )
    if "positions" in table.values:
        for key in ("slowest", "fastest"):
            table.refuse(key, "the positions already say which speeds there are", fix="leave it out")
        slowest, fastest = (positions[0].rpm, positions[-1].rpm) if positions else (0.0, 0.0)
        if not positions and table.values["positions"] == []:
            table.note("positions", "there are no belt positions", fix='write them, or slowest = "..." and fastest')
    elif "slowest" in table.values or "fastest" in table.values:
        slowest = table.quantity("slowest", SPEED, over=True, example="100 rpm")
        fastest = table.quantity("fastest", SPEED, over=True, example="2000 rpm")
    else:
        example = '[{ name = "A1", speed = "320 rpm" }, { name = "A2", speed = "600 rpm" }]'
        table.missing("positions", example, why="or slowest and fastest, for a range of speeds")
        slowest = fastest = 0.0
    spin_up = float(table.quantity("spin_up", TIME, most=60.0, default=0.0, example="2 s"))
    started = table.choice("started", ("program", "switch"), default="program")
    return Spindle(
        positions=positions,
        slowest=float(slowest),
        fastest=float(fastest),
        power=table.quantity("power", POWER, over=True, example="250 W"),
        feeds_per_revolution=_read_follows(table, "feeds_per_revolution", by_hand=by_hand),
        constant_surface_speed=_read_follows(table, "constant_surface_speed", by_hand=by_hand),
        torque=float(table.quantity("torque", TORQUE, over=True, default=0.0, example="2 N m")),
        spin_up=0.0 if by_hand else spin_up,  # a hand waits by itself
        by_switch=not by_hand and started == "switch",
    )


def _read_follows(table: Table, key: str, *, by_hand: bool) -> bool:
    """Read whether a control does something in step with the spindle; a lathe worked by hand is not asked."""
    if not by_hand:
        return table.flag(key)
    table.refuse(key, f"a lathe worked by hand has no control, so no {key}", fix="leave it out")
    return False


def _read_centre(table: Table) -> Centre:
    kind = table.choice("kind", CENTRE_KINDS)
    nothing = Quantity(0.0, "", table.where)
    flat = flat_length = nothing
    if kind == "half":
        flat = table.length("flat", example="0.6 mm")
        flat_length = table.length("flat_length", over=True, example="20 mm")
    else:
        refuse(table, ("flat", "flat_length"), "kind", CENTRE_KINDS, "only a half centre has a flat")
    fastest = fastest_surface = nothing
    lubricant = ""
    if kind == "revolving":
        fastest = _read_fastest(table, "3000 rpm")
        rubs = "the work does not rub on a revolving centre"
        refuse(table, ("fastest_surface", "lubricant"), "kind", CENTRE_KINDS, rubs)
    else:
        fastest_surface = table.quantity("fastest_surface", CUTTING_SPEED, over=True, example="6 m/min")
        lubricant = table.text("lubricant", most=40, example="grease")
        turns = "it is the speed at the mouth of its hole that counts, fastest_surface"
        refuse(table, ("fastest",), "kind", CENTRE_KINDS, turns)
    return Centre(
        name=table.text("name", example="dead centre"),
        kind=kind,
        cone_angle=table.quantity("cone_angle", ANGLE, over=True, most=150.0, example="60 deg"),
        point_diameter=table.length("point_diameter", over=True, example="12 mm"),
        body_diameter=table.length("body_diameter", over=True, example="12 mm"),
        reach=table.length("reach", over=True, example="32 mm"),
        flat=flat,
        flat_length=flat_length,
        fastest=fastest,
        fastest_surface=fastest_surface,
        lubricant=lubricant,
        where=table.where,
    )


def _read_fastest(table: Table, example: str) -> Quantity:
    """Read the highest speed at which something that holds the work may turn, rev/min."""
    return table.quantity("fastest", SPEED, over=True, example=example)


def _read_carrier(table: Table) -> Carrier:
    grip_least, grip_most = table.pair("grip", over=True)
    return Carrier(
        name=table.text("name", example="small carrier"),
        swing=table.length("swing", over=True, example="32 mm"),
        width=table.length("width", over=True, example="7 mm"),
        grip_least=grip_least,
        grip_most=grip_most,
        fastest=_read_fastest(table, "600 rpm"),
        where=table.where,
    )


def _read_chuck(table: Table) -> Chuck:
    grip_least, grip_most = table.pair("grip", over=True)
    return Chuck(
        name=table.text("name", example="6 mm collet"),
        kind=table.choice("kind", ("collet", "chuck")),
        nose_diameter=table.length("nose_diameter", over=True, example="32 mm"),
        nose_length=table.length("nose_length", over=True, example="40 mm"),
        grip_least=grip_least,
        grip_most=grip_most,
        grip_length=table.length("grip_length", over=True, example="15 mm"),
        fastest=_read_fastest(table, "2000 rpm"),
        where=table.where,
    )


def _read_tool(table: Table) -> Tool:
    kind = table.choice("kind", TOOL_KINDS)
    turning = kind == "turning"
    nothing = Quantity(0.0, "", table.where)
    shape, included, text = _read_shape(table) if turning else ("", 0.0, "grooving tool")
    if kind == "threading":
        included, approach, width = _read_vee(table)
        text = f"threading tool, {included:g} deg"
    elif turning:
        refuse(table, ("width",), "kind", TOOL_KINDS, "only a grooving tool has a width")
        approach, width = _read_approach(table, shape), nothing
    else:
        keys = ("shape", "included", "approach")
        refuse(table, keys, "kind", TOOL_KINDS, "only a turning tool has shape, included angle and approach")
        approach, width = Quantity(90.0, "", table.where), table.length("width", over=True, example="1 mm")
    return Tool(
        number=_read_number(table),
        name=table.text("name", most=40, example="right-hand knife"),
        kind=kind,
        material=table.choice("material", TOOL_MATERIALS),  # type: ignore[arg-type]
        hand=table.choice("hand", ("right", "left")),
        nose_radius=table.length("nose_radius", over=turning, most=20.0, example="0.1 mm"),
        approach=approach,
        shape=shape,
        included=included,
        edge=table.length("edge", over=True, example="7 mm"),
        width=width,
        minimum_cut=table.length("minimum_cut", over=True, most=5.0, example="0.02 mm"),
        deepest_cut=table.length("deepest_cut", over=True, most=10.0, example="0.75 mm"),
        rough_feed=_read_feed(table, kind, "rough_feed", "0.06 mm/rev"),
        finish_feed=_read_feed(table, kind, "finish_feed", "0.03 mm/rev"),
        outlines=_read_outlines(table),
        text=text,
        where=table.where,
    )


def _read_vee(table: Table) -> tuple[float, Quantity, Quantity]:
    """Read the included angle of a threading tool's vee, its headstock flank to the feed, and its blade's width."""
    refuse(table, ("shape", "approach"), "kind", TOOL_KINDS, "a threading tool is said by its included angle")
    angle = table.quantity("included", ANGLE, least=30.0, most=90.0, example="60 deg")
    width = table.length("width", over=True, most=50.0, example="1 mm")
    return float(angle), Quantity(90.0 - angle / 2, "", table.where), width


def _read_feed(table: Table, kind: ToolKind, key: str, example: str) -> Quantity:
    """Read a feed; a threading tool has none, as the thread's pitch is its feed."""
    if kind == "threading":
        refuse(table, (key,), "kind", TOOL_KINDS, "a threading tool is fed by the pitch")
        return Quantity(0.0, "", table.where)
    return table.quantity(key, FEED, over=True, example=example)


def _read_number(table: Table) -> int:
    """Read the T word; it is zero, which no other tool has, where it cannot be read."""
    number, written = table.integer("number", least=1, most=MOST_TOOLS), table.raw("number")
    return number if number == written else 0


def _read_approach(table: Table, shape: str) -> Quantity:
    """Read the approach angle, degrees; a round insert has no leading edge of its own, and 90 stands for it."""
    if shape == "R":
        table.refuse("approach", "a round insert has no leading edge, so no approach", fix="leave it out")
        return Quantity(90.0, "", table.where)
    return table.quantity("approach", ANGLE, least=45.0, most=150.0, example="93 deg")


def _read_shape(table: Table) -> tuple[str, float, str]:
    """Read the shape letter, the included angle in degrees, and how they were given."""
    table.known("shape", "included")
    letters = tuple(INCLUDED)
    if table.has("included"):
        table.refuse("shape", "shape and included both say how the tool's edges meet", fix="leave one out")
        included = table.quantity("included", ANGLE, over=True, least=5.0, most=130.0)
        return "", float(included), f"ground: {included:g} deg"
    if not table.has("shape"):
        table.missing("shape", '"D"', why='an ISO 1832 letter, or included = "55 deg" for a ground tool')
        return "", 60.0, ""
    shape = table.choice("shape", letters)
    return shape, INCLUDED[shape], f"ISO 1832 shape {shape}"


def _read_outlines(table: Table) -> tuple[Outline, ...]:
    """Read the outlines of the tool's body; there are none only where the file says so."""
    given = table.raw("outline")
    if isinstance(given, list) and given:
        return tuple(_read_outline(row) for row in table.tables("outline", fewest=0))
    if given != TIP_ONLY and not table.absent:
        what = f"{table.title} has no outline, so its holder and post cannot be checked"
        said = "" if given is None else table.given("outline")
        lacks = "" if said else ".".join(map(str, (*table.path, "outline")))
        where = table.where_of("outline")
        table.problems.append(Problem(where=where, what=what, given=said, fix=OUTLINES, lacks=lacks))
    return ()


def _read_outline(table: Table) -> Outline:
    name = table.text("name", most=40, example="tool post")
    points = tuple(Point(float(z), float(x)) for z, x in table.points("points", fewest=3))
    if points and not is_convex(points):
        what = f'the outline "{name}" is not convex'
        fix = "split it into convex outlines that overlap, or leave out the corner that lies inside; " + _spare(points)
        table.note("points", what, allowed="corners in order round it, each turning the same way", fix=fix)
    return Outline(name=name, polygon=hull(points) if points else ())


def _spare(points: Polygon) -> str:
    """Say which corners do not stand out, counted from 1."""
    outer = set(hull(points))
    inside = [str(i + 1) for i, p in enumerate(points) if p not in outer]
    return f"corner {' and '.join(inside)} does not stand out" if inside else "its corners are not in order round it"
