"""The sections as one setting is to leave them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from cam.ground.frozen import Row, frozen
from cam.ground.problem import Problem, problem
from cam.ground.tolerances import ROUNDING
from cam.lengths.solved import Solved
from cam.part.checks import is_groove
from cam.part.features import Corner, Edge, End
from cam.part.model import Section
from cam.setting.aims import Aims
from cam.setting.by_hand import edges_by_hand, finished_off
from cam.setting.model import Placed, Turned
from cam.setting.words import say


@frozen
class TurnedWork:
    """What is to be turned in one setting, and what stands around it.

    Attributes:
        end: the end being turned.
        axes: the setting, as far as where its work lies is known.
        indices: those of the sections, from that end inward.
        end_z: Z of the end as it will be; it is extra_length mm further out than the finished end.
        later: indices of the sections that the other setting still turns.
        problems, reasons: lists to which what comes up is added.
        spares: those of the faces, by their number from the A end, as cam.setting.shoulders has them.
    """

    part: Solved
    aims: Aims
    end: End
    axes: Placed
    indices: tuple[int, ...]
    end_z: float
    extra_length: float
    later: tuple[int, ...]
    problems: list[Problem]
    reasons: list[str]
    spares: Mapping[int, tuple[float, float]]

    def spare(self, index: int) -> tuple[float, float] | None:
        """Return how far a section's far shoulder may stand toward headstock and tailstock, mm; None without limits."""
        groove = self.groove(index)
        last = index if groove is None else groove
        found = self.spares.get(last + 1 if self.end == "A" else last)
        return found[::-1] if found is not None and self.end == "A" else found

    def section(self, index: int) -> Section:
        """Return the section at this place in the part."""
        return self.part.sections[index]

    def radii(self, index: int) -> tuple[float, float]:
        """Return the radii as turned (or bought): toward the end being turned, and away from it, mm."""
        a, b = self.aims.diameters[index]
        return (a / 2, b / 2) if self.end == "A" else (b / 2, a / 2)

    def near_of(self, index: int) -> float:
        """Return Z of a section's nominal tailstock-side end."""
        section = self.section(index)
        return self.axes.to_setting(section.start if self.end == "A" else section.end)

    def far_of(self, index: int) -> float:
        """Return Z of a section's nominal headstock-side end, a groove beside it counted in."""
        groove = self.groove(index)
        section = self.section(index if groove is None else groove)
        return self.axes.to_setting(section.end if self.end == "A" else section.start)

    def next(self, index: int) -> int | None:
        """Return the next section toward the headstock; None after the last."""
        found = index + 1 if self.end == "A" else index - 1
        return found if 0 <= found < len(self.part.sections) else None

    def radius_at(self, index: int, z: float) -> float:
        """Return the radius of a section at a Z, or of what it is carried on to there, mm."""
        return self.radii(index)[0] + _growth(self, index) * (self.near_of(index) - z)

    def groove(self, index: int) -> int | None:
        """Return the undercut section at its headstock side, if it is cut with this one; None if there is none.

        A groove belongs to the thinner of its neighbours or, of equals, to the outer one.
        """
        found = self.next(index)
        if found is None or not is_groove(self.part, found):
            return None
        beyond = self.next(found)
        return found if beyond is not None and self.section(beyond).thickest >= self.section(index).thickest else None

    def beyond(self, index: int) -> int | None:
        """Return the next section toward the headstock that is no groove."""
        groove = self.groove(index)
        return self.next(index if groove is None else groove)

    def face_left(self, index: int) -> float:
        """Return what is left on the face at its headstock side for later, mm."""
        groove = self.groove(index)
        return self.section(index if groove is None else groove).finish.on_face

    def near_edge(self, index: int) -> Edge | None:
        """Return the outer edge toward the end being turned; None if none is cut."""
        section = self.section(index)
        edge = section.edge_a if self.end == "A" else section.edge_b
        return None if edge is None or edge.kind == "sharp" or finished_off(section, edge) else edge

    def far_corner(self, index: int) -> Corner | None:
        """Return the inner corner away from the end being turned; a groove there counts as that corner's undercut."""
        section, groove = self.section(index), self.groove(index)
        if groove is None:
            return section.corner_b if self.end == "A" else section.corner_a
        undercut = self.section(groove)
        carried = _growth(self, index) * (undercut.end - undercut.start)  # a taper goes on over the groove
        depth = self.radii(index)[1] + carried - min(self.radii(groove))
        edge = section.edge_b if self.end == "A" else section.edge_a
        if edge is not None and edge.kind != "sharp":
            self.problems.append(_edge_at_groove(section, undercut, edge, self.end))
        if depth <= ROUNDING:
            self.problems.append(_falls(self, index, groove))
        roundest = min((c.radius for c in (undercut.corner_a, undercut.corner_b) if c is not None), default=0.0)
        width = undercut.end - undercut.start - undercut.finish.on_face
        text, where = f'groove "{undercut.name}"', undercut.where
        return Corner(kind="undercut", radius=roundest, width=width, depth=depth, text=text, where=where)


class Far(Row):
    """What a section ends in at its headstock side."""

    z: float
    kind: Literal["shoulder", "level", "open"]
    radius: float
    edge: Edge | None


