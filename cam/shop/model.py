"""What the workshop has, described once: lathe, centres, carriers, chucks and tools."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from cam.geometry.path import Polygon
from cam.ground import keys
from cam.ground.figures import per
from cam.ground.keys import Bounds, By, Only, declared
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.ground.source import Table
from cam.ground.units import (
    ACCELERATION,
    ANGLE,
    CUTTING_SPEED,
    FEED,
    FORCE,
    KELVIN,
    POWER,
    RATE,
    SPEED,
    STRESS,
    TIME,
    TORQUE,
)
from cam.shop.machine import NO_FACTS, Facts, Slide, senses
from cam.shop.mill import NO_MILLING, Cutter, Mill, Milling

CentreKind = Literal["plain", "half", "revolving"]
ToolKind = Literal["turning", "grooving", "threading"]


TIP_ONLY = "tip only"
INCLUDED = {"C": 80.0, "D": 55.0, "E": 75.0, "R": 0.0, "S": 90.0, "T": 60.0, "V": 35.0, "W": 80.0}
"""The included angle at the nose, degrees, by the letter of the shape (ISO 1832, Indexable inserts for cutting tools -
Designation). R is round: it has no corner, and its nose radius is the insert's own radius.
"""
LEAST_POWER, MOST_POWER = 5.0, 20_000.0
"""The power of a motor, W, beyond which the unit must be wrong."""
MOST_TOOLS = 9
MOST_WHEELS, MOST_TEETH = 40, 200


@declared
class Speed:
    """One spindle speed that exists."""

    name: str = keys.text("As marked on the lathe.", "B2", most=20)
    rpm: Quantity = keys.quantity(SPEED, "Of the spindle there.", key="speed", over=True)


@declared
class Spindle:
    """The spindle: belt positions, or a range of speeds, rev/min.

    Attributes:
        positions: slowest first; empty where slowest and fastest give a range.
        slowest, fastest: those of the positions where there are positions.
        torque: N m; zero where not given.
        spin_up: s; zero where not given, or where a hand waits by itself.
        started: "switch" where a person switches it and the program only asks for it; "program" where a hand does all.
    """

    power: Quantity = keys.quantity(POWER, "Of the motor.", "250 W", "1/3 hp", least=LEAST_POWER, most=MOST_POWER)
    torque: float = keys.quantity(
        TORQUE, "The most at the spindle, where a motor gives less power when it turns slowly; cuts are kept below it.",
        "2 N m", "15 lbf in", over=True, plain=True, default=0.0,
    )  # fmt: skip
    spin_up: float = keys.quantity(
        TIME, "That it takes to come to its speed; programs wait so long after it is started. Left out, they do not "
        "wait.", "2 s", most=60.0, plain=True, default=0.0,
    )  # fmt: skip
    started: Literal["program", "switch"] = keys.choice(
        "program: M3 and M5 start and stop it; switch: a person does, and the program stops and asks for it. Left out: "
        "program.", ("program", "switch"), needed=False, default="program",
    )  # fmt: skip
    feeds_per_revolution: bool = keys.flag("true only with an encoder on the spindle.", needed=False)
    constant_surface_speed: bool = keys.flag(
        "true only if the control can change the speed as the diameter changes.", needed=False
    )
    positions: tuple[Speed, ...] = keys.tables_of(Speed, "Belt positions or gears, as marked.")
    slowest: float = keys.quantity(SPEED, "Slowest speed of a range.", "100 rpm", over=True, needed=False)
    fastest: float = keys.quantity(SPEED, "Fastest speed of a range.", "2000 rpm", over=True, needed=False)
    __rules__ = (keys.one_of(("positions",), ("slowest", "fastest")),)

    @property
    def by_switch(self) -> bool:
        """Tell whether a person switches it and the program only asks for it."""
        return self.started == "switch"


@declared
class Control:
    """What runs the slides.

    By hand, all else here is chosen by us and describes the program text by which the passes are checked; the rapid
    rate, mm/min, then has no text.
    """

    kind: Literal["stepper", "hand"] = keys.choice(
        "stepper: programs are run; hand: the summary is worked from, there is no program, and nothing else is asked.",
        ("stepper", "hand"),
    )
    dialect: str = keys.text("Of its programs; `endshake dialects` lists them.", "rs274ngc", "eia274d", needed=False)
    x_words: Literal["radius", "diameter"] = keys.choice(
        "What X means to this control. The most expensive thing to get wrong.", ("radius", "diameter"), needed=False
    )
    units: Literal["mm", "in"] = keys.choice("Of its programs.", ("mm", "in"), needed=False)
    rapid: Quantity = keys.quantity(RATE, "Greatest rapid rate, for the time estimate.", "800 mm/min", over=True,
                                    needed=False)  # fmt: skip
    proved = senses({"arcs": "G2 and G3 were seen to go the way they are meant"})
    facts: Facts = keys.within(Facts, default=NO_FACTS)
    __rules__ = (
        keys.when("kind", ("hand",), keys.lacks("dialect", "x_words", "units", "rapid", "proved", *keys.keys_in(Facts)),
                  keys.needs("dialect", "x_words", "units", "rapid")),
    )  # fmt: skip

    @property
    def unit(self) -> float:
        """Return the unit of its programs, mm."""
        return per(self.units)

    @property
    def x_factor(self) -> int:
        """Return what X words are in radii: 2 for diameters."""
        return 2 if self.x_words == "diameter" else 1


def _read_wheels(table: Table, key: str) -> tuple[int, ...]:
    if not table.has(key):
        table.missing(key, "[20, 25, 30, 40, 40, 45, 50, 60]", why="the train is chosen from what there is")
        return ()
    wheels = table.raw(key)
    fit = isinstance(wheels, list) and all(type(w) is int and 10 <= w <= MOST_TEETH for w in wheels)
    if not fit or not 2 <= len(wheels) <= MOST_WHEELS:
        allowed = f"2 to {MOST_WHEELS} whole numbers of teeth, 10 to {MOST_TEETH}; two alike are written twice"
        table.note(key, f"{key} is a list of change wheels", allowed=allowed)
        return ()
    return tuple(wheels)


@declared
class Threading:
    """How the lathe cuts a thread with a single-point tool: mm/s2, mm, teeth; zero or none of what does not belong."""

    by: Literal["encoder", "change wheels"] = keys.choice(
        "encoder: the control's slide follows the spindle. change wheels: the leadscrew is geared to it, and the "
        "passes are made by hand.", ("encoder", "change wheels"),
    )  # fmt: skip
    fastest: float = keys.quantity(
        SPEED, "The spindle at most while a thread is cut.", "320 rpm", over=True, plain=True
    )
    acceleration: float = keys.quantity(
        ACCELERATION, "Of the Z slide, with an encoder: the room before a thread follows from it.", "100 mm/s2",
        over=True, plain=True,
        only=Only("by", ("encoder",), 'the slide is driven by the leadscrew, and {choice} is "{value}"'),
    )  # fmt: skip
    leadscrew: float = keys.length(
        "Its pitch, with change wheels.", "3 mm", "1/8 in", over=True, most=50.0, plain=True,
        only=Only("by", ("change wheels",), 'the control follows the spindle by itself, and {choice} is "{value}"'),
    )  # fmt: skip
    wheels: tuple[int, ...] = keys.own(
        "Teeth of the change wheels that there are; two alike are written twice.",
        {"type": "array", "minItems": 2, "maxItems": MOST_WHEELS,
         "items": {"type": "integer", "minimum": 10, "maximum": MOST_TEETH}}, read=_read_wheels, off=(),
        only=Only("by", ("change wheels",), 'the control follows the spindle by itself, and {choice} is "{value}"'),
    )  # fmt: skip
    where: Where


@declared
class Cone:
    """By how much the diameter of a plain bar differs between two places, as the file says it."""

    difference: Quantity = keys.length("Of the two diameters.", "0.02 mm", most=5.0)
    over: Quantity = keys.length("Distance between the two places.", "100 mm", over=True)
    larger_at: str = keys.choice("Which end comes out larger.", ("tailstock", "headstock"))
    plan: str = keys.choice("What the plan does about it: warn of each section it spoils, or correct X for each "
                            "section at its middle.", ("warn", "correct"))  # fmt: skip


@declared
class Feeds:
    """The feeds of the lathe, mm/rev, as the file says them."""

    least: Quantity = keys.quantity(FEED, "Finest feed.", "0.01 mm/rev", over=True)
    most: Quantity = keys.quantity(FEED, "Coarsest feed.", "0.15 mm/rev", over=True)


@declared
class Tailstock:
    """The tailstock, mm, as the file says it."""

    barrel_diameter: Quantity = keys.length("Of the barrel.", "22 mm", over=True)
    barrel_extension: Quantity = keys.length("How far the barrel stands out of the tailstock in use.", "25 mm",
                                        how="As it stands when a part is between the centres.")  # fmt: skip
    body_radius: Quantity = keys.length(
        "Of the tailstock casting about the axis, on the tool's side.", "45 mm", over=True
    )


@declared
class Headstock:
    """The headstock, mm, as the file says it."""

    plate_diameter: Quantity = keys.length(
        "Of the catch plate, or of the spindle nose behind a chuck.", "70 mm", over=True
    )
    centre_projection: Quantity = keys.length("From the plate's face to the point of the headstock centre.", "30 mm",
                                         over=True)  # fmt: skip


@declared
class Lathe:
    """The lathe: lengths in mm, feeds in mm/rev.

    Attributes:
        cone: how much larger a plain bar comes out toward the tailstock, mm of diameter per mm; negative where it comes
            out smaller; zero for a true lathe, or where none is known.
        corrects_cone: whether the plan takes it into account.
        slide_force: N; zero where not given.
        warmer: K; zero where not given.
        threading: None where it cuts threads only by die.
    """

    name: str = keys.text("What the lathe is called.", "bench lathe")
    swing: Quantity = keys.length("Greatest diameter over the bed.", "140 mm", over=True)
    swing_over_slide: Quantity = keys.length("Greatest diameter over the cross slide.", "80 mm", over=True)
    between_centres: Quantity = keys.length("Greatest distance between centres.", "250 mm", over=True)
    tool_post: Literal["front", "rear"] = keys.choice(
        "front: on the operator's side; rear: beyond the work.", ("front", "rear")
    )
    rapid_clearance: Quantity = keys.length("Kept between rapid moves and anything solid.", "0.5 mm", over=True,
                                            most=10.0, how="0.5 mm is common practice, no source.")  # fmt: skip
    contact_clearance: Quantity = keys.length(
        "The least that anything may come to a centre, carrier or chuck.", "0.1 mm", over=True, most=5.0,
        how="0.1 mm is common practice, no source, and more on a mill.",
    )  # fmt: skip
    cone: float = keys.table_of(Cone, "How far a plain bar comes out tapered, if it is known and left so; endshake "
                                "tailstock works it out.", default=0.0)  # fmt: skip
    slide_force: float = keys.quantity(
        FORCE, "The most that a slide's drive can push; cuts are made lighter to stay below it.", "300 N", over=True,
        plain=True, default=0.0,
    )  # fmt: skip
    warmer: float = keys.quantity(
        KELVIN, "How much warmer than the shop the work is after roughing; lengths measured then read long.", "15 K",
        most=100.0, plain=True, default=0.0, key="warmer_after_roughing",
    )  # fmt: skip
    threading: Threading | None = keys.table_of(
        Threading, "How a thread is cut with a single-point tool; left out where only dies are used.", default=None
    )
    x: Slide = keys.table_of(Slide, "The cross slide.")
    z: Slide = keys.table_of(
        Slide, "The carriage or top slide.", without=("habit",),
        said={"counts": "up: the number rises as the carriage goes toward the headstock. Needed for a dial or "
              "readout."},
    )  # fmt: skip
    control: Control = keys.table_of(Control, "What runs the slides.")
    spindle: Spindle = keys.table_of(Spindle, "The spindle: belt positions, or a range of speeds.")
    feed = keys.table_of(Feeds, "Range of feeds.", into={"least": "least_feed", "most": "most_feed"})
    tailstock = keys.table_of(
        Tailstock, "The tailstock.", into={"barrel_diameter": "barrel_diameter", "barrel_extension": "barrel_extension",
                                           "body_radius": "tailstock_radius"},
    )  # fmt: skip
    headstock = keys.table_of(
        Headstock, "The headstock.", into={"plate_diameter": "plate_diameter", "centre_projection": "centre_projection"}
    )
    least_feed: Quantity
    most_feed: Quantity
    barrel_diameter: Quantity
    barrel_extension: Quantity
    tailstock_radius: Quantity
    plate_diameter: Quantity
    centre_projection: Quantity
    where: Where
    corrects_cone: bool = False
    __rules__ = ({
        "if": {"properties": {"control": {"properties": {"kind": {"const": "hand"}}}}},
        "then": {"properties": {"spindle": keys.lacks("feeds_per_revolution", "constant_surface_speed")}},
        "else": {"properties": {"spindle": keys.needs("feeds_per_revolution", "constant_surface_speed")}},
    },)  # fmt: skip

    @property
    def by_hand(self) -> bool:
        """Whether the lathe has no control, so that no program runs on it."""
        return self.control.kind == "hand"


_FLAT = Only("kind", ("half",), 'only a half centre has a flat, and {choice} is "{value}"')
_RUBS = Only("kind", ("plain", "half"), 'the work does not rub on a revolving centre, and {choice} is "{value}"')


@declared
class Centre:
    """A tailstock centre: lengths in mm, speeds in rev/min, m/min; zero or "" for what does not belong to its kind."""

    name: str = keys.text("Part files call it by this.", "dead centre")
    kind: CentreKind = keys.choice(
        "plain: dead, hard or soft; half: with a flat for the tool; revolving: live, in bearings.", CentreKind
    )
    cone_angle: Quantity = keys.quantity(ANGLE, "Included angle of the cone.", "60 deg", least=30.0, most=150.0)
    point_diameter: Quantity = keys.length("Where the cone ends.", "12 mm", over=True)
    body_diameter: Quantity = keys.length("Of what follows the cone; at least point_diameter.", "12 mm", over=True)
    reach: Quantity = keys.length("From the point to the barrel's face.", "32 mm", over=True)
    flat: Quantity = keys.length("Half centre only: height of its flat above the axis, on the tool's side.", "0.6 mm",
                            only=_FLAT)  # fmt: skip
    flat_length: Quantity = keys.length("Half centre only: length of the flat from the point.", "20 mm", over=True,
                                   only=_FLAT)  # fmt: skip
    fastest: Quantity = keys.quantity(
        SPEED, "Revolving centre only: of its bearings.", "3000 rpm", over=True,
        only=Only("kind", ("revolving",), "it is the speed at the mouth of its hole that counts, fastest_surface, and "
                  '{choice} is "{value}"'),
    )  # fmt: skip
    fastest_surface: Quantity = keys.quantity(
        CUTTING_SPEED, "Plain or half centre only, on which the work rubs: the most at the mouth of its hole, with the "
        "lubricant.", "6 m/min", "20 ft/min", over=True, only=_RUBS,
    )  # fmt: skip
    lubricant: str = keys.text("Plain or half centre only: what is put into the hole.", "grease", most=40, only=_RUBS)
    where: Where


@declared
class Carrier:
    """A carrier (the clamp that drives work between centres): mm, rev/min."""

    name: str = keys.text("Part files call it by this.", "small carrier")
    swing: Quantity = keys.length("Diameter swept by its tail and screw.", "32 mm", over=True)
    width: Quantity = keys.length("Along the axis.", "7 mm", over=True)
    grip = keys.pair("Least and greatest diameter that it takes.", into=("grip_least", "grip_most"))
    fastest: Quantity = keys.quantity(SPEED, "That it may be driven.", "600 rpm", over=True)
    grip_least: Quantity
    grip_most: Quantity
    where: Where


@declared
class Chuck:
    """A collet or chuck: mm, rev/min."""

    name: str = keys.text("Part files call it by this.", "6 mm collet")
    kind: Literal["collet", "chuck"] = keys.choice("collet or chuck.", ("collet", "chuck"))
    nose_diameter: Quantity = keys.length("Of its front, jaws included.", "32 mm", over=True)
    nose_length: Quantity = keys.length("From its front back to the spindle nose.", "40 mm", over=True)
    grip = keys.pair("Least and greatest diameter that it takes.", into=("grip_least", "grip_most"))
    grip_length: Quantity = keys.length("Length of work that it needs inside.", "15 mm", over=True)
    fastest: Quantity = keys.quantity(SPEED, "That it may turn; a chuck is marked with it.", "2000 rpm", over=True)
    grip_least: Quantity
    grip_most: Quantity
    where: Where


@declared
class Outline:
    """A convex solid part of a tool or its holder that must not touch anything.

    The polygon is relative to the programmed point, z toward the tailstock, x away from the axis.
    """

    name: str = keys.text("For messages.", "tool post", most=40)
    polygon: Polygon = keys.own(
        "Corners in order round it, from the programmed tip: [toward the tailstock, away from the axis].",
        {"type": "array", "minItems": 3, "maxItems": 100, "items": {"$ref": "#/$defs/pair"}}, key="points",
    )  # fmt: skip


_FED = Only("kind", ("turning", "grooving"), 'a threading tool is fed by the pitch, and {choice} is "{value}"')


@declared
class Tool:
    """A tool as it stands in the post. Its programmed point is the imaginary sharp tip.

    The tip of a right-hand turning tool is where the line z = least z of the nose meets
    x = least x of the nose, so the nose's centre lies at (+nose_radius, +nose_radius) from it. A
    grooving tool's point is the same corner on its headstock side. hand "left" mirrors z. A threading tool's point
    is the lowest place of its nose, in the middle of its vee: the nose's centre lies at (0, +nose_radius) from it.

    Lengths in mm, depths per side, feeds in mm/rev (zero for threading, which is fed by the pitch), angles in degrees.

    Attributes:
        approach: angle between the leading edge and the direction of feed (at 93 it leans 3 degrees back, so that the
            tool can face outward); 90 for grooving; for a threading tool, of its headstock flank.
        shape: ISO 1832 letter of the insert, "D"; "" for a ground tool and for grooving. R (round) has no
            corner: its nose radius is the insert's radius, and included is 0.
        included: angle between leading and trailing edge; zero for grooving and for a round insert; for a
            threading tool, the angle of its vee.
        width: zero for turning.
        outlines: insert seat, shank, post and the like; all convex. Empty where the file says outline = "tip only":
            holder and post are then not checked.
        text: how it was given, "ISO 1832 shape D" or "ground: 60 deg".
    """

    number: int = keys.own("T word, 1 to 9; one tool each.", {"type": "integer", "minimum": 1, "maximum": MOST_TOOLS})
    name: str = keys.text("For summaries and comments.", "right-hand knife", most=40)
    kind: ToolKind = keys.choice("turning, grooving (undercuts, parting off), or threading.", ToolKind)
    shape: str = keys.own("Turning: ISO 1832 letter of the insert. R is round: give its own radius as nose_radius.",
                     {"enum": list(INCLUDED)}, needed=False)  # fmt: skip
    included: float = keys.quantity(
        ANGLE, "Turning, instead of shape: angle between the edges of a ground tool. Threading: of the vee, 60 deg, "
        "47.5 deg for BA.", "60 deg", needed=False, plain=True,
        by=By("kind", {"turning": Bounds(5.0, over=True, most=130.0), "threading": Bounds(30.0, most=90.0)}),
    )  # fmt: skip
    material: Literal["HSS", "carbide"] = keys.choice("Of the edge.", ("HSS", "carbide"))
    hand: Literal["right", "left"] = keys.choice("right cuts toward the headstock.", ("right", "left"))
    nose_radius: Quantity = keys.length("Of the tip; of each corner of a grooving tool.", "0.1 mm", most=10.0,
        by=By("kind", {"turning": Bounds(over=True, most=10.0), "grooving": Bounds(most=10.0),
                        "threading": Bounds(most=10.0)}),
    )  # fmt: skip
    approach: Quantity = keys.quantity(
        ANGLE, "Turning: leading edge to the direction of feed. 93 deg leans back 3 deg, so that it can face outward.",
        "93 deg", needed=False, least=45.0, most=150.0,
        how="Lay a protractor from the leading edge to the direction of feed.",
    )  # fmt: skip
    edge: Quantity = keys.length(
        "Length of the trailing edge from the tip; of a grooving or threading tool how deep it reaches.",
        "7 mm",
        over=True,
    )
    width: Quantity = keys.length(
        "Of a grooving tool; of a threading tool's blade above its vee.", "1 mm", over=True, most=50.0,
        only=Only("kind", ("grooving", "threading"), "only a grooving tool has a width"),
    )  # fmt: skip
    minimum_cut: Quantity = keys.length("Least depth per side that it cuts cleanly.", "0.02 mm", over=True, most=5.0)
    deepest_cut: Quantity = keys.length("Greatest depth per side.", "0.75 mm", over=True, most=10.0)
    rough_feed: Quantity = keys.quantity(FEED, "For roughing.", "0.06 mm/rev", over=True, only=_FED)
    finish_feed: Quantity = keys.quantity(FEED, "For finishing.", "0.03 mm/rev", over=True, only=_FED)
    outlines: tuple[Outline, ...] = keys.own(
        'Whatever else is solid: holder, clamp, post. Each convex; split what is not. Or "tip only": then they are not '
        "checked.", {"type": "array", "minItems": 1, "or": {"const": TIP_ONLY}}, inner=Outline, key="outline",
    )  # fmt: skip
    text: str
    where: Where
    __rules__ = (
        keys.when("kind", ("turning",), {
            "oneOf": [keys.needs("shape"), keys.needs("included")],
            **keys.when("shape", ("R",), keys.lacks("approach"), keys.needs("approach")),
        }),
        keys.when("kind", ("grooving",), keys.lacks("shape", "included", "approach")),
        keys.when("kind", ("threading",), keys.needs("included") | keys.lacks("shape", "approach")),
    )  # fmt: skip

    @property
    def tip_only(self) -> bool:
        """Whether nothing is known of the tool's body, so that its holder and post cannot be checked."""
        return not self.outlines

    @property
    def trailing(self) -> float:
        """Return the angle between the trailing edge and the axis, degrees (turning); 90 for grooving."""
        return 90.0 if self.kind == "grooving" else 180.0 - self.approach - self.included


