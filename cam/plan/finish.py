"""Finishing, section by section: two equal cuts, a stop to measure between them, each shoulder faced outward."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from cam.geometry.path import Arc, Point, Segment, shift
from cam.plan.bench import CLEAR, Bench, through
from cam.plan.choose_cuts import choose_cuts
from cam.plan.contour import Run, fillet_tip, nose_shift
from cam.plan.measures import measure_finish, measure_semi_finish
from cam.plan.model import Measure, Operation, Pass, PassKind
from cam.setting.model import Correction


def finish_sections(bench: Bench) -> list[Operation]:
    """One operation for each run, the thickest first and the weakest last, with its grooves and fillets."""
    return [
        Operation(name=f"finish {' and '.join(run.names)}", passes=tuple(_finish_run(bench, index)))
        for index, run in reversed(list(enumerate(bench.runs)))
    ]


def _finish_run(bench: Bench, index: int) -> list[Pass]:
    run = bench.runs[index]
    allowance = bench.allowance
    cut = bench.cuts = choose_cuts(bench, run)
    corrected = next((c for c in bench.setting.corrections if c.section in run.names), None)
    deeper, further = (corrected.radius, corrected.face) if corrected is not None else (0.0, 0.0)
    short = allowance.face + CLEAR / 2
    cuts = (
        *(("semi-finish", k * cut.depth, short, ()) for k in range(cut.count - 1, 1, -1)),
        ("semi-finish", cut.depth, allowance.face_cut, measure_semi_finish(bench, run)),
        ("finish", -deeper, -further, measure_finish(bench, run)),
    )
    passes: list[Pass] = []
    for kind, left, face, stops in cuts:
        make = _taper_passes if run.slope else _straight_passes
        passes.extend(make(bench, index, kind, left, face, stops))  # type: ignore[arg-type]
    said = correct_run(run, deeper, further) if corrected is not None else run
    fillet = fillet_tip(said, float(bench.finish_tool.nose_radius))
    if fillet is not None and run.shoulder > run.far_radius:
        passes.append(_fillet_pass(bench, said, fillet))
    if corrected is None:
        return passes
    return [replace(p, cautions=(*p.cautions, _tell(corrected))) if p.kind == "finish" else p for p in passes]


def correct_run(run: Run, deeper: float, further: float) -> Run:
    """A run as the program must say it, so that it comes out as wanted."""
    return replace(
        run,
        radius=run.radius - deeper,
        far_radius=run.far_radius - deeper,
        shoulder=run.shoulder if run.shoulder > run.far_radius else run.shoulder - deeper,
        far=run.far - further,
    )


def _tell(corrected: Correction) -> str:
    return (
        f"Corrected by the stop before, which read {corrected.text}: leave the slides set as they were, "
        "or it is corrected twice."
    )


def rough_radius_beside(bench: Bench, index: int) -> float:
    """Radius still standing on the tailstock side of a run, mm; 0 off the end."""
    return bench.runs[index - 1].far_radius + bench.allowance.side if index else 0.0


def start_beside(bench: Bench, index: int, x: float) -> float:
    """Z at which the finishing tool comes in for a run at radius x, clear of the face at its near end.

    Where the neighbour toward the tailstock stands too high to come in there, further out.
    """
    index = first_clear(bench, index, x)
    if index == 0:
        return bench.start_off_end(bench.finish_tool, x)
    return bench.runs[index].near + bench.allowance.face + bench.gap


def first_clear(bench: Bench, index: int, x: float) -> int:
    """The run at whose near end a pass at radius x over run index may come in: 0 is off the end."""
    while index and rough_radius_beside(bench, index) > x - CLEAR / 2:
        index -= 1
    return index


def come_in(bench: Bench, z: float, x: float, beside: float) -> tuple[tuple[Point, ...], int]:
    """Approach at z down to radius x past a neighbour of radius beside: rapid while clear, then at feed.

    Returns the points and the index of the first that is reached at feed.
    """
    clear = max(x, beside + bench.gap)
    if clear >= bench.safe_x or clear <= x:
        return (Point(z, bench.safe_x), Point(z, x)), 1 if clear > x else 2
    return (Point(z, bench.safe_x), Point(z, clear), Point(z, x)), 2


def _straight_passes(
    bench: Bench, index: int, kind: PassKind, left: float, face: float, stops: Sequence[Measure]
) -> list[Pass]:
    run, tool = bench.runs[index], bench.finish_tool
    x = run.radius + left
    begin = first_clear(bench, index, x)
    start = start_beside(bench, index, x)
    if begin == 0:
        approach, feed_from, ramp = bench.off_end(tool, x, x + _depth(bench, left))
    else:
        approach, feed_from = come_in(bench, start, x, rough_radius_beside(bench, begin))
        ramp = ()
    if run.open:
        end = bench.open_end(run, tool) + bench.allowance.face
        path: Sequence[Segment] = through(Point(start, x), Point(end, x), Point(end, x + bench.allowance.side + CLEAR))
    else:
        path = _along_and_out(run, Point(start, x), run.far + face, bench)
    return [
        bench.make_pass(
            kind,
            tool,
            run.names,
            approach,
            (*through(*ramp, Point(start, x)), *path) if ramp else path,
            diameter=2 * x,
            depth=_depth(bench, left),
            feed=bench.cuts.feed,
            speed_diameter=2 * x,
            feed_from=feed_from,
            measure=stops,
            error=bench.cuts.error,
        )
    ]


def _depth(bench: Bench, left: float) -> float:
    """Depth per side of the cut that leaves so much per side."""
    cuts = bench.cuts
    return cuts.first if cuts.count > 2 and left > (cuts.count - 1.5) * cuts.depth else cuts.depth


def _along_and_out(run: Run, start: Point, face_z: float, bench: Bench) -> tuple[Segment, ...]:
    """Toward the headstock, then the shoulder faced outward; an exact fillet is left full for its own pass."""
    top = max(run.shoulder + bench.allowance.side + CLEAR, start.x + CLEAR)
    if face_z > run.far + bench.allowance.face:
        top = start.x + bench.allowance.side + CLEAR  # a cut that leaves the face alone
    if run.shoulder <= run.far_radius:
        return through(start, Point(run.far, start.x), Point(run.far, start.x + CLEAR))
    full = _full_fillet(bench, run)
    if full is None:
        return through(start, Point(face_z, start.x), Point(face_z, top))
    foot = Point(full.start.z + face_z - run.far, start.x)
    head = Point(face_z, full.end.x + start.x - run.radius)
    return through(start, foot, head, Point(face_z, max(top, head.x + CLEAR)))


def _full_fillet(bench: Bench, run: Run) -> Arc | None:
    """The tip's arc across whose ends turning cuts straight, leaving an exact fillet full; None where there is none.

    Its radius is larger than the fillet's by twice the backlash, because the slide lags when X turns outward.
    The straight cut leaves the cylinder at once: an arc that touched it would finish a little of it moving outward.
    """
    nose = float(bench.finish_tool.nose_radius)
    if fillet_tip(run, nose) is None:
        return None
    return fillet_tip(run, nose, 2 * float(bench.shop.lathe.x.backlash) + 0.02)


def _fillet_pass(bench: Bench, run: Run, fillet: Arc) -> Pass:
    """An exact fillet, cut inward from the face to the surface, so that X never moves outward on it.

    Z goes toward the tailstock on it and so stays behind by its backlash: it is told that much further.
    """
    tool = bench.finish_tool
    top = min(run.shoulder, bench.safe_x) + CLEAR
    full = _full_fillet(bench, run) or fillet
    (arc,) = shift((Arc(fillet.end, fillet.start, fillet.centre, 1),), bench.z_play, 0.0)
    on = full.start.z - fillet.start.z + float(tool.nose_radius) + CLEAR
    beyond = Point(arc.end.z + on, arc.end.x - on * math.tan(run.slope))
    z = run.far + bench.gap
    foot = Point(run.far, arc.start.x)  # from here Z goes back, and stands still until its backlash is taken up
    ahead: tuple[Segment, ...] = through(Point(z, top), Point(run.far, top), foot, arc.start)
    return bench.make_pass(
        "fillet",
        tool,
        run.names,
        (Point(z, bench.safe_x), Point(z, top)),
        (*ahead, arc, *through(arc.end, beyond)),
        diameter=2 * arc.end.x,
        depth=bench.allowance.cut,
        feed=float(tool.finish_feed),
        speed_diameter=2 * arc.start.x,
        z_told=bench.z_play,
    )


def _taper_passes(
    bench: Bench, index: int, kind: PassKind, left: float, face: float, stops: Sequence[Measure]
) -> list[Pass]:
    """A taper cut inward from its large end, toward the tailstock, then its shoulder faced outward.

    X inward and Z toward the headstock are not to be had together on it. So Z goes the other way, its backlash taken
    up before, and is told further by that: the slide, which stays behind by so much, is where it ought to be.
    """
    run, tool = bench.runs[index], bench.finish_tool
    nose = float(tool.nose_radius)
    off = nose_shift(math.sin(run.slope), math.cos(run.slope), nose)
    tan = math.tan(run.slope)
    low = bench.open_end(run, tool) + bench.allowance.face if run.open else run.far + face
    full = _full_fillet(bench, run) if run.shoulder > run.far_radius else None
    face_z, foot = low, -math.inf
    if full is not None:
        low, foot = full.start.z + face, full.end.x + left
    behind = bench.z_play
    high = min(run.near - off.z + CLEAR + nose, start_limit(bench, index, run.radius + off.x) - behind)

    def tip(z: float) -> Point:
        return Point(z, run.radius + off.x + left + (run.near + off.z - z) * tan)

    big, small = tip(low), tip(high)
    top = max(run.shoulder, big.x) + bench.allowance.side + CLEAR
    faces = run.shoulder > run.far_radius and face <= bench.allowance.face
    inner = min(top, bench.safe_x)

    def cut(approach: tuple[Point, ...], path: Sequence[Segment], largest: float, then: Sequence[Measure]) -> Pass:
        return bench.make_pass(
            kind,
            tool,
            run.names,
            approach,
            path,
            diameter=2 * (run.radius + left),
            depth=_depth(bench, left),
            feed=bench.cuts.feed,
            error=bench.cuts.error,
            speed_diameter=2 * largest,
            feed_from=len(approach) - 1,
            measure=then,
            z_told=behind if path[-1].end.z > path[0].start.z else 0.0,
        )

    start = Point(low + behind, inner)
    path = through(start, Point(start.z, big.x), Point(small.z + behind, small.x))
    passes = [cut((*bench.take_up_z(start), start), path, big.x, () if faces else stops)]
    if faces:
        z = face_z + bench.gap
        beside = Point(z, max(tip(z).x + CLEAR / 2, big.x, foot))
        path = through(beside, Point(face_z, beside.x), Point(face_z, max(big.x, foot)), Point(face_z, top))
        over = Point(z, min(beside.x + bench.gap, bench.safe_x))
        passes.append(cut((Point(z, bench.safe_x), over, beside), path, run.shoulder, stops))
    return passes


def start_limit(bench: Bench, index: int, x: float) -> float:
    """Greatest Z to which a cut toward the tailstock may run on past a run's near end."""
    if index:
        return math.inf
    return bench.rooms[bench.finish_tool.number].furthest(x).z
