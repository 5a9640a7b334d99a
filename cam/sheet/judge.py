"""The judgement on a sheet: read from its printed text, set on this machine's dials, and cut with."""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Sequence
from dataclasses import replace

from cam.geometry.path import Chain
from cam.ground.problem import Problem
from cam.ground.quantity import Quantity
from cam.judge import simulate
from cam.judge.envelope import Metal, from_chain
from cam.judge.model import Finding, Moment, Simulation
from cam.judge.report import TOLERANCE
from cam.part.features import undercut_at
from cam.rs274.model import Program
from cam.setting.model import Setting, Turned
from cam.sheet.dials import Unit, say
from cam.sheet.edges import check_edges, rounded
from cam.sheet.hand import BY_EYE, hand_motions
from cam.sheet.limits import Spare, edge_spare, loosen, said_turned, spare_of, step_on_diameter
from cam.sheet.measured import check_measured
from cam.sheet.model import CutRead, PointsRow, Reached, Sheet, SheetVerdict
from cam.sheet.read import read_sheet
from cam.sheet.reader import said_of
from cam.sheet.standing import (
    Around,
    Pieces,
    check_measures,
    check_rows,
    diameters_at,
    edges_past,
    shoulder_sizes,
)
from cam.shop.model import Lathe, Material, Shop

FAST = 1.05
"""A cutting speed at the diameter that is left may pass the material's greatest by this factor, as it is rounded."""
HURRIED = 1.15
"""A hand may feed faster than is said by this factor, as seconds and feeds are rounded."""


def judge_sheet(
    text: str, setting: Setting, shop: Shop, *, path: str = "sheet", unit: Unit = "mm", material: Material | None = None
) -> SheetVerdict:
    """Judge one setting's page by its printed text alone: what it says, and what a hand that does it cuts.

    Args:
        text: text of the page, or of all pages; plain, or of the print form.
        setting, shop: as for simulate. path: path of the text. unit: unit of the text's figures.
        material: material of the work; its greatest cutting speed then holds; None where it is not known.
    """
    sheet = read_sheet(text, setting, shop, path=path, unit=unit)
    if sheet.problems:
        program = Program(motions=(), problems=(), lines=sheet.lines, comments=())
        return SheetVerdict(
            sheet=sheet, program=program, simulation=None, reached=(), problems=sheet.problems, left=setting.stock
        )
    return _Judge(sheet, setting, shop, text.splitlines()).judge(material)


STONE = 0.06
"""The largest edge that a page may leave to a stone, mm: finer than marks and nose can make it."""


