"""What the workshop has, described once: lathe, centres, carriers, chucks and tools."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from cam.geometry.path import Polygon
from cam.ground.frozen import frozen
from cam.ground.problem import Where
from cam.ground.quantity import Quantity
from cam.shop.machine import NO_FACTS, Facts, Slide
from cam.shop.mill import NO_MILLING, Milling

CentreKind = Literal["plain", "half", "revolving"]
ToolKind = Literal["turning", "grooving", "threading"]


@frozen
class Speed:
    """One spindle speed that exists.

    Attributes:
        name: belt position or gear as marked, "B2".
        rpm: rev/min.
    """

    name: str
    rpm: Quantity


@frozen
class Spindle:
    """The spindle.

    Attributes:
        positions: the belt positions, slowest first; empty where slowest and fastest give a range.
        slowest, fastest: rev/min; those of the positions where there are positions.
        power: of the motor, W.
        torque: the most at the spindle at any speed, N m; zero where not given.
        feeds_per_revolution: True where the control knows the spindle's turn (an encoder).
        constant_surface_speed: True where the control can hold it.
        spin_up: the time, s, in which it comes to its speed and for which programs wait; zero where not given.
        by_switch: True where a person switches it and the program only asks for it.
    """

    positions: tuple[Speed, ...]
    slowest: float
    fastest: float
    power: Quantity
    feeds_per_revolution: bool
    constant_surface_speed: bool
    torque: float = 0.0
    spin_up: float = 0.0
    by_switch: bool = False


@frozen
class Control:
    """What runs the slides.

    Attributes:
        kind: "stepper" (programs and the summary) or "hand" (the summary alone). By hand, all else here is chosen by us
            and describes the program text by which the passes are checked.
        dialect: the name of a dialect, "rs274ngc".
        x_words: whether X words in the program text are radii or diameters.
        rapid: the greatest rapid rate, mm/min; for the time estimate. It has no text where a hand-worked lathe gives
            none.
        units: those of the program text.
        facts: what the control was seen to be and to do.
    """

    kind: Literal["stepper", "hand"]
    dialect: str
    x_words: Literal["radius", "diameter"]
    rapid: Quantity
    units: Literal["mm", "in"]
    facts: Facts = NO_FACTS


@frozen
class Threading:
    """How the lathe cuts a thread with a single-point tool.

    Attributes:
        by: "encoder", where the control's slide follows the spindle; "change wheels", where the leadscrew is geared to
            the spindle and the passes are made by hand.
        fastest: the highest spindle speed while a thread is cut, rev/min.
        acceleration: of the Z slide, mm/s2; zero with change wheels.
        leadscrew: its pitch, mm; zero with an encoder.
        wheels: the teeth of the change wheels that there are; two alike stand twice; none with an encoder.
    """

    by: Literal["encoder", "change wheels"]
    fastest: float
    acceleration: float
    leadscrew: float
    wheels: tuple[int, ...]
    where: Where


@frozen
class Lathe:
    """The lathe.

    Attributes:
        swing: greatest diameter over the bed, mm.
        swing_over_slide: greatest diameter over the cross slide, mm.
        between_centres: greatest distance, mm.
        tool_post: "front" (operator's side) or "rear".
        x, z: the slides.
        spindle, control: as above.
        least_feed, most_feed: mm/rev.
        barrel_diameter: of the tailstock barrel, mm.
        barrel_extension: how far it stands out of the tailstock body in use, mm.
        tailstock_radius: radius of the tailstock body about the axis, on the tool's side, mm.
        plate_diameter: diameter of the catch plate or spindle nose, mm.
        centre_projection: from the plate's face to the point of the headstock centre, mm.
        rapid_clearance: the distance kept between rapids and anything solid, mm.
        contact_clearance: the least distance of anything from a centre, carrier or chuck, mm.
        cone: how much larger a plain bar comes out toward the tailstock, mm of diameter per mm; negative where it comes
            out smaller; zero for a true lathe, or where none is known.
        corrects_cone: whether the plan takes it into account.
        slide_force: the most that a slide's drive pushes, N; zero where not given.
        warmer: how much warmer than the shop the work is after roughing, K; zero where not given.
        threading: how it cuts threads; None where it cuts them only by die.
    """

    name: str
    swing: Quantity
    swing_over_slide: Quantity
    between_centres: Quantity
    tool_post: Literal["front", "rear"]
    x: Slide
    z: Slide
    spindle: Spindle
    control: Control
    least_feed: Quantity
    most_feed: Quantity
    barrel_diameter: Quantity
    barrel_extension: Quantity
    tailstock_radius: Quantity
    plate_diameter: Quantity
    centre_projection: Quantity
    rapid_clearance: Quantity
    contact_clearance: Quantity
    where: Where
    cone: float = 0.0
    corrects_cone: bool = False
    slide_force: float = 0.0
    warmer: float = 0.0
    threading: Threading | None = None

    @property
    def by_hand(self) -> bool:
        """Whether the lathe has no control, so that no program runs on it."""
        return self.control.kind == "hand"


@frozen
class Centre:
    """A tailstock centre.

    Attributes:
        cone_angle: included, degrees.
        point_diameter: the diameter where the cone ends and the body begins, mm.
        body_diameter: diameter of what follows the cone, mm; >= point_diameter.
        reach: distance from the point to the barrel's face, mm.
        flat: of a half centre only: height of its flat above the axis on the tool's side, mm; otherwise zero.
        flat_length: of a half centre only: length of the flat from the point, mm; otherwise zero.
        fastest: of a revolving centre only: the highest speed of its bearings, rev/min; otherwise zero.
        fastest_surface: of any other centre, in which the work rubs: the highest speed at the mouth of the centre hole,
            m/min, with its lubricant; zero for a revolving centre.
        lubricant: what is put into the hole, "grease"; "" for a revolving centre.
    """

    name: str
    kind: CentreKind
    cone_angle: Quantity
    point_diameter: Quantity
    body_diameter: Quantity
    reach: Quantity
    flat: Quantity
    flat_length: Quantity
    fastest: Quantity
    fastest_surface: Quantity
    lubricant: str
    where: Where


@frozen
class Carrier:
    """A carrier (the clamp that drives work between centres).

    Attributes:
        swing: diameter swept by its tail and screw, mm.
        width: along the axis, mm.
        grip_least, grip_most: the least and the greatest diameter that it takes, mm.
        fastest: the highest speed at which it may be driven, rev/min.
    """

    name: str
    swing: Quantity
    width: Quantity
    grip_least: Quantity
    grip_most: Quantity
    fastest: Quantity
    where: Where


@frozen
class Chuck:
    """A collet or chuck.

    Attributes:
        kind: "collet" or "chuck".
        nose_diameter: diameter of its front, jaws included, mm.
        nose_length: from its front back to the spindle nose, mm.
        grip_least, grip_most: the least and the greatest diameter that it takes, mm.
        grip_length: length of work that it needs inside, mm.
        fastest: the highest speed at which it may turn, rev/min.
    """

    name: str
    kind: Literal["collet", "chuck"]
    nose_diameter: Quantity
    nose_length: Quantity
    grip_least: Quantity
    grip_most: Quantity
    grip_length: Quantity
    fastest: Quantity
    where: Where


@frozen
class Outline:
    """A solid part of a tool or its holder that must not touch anything.

    Attributes:
        name: for example "shank" or "tool post".
        polygon: convex; relative to the programmed point, z toward the tailstock, x away from the axis.
    """

    name: str
    polygon: Polygon


@frozen
class Tool:
    """A tool as it stands in the post. Its programmed point is the imaginary sharp tip.

    The tip of a right-hand turning tool is where the line z = least z of the nose meets
    x = least x of the nose, so the nose's centre lies at (+nose_radius, +nose_radius) from it. A
    grooving tool's point is the same corner on its headstock side. hand "left" mirrors z. A threading tool's point
    is the lowest place of its nose, in the middle of its vee: the nose's centre lies at (0, +nose_radius) from it.

    Attributes:
        number: T word, 1 to 9.
        kind: "turning", "grooving" (undercuts, parting off) or "threading".
        material: "HSS" or "carbide".
        hand: "right" cuts toward the headstock.
        nose_radius: mm; > 0 for turning.
        approach: angle between the leading edge and the direction of feed, degrees (at 93 it leans
            3 degrees back, so that the tool can face outward); 90 for grooving; for a threading tool, of its headstock
            flank.
        shape: ISO 1832 letter of the insert, "D"; "" for a ground tool and for grooving. R (round) has no
            corner: its nose radius is the insert's radius, and included is 0.
        included: angle between leading and trailing edge, degrees; zero for grooving and for a round insert; for a
            threading tool, the angle of its vee.
        edge: length of the trailing edge from the tip (turning), or the depth that a groove may have (grooving,
            threading), mm.
        width: of a grooving tool, or of a threading tool's blade above its vee, mm; zero for turning.
        minimum_cut, deepest_cut: depths per side, mm.
        rough_feed, finish_feed: mm/rev; zero for threading, which is fed by the pitch.
        outlines: insert seat, shank, post and the like; all convex. Empty where the file says outline = "tip only":
            holder and post are then not checked.
        text: how it was given, "ISO 1832 shape D" or "ground: 60 deg".
    """

    number: int
    name: str
    kind: ToolKind
    material: Literal["HSS", "carbide"]
    hand: Literal["right", "left"]
    nose_radius: Quantity
    approach: Quantity
    shape: str
    included: float
    edge: Quantity
    width: Quantity
    minimum_cut: Quantity
    deepest_cut: Quantity
    rough_feed: Quantity
    finish_feed: Quantity
    outlines: tuple[Outline, ...]
    text: str
    where: Where

    @property
    def tip_only(self) -> bool:
        """Whether nothing is known of the tool's body, so that its holder and post cannot be checked."""
        return not self.outlines

    @property
    def trailing(self) -> float:
        """Return the angle between the trailing edge and the axis, degrees (turning); 90 for grooving."""
        return 90.0 if self.kind == "grooving" else 180.0 - self.approach - self.included


@frozen
class Material:
    """A row of the material table.

    Attributes:
        name: as the part file gives it.
        speed: kind of tool -> (least, most) cutting speed, m/min.
        kc11, mc: Kienzle's constants, N/mm2 and none; an estimate good to 50 % at clock-size chips.
        modulus: Young's, N/mm2.
        source: where the figures come from, and their standing.
        density: g/cm3; zero where not given.
        expansion: per K; zero where not given.
        spread: the least and the most that tables give for kc11, N/mm2; (0, 0) where not given.
        standings: (figure, standing, source) of each row, for the figures "speed HSS", "speed carbide", "force" and
            "bulk"; built-in rows alone have them.
    """

    name: str
    speed: dict[str, tuple[float, float]]
    kc11: float
    mc: float
    modulus: float
    source: str
    density: float = 0.0
    expansion: float = 0.0
    spread: tuple[float, float] = (0.0, 0.0)
    standings: tuple[tuple[str, str, str], ...] = ()

    def source_of(self, figure: str) -> str:
        """Return standing and source of each row of one figure, "memory: cast tin bronze", or the user's own words."""
        said = [f"{standing}: {source}" for own, standing, source in self.standings if own == figure]
        return "; ".join(said) or self.source


@frozen
class Shop:
    """Everything in the shop file.

    Attributes:
        path, digest: the file as named, and the SHA-256 of its bytes.
        materials: the built-in table with the user's rows added or in place of others, by any usual name
            (cam.shop.materials).
        milling: the mill and its cutters; neither where the file has none.
        dies: names of the threads for which there are dies, as written; None where the file does not say.
    """

    lathe: Lathe
    centres: tuple[Centre, ...]
    carriers: tuple[Carrier, ...]
    chucks: tuple[Chuck, ...]
    tools: tuple[Tool, ...]
    materials: Mapping[str, Material]
    path: str
    digest: str
    milling: Milling = NO_MILLING
    dies: tuple[str, ...] | None = None

    @property
    def noses(self) -> tuple[float, ...]:
        """Return the nose radii of the right-hand turning tools, which may cut a corner, mm."""
        return tuple(float(t.nose_radius) for t in self.tools if t.kind == "turning" and t.hand == "right")