def make_turned(work: TurnedWork) -> tuple[Turned, ...]:
    """Make every section of the setting from the tailstock to the headstock, chained face to face."""
    found: list[Turned] = []
    near, before = work.end_z, ""
    for index in work.indices:
        far = _far_end(work, index)
        edge = work.near_edge(index) if before != "level" else None
        if not found and work.extra_length > 0:
            edge = None
            work.reasons.append(_tell_extra_length(work, index))
        radius_near, radius_far = (work.radius_at(index, z) for z in (near, far.z))
        extra_length = 0.0 if found else work.extra_length
        thin = min(work.radius_at(index, near - extra_length), radius_far)
        found.append(
            Turned(
                section=work.section(index),
                near=near,
                far=far.z,
                radius_near=radius_near,
                radius_far=radius_far,
                edge=edge,
                corner=work.far_corner(index) if far.kind == "shoulder" else None,
                far_kind=far.kind,
                far_radius=far.radius if far.kind == "shoulder" else radius_far,
                far_edge=far.edge,
                extra_length=extra_length,
                carried=2 * (thin - min(work.radii(index))),
                spare=work.spare(index) if far.kind == "shoulder" else None,
            )
        )
        near, before = far.z, far.kind
    return tuple(found)


def _growth(work: TurnedWork, index: int) -> float:
    """Return the growth of the radius per mm toward the headstock; exactly zero on a cylinder.

    A taper runs through its diameters at the nominal ends; extra length, face allowances and a groove beside it
    carry it on.
    """
    near, far = work.radii(index)
    section = work.section(index)
    return (far - near) / (section.end - section.start)


def _tell_extra_length(work: TurnedWork, index: int) -> str:
    section, size = work.section(index), say(work.extra_length, work.part)
    by_hand = [e for e in edges_by_hand(work.part) if e.end == work.end and e.section.name == section.name]
    then = "".join(f", and the edge ({e.edge.text}) is made then" for e in by_hand)
    turned = f'{size} of extra length is turned together with "{section.name}"'
    return f"{turned}; it is cut off after turning, by hand{then}."


def _far_end(work: TurnedWork, index: int) -> Far:
    """Return where the section ends and in what; the Z includes face allowances."""
    nominal, beyond = work.far_of(index), work.beyond(index)
    radius = work.radius_at(index, nominal)
    if beyond is None:
        _note_edge_by_hand(work, index)
        return Far(nominal, "open", radius, None)
    next_radius = work.radii(beyond)[0]
    here, rises = beyond in work.indices, next_radius > radius + ROUNDING
    face = nominal + work.face_left(index)
    if work.groove(index) is not None and not rises:
        return _far_at_groove(work, index, beyond, radius, face)
    if here and abs(next_radius - radius) <= ROUNDING:
        return Far(nominal, "level", radius, None)
    if not rises:
        if here:
            work.problems.append(_falls(work, index, beyond))
        return Far(nominal - work.section(beyond).finish.on_face, "open", radius, None)
    if beyond in work.later:
        _check_edge_can_wait(work, beyond)
        return Far(face, "shoulder", float(work.part.stock.diameter) / 2, None)
    if here:
        return Far(face, "shoulder", work.radius_at(beyond, face), None)
    return Far(face, "shoulder", next_radius, work.near_edge(beyond))


def _far_at_groove(work: TurnedWork, index: int, beyond: int, radius: float, face: float) -> Far:
    """Return the shoulder past a groove whose far side is no higher than the section: as high on both sides of it."""
    if _growth(work, index) > 0:
        work.problems.append(_stands_above(work, index, beyond, radius))
    face_radius = float(work.part.stock.diameter) / 2 if beyond in work.later else work.radii(beyond)[0]
    return Far(face, "shoulder", max(face_radius, radius), None)


def _stands_above(work: TurnedWork, index: int, beyond: int, radius: float) -> Problem:
    one, two = work.section(index), work.section(beyond)
    groove = work.section(work.groove(index) or index)
    what = f'the taper "{one.name}" goes on over the groove "{groove.name}" and would stand above "{two.name}"'
    allowed = f"less than {say(2 * work.radii(beyond)[0], work.part)}"
    fix = "put a short cylinder between the taper and the groove, or make the groove narrower"
    return problem(one.where, what, f"{say(2 * radius, work.part)} where the groove ends", allowed, fix)


def _falls(work: TurnedWork, index: int, beyond: int) -> Problem:
    one, two = work.section(index), work.section(beyond)
    sizes = f"{say(2 * work.radii(index)[1], work.part)} and {say(2 * work.radii(beyond)[0], work.part)}"
    what = f'as turned "{two.name}" would be thinner than "{one.name}", and lies behind it'
    fix = "give them limits and allowances under which the step keeps its direction"
    return problem(two.where, what, f"{sizes}, with the limits and allowances of each", fix=fix)


def _edge_at_groove(section: Section, undercut: Section, edge: Edge, end: End) -> Problem:
    side = "b" if end == "A" else "a"
    what = f'the edge of "{section.name}" at the groove "{undercut.name}" faces away from the tool'
    fix = f'write edge_{side} = "sharp" in section "{section.name}" and break that edge by hand'
    return problem(edge.where, what, edge.text, fix=fix)


def _check_edge_can_wait(work: TurnedWork, beyond: int) -> None:
    """Report an edge, at a face that is made now, of a section turned later: it can be cut in neither setting."""
    edge = work.near_edge(beyond)
    if edge is None:
        return
    other = "B" if work.end == "A" else "A"
    name = work.section(beyond).name
    what = f'the edge of "{name}" toward the {work.end} end cannot be cut if that end is turned first'
    given = f'"{name}" is turned later, in the other setting, which cannot reach that edge'
    fix = f'turn the {other} end first, or make that edge "sharp" and break it by hand'
    work.problems.append(problem(edge.where, what, given, fix=fix))


def _note_edge_by_hand(work: TurnedWork, index: int) -> None:
    section = work.section(index)
    by_hand = [e for e in edges_by_hand(work.part) if e.end != work.end and e.section.name == section.name]
    text = "".join(f"; its edge there ({e.edge.text}) is made by hand" for e in by_hand)
    work.reasons.append(f'"{section.name}" runs on into the stock beyond it, to be cut off after turning{text}.')