class _Judge:
    """Cuts by a sheet, begun as far out as a hand may begin by eye, and again as far in."""

    def __init__(self, sheet: Sheet, setting: Setting, shop: Shop, lines: Sequence[str]) -> None:
        self.sheet, self.setting, self.shop, self.lines = sheet, setting, shop, lines
        self.ridge = max((r.ridge for r in sheet.rows if isinstance(r, PointsRow)), default=0.0)
        self.loose = loosen(replace(setting, threads=()), shop.lathe, sheet.coarse, self.ridge)
        self.around: dict[int, Around] = {}

    def judge(self, material: Material | None) -> SheetVerdict:
        """Judge the whole page."""
        program = hand_motions(self.sheet, self.shop, self.setting, start="further")
        far = self.watch(program)
        near = self.cut(hand_motions(self.sheet, self.shop, self.setting, start="nearer"), backlash=False)
        problems = list(self.describe(far, near))
        problems += check_rows(self.sheet, self.setting, self.around, float(self.shop.lathe.z.division))
        problems += check_measures(self.sheet, self.setting, self.around)
        problems += check_measured(self.sheet, self.setting, self.around)
        problems += check_edges(self.sheet, self.setting, self.shop, self.around)
        problems += check_tools(self.sheet, self.shop)
        problems += check_feeds(self.sheet, self.shop)
        problems += check_speeds(self.sheet, self.shop, material)
        return SheetVerdict(
            sheet=self.sheet, program=program, simulation=far, reached=tuple(self.sizes(far.result)),
            problems=tuple(sorted(set(problems))), left=far.result,
        )  # fmt: skip

    def cut(self, program: Program, *, backlash: bool = True) -> Simulation:
        """Carry out the sheet."""
        return simulate(program, self.loose, self.shop if backlash else _without_backlash(self.shop))

    def watch(self, program: Program) -> Simulation:
        """Carry out the sheet, and note what stands about each row."""
        metals: list[tuple[int, Pieces]] = []

        def watch(moment: Moment) -> None:
            if moment.number < len(program.motions):
                line = program.motions[moment.number].line if moment.number >= 0 else 0
                metals.append((line, moment.metal))

        found = simulate(program, self.loose, self.shop, watch=watch)
        before = metals[0][1]
        for (line, metal), (after, _) in zip(metals[1:], [*metals[2:], (-1, ())], strict=True):
            if line != after:
                self.around[line] = Around(before, metal)
                before = metal
        return found

    def describe(self, far: Simulation, near: Simulation) -> Iterator[Problem]:
        """Say in words what was found while the sheet was cut, begun further out and nearer."""
        by_eye = self.begun_by_eye()
        wrong_far, wrong_near = self.wrong(far, by_eye), self.wrong(near, by_eye)
        if not wrong_far and not wrong_near:
            return
        as_printed = self.cut(hand_motions(self.sheet, self.shop, self.setting))
        printed = self.wrong(as_printed, by_eye if self.control_sets_z else ())
        yield from (self.problem(f, "") for f in printed)
        known = {(f.line, f.kind) for f in printed}
        for findings, way in ((wrong_far, "further from"), (wrong_near, "nearer to")):
            more = f", where it is begun by eye {say(BY_EYE, self.sheet.unit, 2)} {way} the headstock"
            yield from (self.problem(f, more) for f in findings if (f.line, f.kind) not in known)

    @property
    def control_sets_z(self) -> bool:
        """Tell whether Z is no hand's to set."""
        return self.shop.lathe.z.reading == "none" and self.shop.lathe.control.kind != "hand"

    def begun_by_eye(self) -> set[int]:
        """Return the lines of rows along Z that a hand's eye begins, or a control."""
        rows = [r for r in self.sheet.rows if isinstance(r, CutRead) and r.along]
        return {r.line for r in rows if r.by_eye or self.control_sets_z}

    def wrong(self, cut: Simulation, by_eye: Container[int]) -> list[Finding]:
        """Return the findings that a page may not have; by_eye: the lines of rows begun by eye."""
        return [f for f in cut.findings if not self.allowed(f, by_eye)]

    def problem(self, finding: Finding, more: str) -> Problem:
        """Return a finding as a problem, with the line of the page as given."""
        fix = "a line FROM BY DIAL with the start's reading, or another start" if more else ""
        return said_of(finding, self.sheet.path, self.lines, fix, more)

    def allowed(self, finding: Finding, by_eye: Container[int]) -> bool:
        """Tell whether a page may have a finding: within what a section may be off, or near only by a hand's eye."""
        if finding.kind == "contact":
            return finding.amount == 0.0 and finding.line in by_eye
        if finding.kind == "unfaced shoulder":  # a blade that leans leaves a wedge, thinner than Z is set
            return finding.amount <= float(self.shop.lathe.z.division) / 2.0
        if finding.kind not in ("gouge", "uncut") or finding.at is None:
            return False
        return finding.amount <= self.spare(finding.at.z, uncut=finding.kind == "uncut") + 2.0 * TOLERANCE

    def spare(self, z: float, *, uncut: bool) -> float:
        """How far what is left may be off the outlines, mm, which allow for it but at edges and corners."""
        edge = edge_spare(self.shop.lathe) + (self.ridge if uncut else 0.0)
        found = [0.0]
        for said in said_turned(self.setting):
            if any(low - edge <= z <= high + edge for low, high in (*rounded(said), *undercut(said))):
                found.append(edge)
            if uncut:
                found.append(self.stoned(said, z, edge))
        return max(found)

    def stoned(self, said: Turned, z: float, off: float) -> float:
        """How much stands at a place, mm, for an edge left to a stone; off: how far it may be off the edge, mm."""
        if not self.sheet.stoned:
            return 0.0
        at = ((said.edge, said.near), (said.far_edge, said.far))
        near = (e for e, place in at if e is not None and abs(z - place) <= e.size + off)
        return max((min(e.size, STONE) * (math.sqrt(0.5) if e.kind == "chamfer" else math.sqrt(2) - 1) for e in near),
                   default=0.0)  # fmt: skip

    def sizes(self, left: Chain) -> Iterator[Reached]:
        """Return the sizes of every section and shoulder that is left, compared with what is wanted."""
        metal, lathe, turned = Metal(from_chain(left)), self.shop.lathe, said_turned(self.setting)
        for plain, said, edge in zip(self.setting.turned, turned, edges_past(turned), strict=True):
            spare = spare_of(self.setting, plain, lathe, self.sheet.coarse)
            if not said.is_taper:
                wanted = 2.0 * said.radius_near
                yield Reached(
                    name=plain.section.name, of="diameter", size=diameters_at(metal, said)[0], wanted=wanted,
                    least=wanted - 2.0 * spare.under, most=wanted + 2.0 * spare.over,
                    division=step_on_diameter(lathe.x), given=spare.given,
                )  # fmt: skip
            if said.far_kind == "shoulder":
                yield from self.shoulder(said, shoulder_sizes(metal, said, edge), spare)

    def shoulder(self, said: Turned, sizes: Sequence[float], spare: Spare) -> Iterator[Reached]:
        """Return the sizes of a shoulder, where there is one."""
        wanted = abs(said.far)
        less, more = (spare.short, spare.deep) if said.far < 0 else (spare.deep, spare.short)
        for size in sizes:
            yield Reached(
                name=said.section.name, of="shoulder", size=size, wanted=wanted, least=wanted - less,
                most=wanted + more, division=float(self.shop.lathe.z.division), given=spare.given_z,
            )  # fmt: skip