@declared
class SpeedRange:
    """From the slowest to the fastest cutting speed that suits, m/min, as the file says it."""

    least: Quantity = keys.quantity(CUTTING_SPEED, "Slowest.", "21 m/min", "70 ft/min", over=True)
    most: Quantity = keys.quantity(CUTTING_SPEED, "Fastest.", "38 m/min", "125 ft/min", over=True)


@declared
class Material:
    """A row of the material table; forces in N/mm2, an estimate good to 50 % at clock-size chips.

    Attributes:
        speed: kind of tool -> (least, most) cutting speed, m/min.
        density: g/cm3; zero where not given.
        expansion: per K; zero where not given.
        spread: the least and the most that tables give for kc11, N/mm2; (0, 0) where not given.
        standings: (figure, standing, source) of each row, for the figures "speed HSS", "speed carbide", "force" and
            "bulk"; built-in rows alone have them.
    """

    name: str = keys.text("Part files call it by this.", "silver steel")
    hss = keys.table_of(SpeedRange, "Cutting speed with high-speed steel.")
    carbide = keys.table_of(SpeedRange, "Cutting speed with carbide.")
    density: float = keys.number("g/cm3.", least=0.5, most=25.0, default=0.0)
    expansion: float = keys.number("Millionths for each K.", least=0.0, most=100.0, default=0.0, scale=1e-6)
    kc11: float = keys.quantity(STRESS, "Kienzle's kc1.1: specific cutting force at a chip of 1 mm by 1 mm.",
                                "2150 N/mm2", over=True)  # fmt: skip
    mc: float = keys.number("Kienzle's exponent.", least=0.0, most=0.9)
    modulus: float = keys.quantity(STRESS, "Young's modulus.", "210 GPa", over=True)
    source: str = keys.text("Where the figures come from, and how far they can be trusted.",
                            "where the figures come from", most=400)  # fmt: skip
    speed: dict[str, tuple[float, float]]
    spread: tuple[float, float] = (0.0, 0.0)
    standings: tuple[tuple[str, str, str], ...] = ()

    def source_of(self, figure: str) -> str:
        """Return standing and source of each row of one figure, "memory: cast tin bronze", or the user's own words."""
        said = [f"{standing}: {source}" for own, standing, source in self.standings if own == figure]
        return "; ".join(said) or self.source


