"""One setting: how the work is held, where Z is zero, what is there before and what is wanted after.

A setting follows from the part and the shop alone, so that a program can be checked without the plan
that made it. Everything here is in the setting's own axes: Z = 0 at the named datum, + toward the
tailstock (or the free end), X a radius.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING, Literal

from cam.geometry.path import Chain, Polygon, ends_of
from cam.ground.frozen import Row, frozen
from cam.ground.problem import Where
from cam.ground.tolerances import AS_GIVEN
from cam.part.features import Corner, Edge, End, size_of
from cam.part.model import Method, Section
from cam.shop.model import Carrier, Centre, Chuck

if TYPE_CHECKING:
    from cam.part.threads import Thread

LEAST_FACE = 0.02
"""A face that can be touched or measured is at least this high, mm. Common practice, no source."""


@frozen
class CentreHole:
    """A 60 degree centre hole by ISO 866 (form A).

    Attributes:
        designation: by ISO 6411, "A 1/2.12".
        pilot: drill diameter d1, mm.
        mouth: countersink's outer diameter d2, mm.
        depth: least total depth, mm.
        reason: "as the part file says", or the rule by which it was chosen and its source.
    """

    designation: str
    pilot: float
    mouth: float
    depth: float
    reason: str


@frozen
class Obstacle:
    """Something solid that the tool must not touch, on the tool's side of the axis.

    Attributes:
        name: "centre cone", "centre body", "barrel", "tailstock", "carrier", "catch plate", "collet", ...
        polygon: convex.
    """

    name: str
    polygon: Polygon


@frozen
class Turned:
    """One section as this setting is to leave it.

    Attributes:
        section: the section of the part.
        near, far: Z of its tailstock-side and headstock-side end, mm; near > far. They include the face allowances
            of this setting (a shoulder with on_face left stands that much further out).
        radius_near, radius_far: radius as turned, mm: the aim within the limits, plus the allowance.
        edge: its outer edge at the near end; None if the near neighbour is not smaller or the edge stays sharp.
        corner: its inner corner at the far end; None where there is no shoulder.
        far_kind: "shoulder" - a face rises at the far end and is to be faced to size; "level" - the far
            neighbour is turned here to the same radius; "open" - nothing more is wanted beyond, the cut
            runs past by some overrun (what lies there is turned smaller in the other setting).
        far_radius: outer radius of the far shoulder's face, mm (the neighbour's near radius, as it will be or
            is); equal to radius_far where far_kind is not "shoulder".
        far_edge: outer edge of the far shoulder where the neighbour is not turned in this setting (finished
            before, or left as stock); otherwise None, as the edge is then that neighbour's own.
        extra_length: length of its near end that is cut off after turning, mm; it may be as thick as the stock there.
        carried: how much larger its thin end is than wanted there, mm of diameter: of a taper that is turned longer or
            shorter, as a face beside it is left for later, or a groove lies there.
        spare: how far its far shoulder may stand from `far` toward the headstock, and toward the tailstock, by the
            limits of lengths, mm; None where there are none.
    """

    section: Section
    near: float
    far: float
    radius_near: float
    radius_far: float
    edge: Edge | None
    corner: Corner | None
    far_kind: Literal["shoulder", "level", "open"]
    far_radius: float
    far_edge: Edge | None
    extra_length: float = 0.0
    spare: tuple[float, float] | None = None
    carried: float = 0.0

    @property
    def size_limits(self) -> tuple[float, float] | None:
        """Return the limits of its diameter as turned, of a taper where its thin end is then, mm; None without any."""
        limits = self.section.turned_limits
        return None if limits is None else (limits[0] + self.carried, limits[1] + self.carried)

    @property
    def rim(self) -> float:
        """Return the radius at its near end below its edge, mm."""
        return self.radius_near - size_of(self.edge)

    @property
    def far_limits(self) -> tuple[float, float] | None:
        """Return the least and the greatest distance of its far shoulder from Z zero, mm; None without limits."""
        if self.spare is None:
            return None
        nearer, further = (self.spare[1], self.spare[0]) if self.far < 0 else self.spare
        return abs(self.far) - nearer, abs(self.far) + further

    @property
    def is_faced(self) -> bool:
        """Tell whether a face stands above it at its far end; past a groove between two of one size none does."""
        return self.far_kind == "shoulder" and self.far_radius > self.radius_far + LEAST_FACE

    @property
    def is_taper(self) -> bool:
        """Tell whether it is turned to a larger radius at one end than at the other."""
        return self.radius_near != self.radius_far

    @property
    def thin_end(self) -> float:
        """Return the Z of the thinner of its own ends, mm: the near one where a taper may go on over extra length."""
        return self.near - self.extra_length if self.radius_near < self.radius_far else self.far

    @property
    def end_radius(self) -> float:
        """Return the radius as turned at the section's own near end, where a taper goes on over extra length, mm."""
        share = self.extra_length / (self.near - self.far) if self.extra_length else 0.0
        return self.radius_near + share * (self.radius_far - self.radius_near)


