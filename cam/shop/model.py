"""What the workshop has: lathe, centres, carriers, chucks, tools. Described once."""

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
        positions: belt positions, slowest first; empty where slowest and fastest give a range.
        slowest, fastest: rev/min; of the positions where there are positions.
        power: of the motor, W. torque: the most at the spindle at any speed, N m; 0 where not said.
        feeds_per_revolution: True where the control knows the spindle's turn (an encoder).
        constant_surface_speed: True where the control can hold it.
        spin_up: that it takes to come to its speed, s, for which programs wait; 0 where not said.
        by_switch: True where a person switches it, and the program only asks for it.
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
        kind: "stepper" (programs and the summary) or "hand" (the summary alone). By hand all else here is ours, and
            stands for the text by which the passes are judged.
        dialect: name of a dialect, "rs274ngc".
        x_words: whether X words in the program text are radii or diameters.
        rapid: greatest rapid rate, mm/min; for the time estimate. Without text where no hand-worked lathe's was given.
        units: of the program text.
        facts: what it was seen to be and to do.
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
            it and the passes are made by hand.
        fastest: the spindle at most while a thread is cut, rev/min.
        acceleration: of the Z slide, mm/s2; 0 with change wheels.
        leadscrew: its pitch, mm; 0 with an encoder.
        wheels: teeth of the change wheels that there are, one alike for each; none with an encoder.
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
        swing: greatest diameter over the bed, mm. swing_over_slide: over the cross slide, mm.
        between_centres: greatest distance, mm.
        tool_post: "front" (operator's side) or "rear".
        x, z: the slides. spindle, control: as above.
        least_feed, most_feed: mm/rev.
        barrel_diameter: of the tailstock barrel, mm.
        barrel_extension: how far it stands out of the tailstock body in use, mm.
        tailstock_radius: of the tailstock body about the axis, on the tool's side, mm.
        plate_diameter: of the catch plate or spindle nose, mm.
        centre_projection: from the plate's face to the point of the headstock centre, mm.
        rapid_clearance: kept between rapids and anything solid, mm.
        contact_clearance: least that anything may come to a centre, carrier or chuck, mm.
        cone: by how much a plain bar comes out larger toward the tailstock, mm of diameter for each mm; negative
            where smaller; 0 for a true lathe, or none known. corrects_cone: whether the plan takes it into account.
        slide_force: the most that a slide's drive pushes, N; 0 where not said.
        warmer: how much warmer than the shop the work is after roughing, K; 0 where not said.
        threading: how it cuts threads; None for not at all but by die.
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
        """Whether it has no control: no program runs on it."""
        return self.control.kind == "hand"


@frozen
class Centre:
    """A tailstock centre.

    Attributes:
        cone_angle: included, degrees.
        point_diameter: where the cone ends and the body begins, mm.
        body_diameter: of what follows the cone, mm; >= point_diameter.
        reach: from the point to the barrel's face, mm.
        flat: half centre only: height of its flat above the axis on the tool's side, mm; 0 otherwise.
        flat_length: half centre only: from the point, mm; 0 otherwise.
        fastest: revolving centre only: of its bearings, rev/min; 0 otherwise.
        fastest_surface: of any other, in which the work rubs: speed at the mouth of the centre hole, m/min, with its
            lubricant; 0 for a revolving centre.
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
        grip_least, grip_most: diameters it takes, mm.
        fastest: that it may be driven, rev/min.
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
        nose_diameter: of its front, jaws included, mm.
        nose_length: from its front back to the spindle nose, mm.
        grip_least, grip_most: diameters it takes, mm.
        grip_length: length of work it needs inside, mm.
        fastest: that it may turn, rev/min.
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
        name: "shank", "tool post".
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
        approach: angle between the leading edge and the direction of feed, degrees (93: it leans
            3 degrees back, so the tool can face outward); 90 for grooving; of a threading tool its headstock flank.
        shape: ISO 1832 letter of the insert, "D"; "" for a ground tool and for grooving. R (round) has no
            corner: its nose radius is the insert's radius, and included is 0.
        included: between leading and trailing edge, degrees; 0 for grooving and for a round insert; of the vee of a
            threading tool.
        edge: length of the trailing edge from the tip (turning), or depth a groove may have (grooving, threading), mm.
        width: of a grooving tool, or of a threading tool's blade above its vee, mm; 0 for turning.
        minimum_cut, deepest_cut: depth per side, mm.
        rough_feed, finish_feed: mm/rev; 0 for threading, which is fed by the pitch.
        outlines: insert seat, shank, post...; all convex. Empty where the file says outline = "tip only": then holder
            and post are not checked.
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
        """Angle between the trailing edge and the axis, degrees (turning); 90 for grooving."""
        return 90.0 if self.kind == "grooving" else 180.0 - self.approach - self.included


@frozen
class Material:
    """A row of the material table.

    Attributes:
        name: as the part file says it.
        speed: kind of tool -> (least, most) cutting speed, m/min.
        kc11, mc: Kienzle's constants, N/mm2 and none; an estimate good to 50 % at clock-size chips.
        modulus: Young's, N/mm2.
        source: where the figures come from, and their standing.
        density: g/cm3, 0 where not said. expansion: for each K, 0 where not said.
        spread: least and most that tables give kc11, N/mm2; (0, 0) where not said.
        standings: (figure, standing, source) of each row, figures "speed HSS", "speed carbide", "force", "bulk";
            built-in rows alone.
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
        """Standing and source of each row of one figure: "memory: cast tin bronze"; of a user's own, what it says."""
        said = [f"{standing}: {source}" for own, standing, source in self.standings if own == figure]
        return "; ".join(said) or self.source


@frozen
class Shop:
    """Everything in the shop file.

    Attributes:
        path, digest: the file as named, SHA-256 of its bytes.
        materials: the built-in table with the user's rows added or replacing, by any usual name (cam.shop.materials).
        milling: the mill and its cutters; none of either where the file has none.
        dies: names of the threads that there are dies for, as written; None where the file does not say.
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
        """Nose radii of the right-hand turning tools, mm: those that may cut a corner."""
        return tuple(float(t.nose_radius) for t in self.tools if t.kind == "turning" and t.hand == "right")
