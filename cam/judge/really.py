"""The metal as this lathe leaves it, with its slides' backlash and its cone, beside what the text says."""

from __future__ import annotations

from collections.abc import Iterator

from cam.geometry.path import Arc, Chain, Line, Point, bounds, shift
from cam.judge.envelope import Metal, Piece, from_chain
from cam.judge.late import moved_with_work
from cam.judge.near import NO_HIT, Hit, worst_hit
from cam.judge.play import Play, Slides
from cam.judge.result import cover
from cam.judge.sweep import Underside, along, find_underside
from cam.judge.threading import vees
from cam.rs274.model import Motion, Program
from cam.setting.cone import cone_radius
from cam.setting.model import Setting
from cam.shop.model import Lathe, Shop
from cam.shop.tool_shape import tool_bodies


class Really:
    """Metal that the slides, not the screws, cut.

    Args:
        pieces: the metal before the program. play: backlash of the slides.
            setting: gives the cone that the plan takes into account.
    """

    def __init__(self, pieces: list[Piece], play: Play, setting: Setting) -> None:
        self.metal = Metal(pieces)
        self.slides = Slides(play)
        self.setting = setting

    def move(self, number: int, motion: Motion, under: Underside | None) -> Hit:
        """Carry out a motion and cut with it; return what a rapid runs into, and nothing for any other motion.

        Args:
            number: number of the motion in the text. under: underside of the tool's nose; None where there is no tool.
        """
        worst = NO_HIT
        for way in self.slides.paths(motion):
            if under is None:
                continue
            for path in _at_one_angle(motion, way):
                leaned = self._lean(path) if self.setting.cone else path
                removed = along(Metal.cut, self.metal, under, leaned, bounds(leaned), number)
                if removed and motion.kind == "rapid":
                    worst = max(worst, worst_hit(removed), key=lambda hit: hit.amount)
        return worst

    def _lean(self, path: Line | Arc) -> Line | Arc:
        """Return a path as it lies to the work: its radii differ by the cone from those that X says.

        An arc is moved as a whole, by its middle: one of 5 mm along Z on the steepest cone is off by 1 um at its ends.
        """
        if isinstance(path, Line):
            (z0, x0), (z1, x1) = path.start, path.end
            return Line(Point(z0, x0 + cone_radius(self.setting, z0)), Point(z1, x1 + cone_radius(self.setting, z1)))
        off = cone_radius(self.setting, (path.start.z + path.end.z) / 2)
        return shift((path,), 0.0, off)[0]


def _at_one_angle(motion: Motion, path: Line | Arc) -> Iterator[Line | Arc]:
    """Return what a motion cuts at one angle of turning: all of its path, or for a thread the vee of every turn.

    Turns count from where the text begins the pass, in whichever place the slide stood then: until its play is taken up
    it stands still.
    """
    (z0, x), (z1, _) = path.start, path.end
    if motion.kind != "thread" or not motion.feed or isinstance(path, Arc) or z0 == z1:
        yield path
        return
    for turn in vees(Line(Point(motion.start.z, x), path.end), motion.feed):
        place = Point(min(turn.z, z0) if z1 < z0 else max(turn.z, z0), x)
        yield Line(place, place)


def really_of(pieces: list[Piece], setting: Setting, lathe: Lathe, *, play: bool) -> Really | None:
    """Return the metal of a lathe with backlash (if play) or a cone; None without, where the text is what happens.

    The slides are taken to stand at the far end of their play before the program, where they cut deepest.
    """
    x, z = (float(lathe.x.backlash), float(lathe.z.backlash)) if play else (0.0, 0.0)
    return Really(pieces, Play(x, z, loose=True), setting) if x or z or setting.cone else None


def cut_with_play(program: Program, setting: Setting, shop: Shop, play: Play, stock: Chain | None) -> Metal:
    """Return the metal that a program leaves on slides with some backlash.

    Args:
        program, setting, shop, stock: as for simulate.
    """
    unders = {t.number: find_underside(tool_bodies(t)[0].polygon, float(t.nose_radius)) for t in shop.tools}
    before = from_chain(setting.stock if stock is None else stock)
    really = Really(cover(before, setting.head_z, setting.stock_end_z), play, setting)
    for number, said in enumerate(program.motions):
        motion = moved_with_work(said, shop.tool(said.tool), setting)
        really.move(number, motion, unders.get(motion.tool))
    return really.metal