@frozen
class ThreadWanted:
    """A thread that the program cuts in this setting.

    Attributes:
        section: its name.
        thread: a thread of the tables.
        near, far: Z of the free end's face, and of the end of full thread, mm; near > far.
        shoulder: Z of the face behind its undercut, mm.
        shank: radius as turned, mm.
        least, most: limits of the pitch diameter, mm.
        lowest: the radius below which nothing may be cut along it, mm: the sharp vee of the least pitch diameter.
        where: the part-file line. unit: of the part file.
    """

    section: str
    thread: Thread
    near: float
    far: float
    shoulder: float
    shank: float
    least: float
    most: float
    lowest: float
    where: Where
    unit: Literal["mm", "in"] = "mm"


def limits_of(members: Iterable[Turned]) -> tuple[float, float] | None:
    """Return the limits of a diameter as turned, mm: the strictest of sections turned as one; None for none."""
    limits = [t.size_limits for t in members if t.size_limits is not None]
    return (max(low for low, _ in limits), min(high for _, high in limits)) if limits else None


@frozen
class Correction:
    """What a gauging stop read between the last two cuts on a section, compared with what the program should have left.

    Attributes:
        section: its name.
        radius: how much larger than said the work is, mm; the last cut goes so much deeper.
        face: how much further toward the tailstock than said its shoulder stands, mm.
        text: the correction in words, for the page.
        along: the section whose stop it was, where this one only goes along with that, as the two meet at one size and
            are measured each by itself; its own stop then finds as much more. "" where its own stop read it.
    """

    section: str
    radius: float
    face: float
    text: str
    along: str = ""


NOT_CORRECTED = Correction(section="", radius=0.0, face=0.0, text="")
"""What a section has of which no stop read anything."""


@frozen
class Placed:
    """Where the work lies in one setting, before it is decided how it is held and what is turned.

    Attributes:
        number: 1 or 2.
        end: the end being turned: at the tailstock, or free.
        sign, datum: setting Z = sign * (part z - datum); sign is -1 when the A end is turned.
        datum_words: what Z zero is and how to find it, for the page, one or two sentences.
        end_z: Z of the faced end at the tailstock, or of the finished free end.
        head_z: Z of the stock's other end.
        stock: upper outline of the metal before this setting, from stock_end_z toward head_z: one
            chain of lines and arcs that starts and ends on x = 0. In setting 2 it is the most of setting 1, but
            for the width of the nose that setting 1 must have cut beyond an open end.
        fullest: as stock, but with extra length of an earlier setting as thick as it may stand there.
    """

    number: int
    end: End
    sign: int
    datum: float
    datum_words: str
    end_z: float
    head_z: float
    stock: Chain
    fullest: Chain

    def to_setting(self, z: float) -> float:
        """Return the setting's Z of a part z."""
        return self.sign * (z - self.datum)

    def to_part(self, z: float) -> float:
        """Return the part z of a setting Z."""
        return self.datum + self.sign * z


class Slot(Row):
    """Where a blade parts the part off: Z of its finished face, and the narrowest and the widest blade allowed, mm."""

    z: float
    narrow: float
    wide: float