def undercut(turned: Turned) -> Iterator[tuple[float, float]]:
    """Return the Z range of a section's undercut, from and to; nothing where it has none."""
    if (groove := undercut_at(turned.corner)) is not None:
        yield turned.far, turned.far + groove.width


def check_tools(sheet: Sheet, shop: Shop) -> Iterator[Problem]:
    """Find rows along Z whose tool is made to be fed straight in."""
    for row, tool, _, _ in sheet.cuts_with(shop.tools):
        if isinstance(row, CutRead) and row.along and tool.kind != "turning":
            what = f"cuts along Z with tool {tool.number}, {tool.name}, which is fed straight in"
            yield sheet.problem(row, what, fix="the tool change before it is missing or wrong")


def check_feeds(sheet: Sheet, shop: Shop) -> Iterator[Problem]:
    """Find rows that are fed faster than their tool ever is, or by the Z handle much faster than they should be."""
    for row, tool, _, feed in sheet.cuts_with(shop.tools):
        most = max(float(tool.rough_feed), float(tool.finish_feed))
        if feed > FAST * most:
            fed, bound = (say(value, sheet.unit) for value in (feed, most))
            what = f"is fed {fed} a turn; tool {tool.number}, {tool.name}, is fed {bound} at most"
            yield sheet.problem(row, what)
    for row, feed, seconds in sheet.turned():
        if seconds and 60 * float(shop.lathe.z.turn) / seconds > HURRIED * feed:
            meant = f", and not {60 * float(shop.lathe.z.turn) / feed:.2f}" if feed > 0 else " at no speed or feed"
            yield sheet.problem(row, f"is fed faster than it should be: Z turned in {seconds:g} s{meant}")


def check_speeds(sheet: Sheet, shop: Shop, material: Material | None) -> Iterator[Problem]:
    """Find rows along the axis cut faster than material and tool allow; a shoulder is faced as fast as its cut along.

    Args:
        material: None where it is not known.
    """
    slowest = min([float(p.rpm) for p in shop.lathe.spindle.positions] or [shop.lathe.spindle.slowest])
    if material is None:
        return
    for row, tool, rpm, _ in sheet.cuts_with(shop.tools):
        most, speed = material.speed.get(tool.material, (0.0, math.inf))[1], 0.0
        if isinstance(row, CutRead) and row.along:
            speed = math.pi * row.x * rpm / 1000.0
        if speed > FAST * most and rpm > slowest:
            what = f"cuts at {speed:.0f} m/min; {material.name} is turned at {most:.0f} m/min at most"
            yield sheet.problem(row, what)


def _without_backlash(shop: Shop) -> Shop:
    """Return the same shop with slides that have no backlash, for what does not depend on it."""
    lathe: Lathe = shop.lathe
    none = Quantity(0.0, "0 mm", lathe.where)
    return replace(shop, lathe=replace(lathe, x=replace(lathe.x, backlash=none), z=replace(lathe.z, backlash=none)))