@declared
class Shop:
    """Everything in the shop file.

    Attributes:
        path, digest: the file as named, and the SHA-256 of its bytes.
        materials: the built-in table with the user's rows added or in place of others, by any usual name
            (cam.shop.materials).
        milling: the mill and its cutters; neither where the file has none.
        dies: names of the threads for which there are dies, as written; None where the file does not say.
    """

    lathe: Lathe = keys.table_of(Lathe, "The lathe.")
    centres: tuple[Centre, ...] = keys.tables_of(Centre, "Tailstock centres.", key="centre")
    carriers: tuple[Carrier, ...] = keys.tables_of(
        Carrier, "Carriers (they drive work between centres).", key="carrier"
    )
    chucks: tuple[Chuck, ...] = keys.tables_of(Chuck, "Collets and chucks.", key="chuck")
    tools: tuple[Tool, ...] = keys.tables_of(Tool, "Tools as they stand in the post.", fewest=1, key="tool")
    dies: tuple[str, ...] | None = keys.own(
        "Threads that there are dies for; left out, a thread by die is not checked against them.",
        {"type": "array", "items": {"type": "string", "minLength": 1, "maxLength": 60}}, ["M2", "M3", "4 BA"],
        needed=False, default=None,
    )  # fmt: skip
    mill = keys.table_of(Mill, "The mill, for squares and cross holes; left out with the cutters where there is none.",
                    needed=False)  # fmt: skip
    cutter = keys.tables_of(Cutter, "Tools for the mill's spindle.")
    materials: Mapping[str, Material] = keys.tables_of(
        Material, "Materials of one's own: they add to the built-in table, or replace its row of the same name.",
        key="material",
    )  # fmt: skip
    path: str
    digest: str
    milling: Milling = NO_MILLING

    def tool(self, number: int) -> Tool | None:
        """Return the tool of a number; None where there is no such tool."""
        return next((t for t in self.tools if t.number == number), None)

    @property
    def noses(self) -> tuple[float, ...]:
        """Return the nose radii of the right-hand turning tools, which may cut a corner, mm."""
        return tuple(float(t.nose_radius) for t in self.tools if t.kind == "turning" and t.hand == "right")