@frozen
class Setting(Placed):
    """One holding of the part, and what is to be turned in it.

    Attributes:
        method: how the part is held.
        tail_centre: the centre in the tailstock; None for a free end.
        hole: centre hole at the turned end; None for a free end.
        head_hole: centre hole at the other end.
        carrier, chuck: whichever drives the work; the other is None.
        grip: what is gripped, in words.
        grip_near, grip_far: Z range of what is gripped, mm.
        grip_diameter: its diameter, mm.
        protection: thickness of the soft metal under the screw, mm; zero for none.
        face_end: True where this setting faces that end itself (collet or chuck).
        stock_end_z: Z of the stock's end before this setting (differs from end_z only where face_end).
        limit_z: least Z to which the tool may cut.
        turned: the sections turned here, from the tailstock end to the headstock.
        least, most: the outline wanted after this setting, over the same range, starting and ending
            on x = 0: least has sharp inner corners (metal below it must never be cut), most has the
            fillets that are allowed (metal above it must not be left). Outside what this setting
            turns, both equal stock, except for the overrun beyond an "open" last section: there least is
            that section's radius down to limit_z (may be cut), and most is the stock (may be left).
        obstacles: everything solid that the tool must not touch.
        grips_extra: whether the carrier is on extra length that is cut off after turning.
        reasons: each choice that the files did not make, one sentence each.
        corrections: what gauging stops read, by section; least and most are then as the program must say it.
        cone: growth of the diameter toward the tailstock on this lathe, mm per mm, where the plan is to take it into
            account; otherwise zero.
        cone_z: Z at which X is then set true. least and most are as such a lathe leaves the work at best, each run
            right at its middle (cam.setting.cone).
        threads: those that the program cuts; least lies below their vees.
        hand_threads: those cut by hand with change wheels.
        hollow: the radius that may be left, mm, in a hollow where a taper follows a less steep surface: no nose is
            sharp.
        slot: where the program parts the part off; None where it does not. least and most have the slot in them; the
            part lies beyond it.
        spanned: names of the sections turned here whose far shoulder a measured span counts from or to.
        longer: how much longer than drawn the whole part is made, mm, so that each length is in its limits' middle.
    """

    method: Method
    tail_centre: Centre | None
    hole: CentreHole | None
    head_hole: CentreHole | None
    carrier: Carrier | None
    chuck: Chuck | None
    grip: str
    grip_near: float
    grip_far: float
    grip_diameter: float
    protection: float
    face_end: bool
    stock_end_z: float
    limit_z: float
    turned: tuple[Turned, ...]
    least: Chain
    most: Chain
    obstacles: tuple[Obstacle, ...]
    reasons: tuple[str, ...]
    corrections: tuple[Correction, ...] = ()
    cone: float = 0.0
    cone_z: float = 0.0
    grips_extra: bool = False
    threads: tuple[ThreadWanted, ...] = ()
    hand_threads: tuple[ThreadWanted, ...] = ()
    slot: Slot | None = None
    hollow: float = 0.0
    spanned: tuple[str, ...] = ()
    longer: float = 0.0

    @property
    def stock_radius(self) -> float:
        """Return the greatest radius of the metal before this setting, mm."""
        return max(p.x for p in ends_of(self.stock))

    def correction_of(self, names: Collection[str]) -> Correction:
        """Return the correction of sections that are turned as one: the last of them has the shoulder's too."""
        own = [c for c in self.corrections if c.section in names]
        return own[-1] if own else NOT_CORRECTED

    def beyond(self, turned: Turned) -> Turned | None:
        """Return the section at a section's headstock end, if that is turned here."""
        return next((t for t in self.turned if abs(t.near - turned.far) < AS_GIVEN), None)

    def edge_past(self, turned: Turned) -> float:
        """Return the size of the edge at the outer end of a section's headstock face, mm."""
        beyond = self.beyond(turned)
        return size_of(turned.far_edge or (beyond.edge if beyond is not None else None))

    def pitch_on(self, section: str) -> float:
        """Return the pitch of the thread that the program cuts on a section, mm; 0 for none."""
        return next((t.thread.pitch for t in self.threads if t.section == section), 0.0)
