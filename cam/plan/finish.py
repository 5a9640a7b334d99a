"""Finishing, section by section: two equal cuts, a stop to measure between them, each shoulder faced outward."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from cam.geometry.path import Arc, Point, Segment, shift
from cam.ground.tolerances import ROUNDING
from cam.plan.bench import CLEAR, Bench, Bite, Way, through
from cam.plan.choose_cuts import choose_cuts
from cam.plan.contour import Run, fillet_tip, goes_on_as, joint_tip, nose_shift
from cam.plan.measures import is_bar, measure_finish, measure_semi_finish, times_measured
from cam.plan.model import Measure, Operation, Pass, PassKind
from cam.plan.reach import taper_reach
from cam.plan.rough import STAIR, choose_depth, full_fillet, stair_beside
from cam.setting.apart import HALF
from cam.setting.model import NOT_CORRECTED, Correction

DONE = "The diameter is within its limits already: this goes over it and is to take nothing off."
"""The caution on a last cut for which a reading leaves nothing."""
THIN = "It is thinner than the tool's least cut and may rub: measure after it before anything else is done."
"""The caution on a last cut that a correction has made thin."""

UNREACHED = (
    "{} cannot be measured before the end: no anvil reaches it past what stands higher yet. X stays as it is set."
)
"""The caution on a taper beside which no anvil has room."""

BARE = (
    "{} cannot be measured before its last cut: the bar is no thicker than the cut before that leaves, and tells "
    "nothing of X. Measure after it."
)
"""The caution on a section that is hardly thinner than the bar."""


def finish_sections(bench: Bench) -> list[Operation]:
    """Make one operation for each run, the thickest first and the weakest last, with its grooves and fillets."""
    return [
        Operation(name=f"finish {' and '.join(run.names)}", passes=tuple(_finish_run(bench, index)))
        for index, run in reversed(list(enumerate(bench.runs)))
    ]


def _finish_run(bench: Bench, index: int) -> list[Pass]:
    run = bench.runs[index]
    allowance = bench.allowance
    cut = bench.cuts = choose_cuts(bench, run)
    corrected = bench.setting.correction_of(run.names)
    deeper, further = corrected.radius, corrected.face
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
    passes = [*_with_fillets(bench, index, correct_run(run, deeper, further), passes)]
    passes[0] = replace(passes[0], cautions=(*passes[0].cautions, *_unmeasured(bench, run, passes)))
    if corrected is NOT_CORRECTED:
        return passes
    return [_corrected(p, corrected) if p.kind == "finish" else p for p in passes]


def _unmeasured(bench: Bench, run: Run, passes: Sequence[Pass]) -> Iterator[str]:
    """Yield the caution that a run's diameter, which is to be measured, cannot be before the end, or its last cut."""
    if times_measured(run) and is_bar(bench, run):
        yield BARE.format(" and ".join(run.names))
    elif times_measured(run) and not any(m.kind == "diameter" for p in passes for m in p.measure):
        yield UNREACHED.format(" and ".join(run.names))


def _with_fillets(bench: Bench, index: int, said: Run, passes: Sequence[Pass]) -> Iterator[Pass]:
    """Yield the passes of a run, and after them those of its exact fillet, with which its last stop goes."""
    run, fillet = bench.runs[index], fillet_tip(said, float(bench.finish_tool.nose_radius))
    if fillet is None or run.shoulder <= run.far_radius:
        yield from passes
        return
    fillets = _fillet_passes(bench, index, said, fillet)
    yield from (*passes[:-1], replace(passes[-1], measure=()), *fillets[:-1])
    yield replace(fillets[-1], measure=passes[-1].measure)  # nothing moves between the last cuts of a run


def correct_run(run: Run, deeper: float, further: float) -> Run:
    """Return a run as the program must say it so that it comes out as wanted; a taper goes on along its line."""
    less = deeper - further * math.tan(run.slope)
    return replace(
        run,
        radius=run.radius - deeper,
        far_radius=run.far_radius - less,
        shoulder=run.shoulder if run.shoulder > run.far_radius else run.shoulder - less,
        far=run.far - further,
    )


def _corrected(cut: Pass, corrected: Correction) -> Pass:
    """Return a last cut that says its correction, and a caution where it is thinner than the tool cuts for sure."""
    told = [
        f"Corrected with {corrected.along}, whose stop read {corrected.text}: its own stop expects as much more."
        if corrected.along
        else f"Corrected by the stop before, which read {corrected.text}: leave the slides set as they were, "
        "or it is corrected twice."
    ]
    deeper = corrected.radius if cut.shape != "plunge" else 0.0
    left = cut.depth + deeper
    if deeper and left < float(cut.tool.minimum_cut) - ROUNDING:
        told.append(THIN if left > ROUNDING else DONE)
    return replace(cut, deeper=deeper, cautions=(*cut.cautions, *told))


def rough_radius_beside(bench: Bench, index: int) -> float:
    """Return the radius that still stands on the tailstock side of a run, mm; 0 off the end."""
    return bench.runs[index - 1].far_radius + bench.allowance.side if index else 0.0


def start_beside(bench: Bench, index: int, x: float) -> float:
    """Return the Z at which the finishing tool comes in for a run at radius x, clear of the face at its near end.

    It is further out where the neighbour toward the tailstock stands too high to come in there.
    """
    index = first_clear(bench, index, x)
    if index == 0:
        return bench.start_off_end(bench.finish_tool, x)
    return _beside_face(bench, index)


def _beside_face(bench: Bench, index: int) -> float:
    """Return the Z at which the finishing tool comes in clear of the face at a run's near end, mm."""
    return bench.runs[index].near + bench.allowance.face + bench.gap + bench.z_play


def first_clear(bench: Bench, index: int, x: float) -> int:
    """Return the index of the run at whose near end a pass at radius x over run index may come in; 0 is off the end.

    It is off the end, too, where a short section there leaves no room before the face beside the centre.
    """
    while index and rough_radius_beside(bench, index) > x - CLEAR / 2:
        index -= 1
    if index and _beside_face(bench, index) > bench.start_off_end(bench.finish_tool, x):
        return 0
    return index


def come_in(bench: Bench, z: float, x: float, beside: float) -> tuple[tuple[Point, ...], int]:
    """Make the approach at z down to radius x past a neighbour of radius beside: rapid while clear, then at feed.

    Returns the points and the index of the first that is reached at feed.
    """
    clear = max(x, beside + bench.gap)
    if clear >= bench.safe_x or clear <= x:
        return (Point(z, bench.safe_x), Point(z, x)), 1 if clear > x else 2
    return (Point(z, bench.safe_x), Point(z, clear), Point(z, x)), 2


def _straight_passes(
    bench: Bench, index: int, kind: PassKind, left: float, face: float, stops: Sequence[Measure]
) -> list[Pass]:
    """Make one pass along the run and straight out; where its corner is kept full, a plunge down the shoulder too."""
    run, tool = bench.runs[index], bench.finish_tool
    x = run.radius + left
    begin = first_clear(bench, index, x)
    start = start_beside(bench, index, x)
    if begin == 0:
        approach, feed_from, ramp = bench.off_end(tool, x, x + _depth(bench, index, left))
    else:
        beside = max(rough_radius_beside(bench, begin), stair_beside(bench, bench.runs[begin - 1], start))
        approach, feed_from = come_in(bench, start, x, beside)
        ramp = ()
    end, top = _where_out(bench, index, x, face)
    faces = _faces_apart(bench, index, face, left)
    along = replace(
        bench.make_pass(
            kind,
            tool,
            run.names,
            Way(
                approach=approach,
                path=through(*ramp, Point(start, x), Point(end, x), Point(end, top)),
                feed_from=feed_from,
            ),
            Bite(diameter=2 * x, depth=_depth(bench, index, left), feed=bench.cuts.feed, speed_diameter=2 * x),
        ),
        measure=() if faces else tuple(stops),
        error=bench.cuts.error,
    )
    return [along, _face_shoulder(bench, index, kind, face, left, stops)] if faces else [along]


def _depth(bench: Bench, index: int, left: float) -> float:
    """Return the depth per side of the cut that leaves so much per side; the first also takes what roughing left."""
    cuts = bench.cuts
    return max(cuts.first + bench.extra[index], cuts.depth) if left > (cuts.count - 1.5) * cuts.depth else cuts.depth


def _where_out(bench: Bench, index: int, x: float, face: float) -> tuple[float, float]:
    """Return the Z at which a cut along a run at radius x goes straight out, and the radius up to which it does."""
    run, allowance = bench.runs[index], bench.allowance
    above = x + allowance.side + max(bench.extra[index], 0.0) + CLEAR
    if run.open:
        return bench.open_end(run, bench.finish_tool) + allowance.face, above
    if run.shoulder <= run.far_radius:
        return _joint_beyond(bench, index), min(x + CLEAR + _told_higher(bench, index), bench.safe_x)
    full = full_fillet(bench, run)
    if full is not None and full.start.z + face > run.far + allowance.face + CLEAR / 2:
        return full.start.z + face, above + full.start.z - run.far  # over the stair that roughing left in its corner
    if full is not None:  # it reaches the face as roughing left it
        return full.start.z + face, max(_face_top(bench, index), x + CLEAR)
    if face > allowance.face:  # a cut that leaves the face alone
        return run.far + face, above
    return run.far + face, max(_face_top(bench, index), x + CLEAR)


def _face_top(bench: Bench, index: int) -> float:
    """Return the radius up to which the face at a run's far end is cut, mm: over what roughing left, and bar there."""
    run = bench.runs[index]
    top = min(max([run.shoulder + bench.allowance.side, *_bar_at(bench, run)]) + CLEAR, bench.safe_x)
    return max(min(top + _told_higher(bench, index), bench.safe_x), top)


def _bar_at(bench: Bench, run: Run) -> list[float]:
    """Return the radii of what stands within the allowance on a run's face, mm."""
    return [d / 2 for a, b, d in bench.work if b > run.far + ROUNDING and a < run.far + bench.allowance.face - ROUNDING]


def _told_higher(bench: Bench, index: int) -> float:
    """Return how much higher a taper beyond a run stands in the program alone, mm: it is told further by Z's play."""
    beyond = bench.runs[index + 1].slope if index + 1 < len(bench.runs) else 0.0
    return bench.z_play * math.tan(max(beyond, 0.0))


def _joint_beyond(bench: Bench, index: int) -> float:
    """Return the Z at which a cut along a run ends where its neighbour follows without a face between them, mm."""
    run, nose = bench.runs[index], float(bench.finish_tool.nose_radius)
    beyond = bench.runs[index + 1] if index + 1 < len(bench.runs) else None
    if beyond is None or not goes_on_as(run, beyond) or run.slope == beyond.slope:
        return run.far
    return joint_tip(run, beyond, nose)


def _faces_apart(bench: Bench, index: int, face: float, left: float) -> bool:
    """Tell whether the shoulder has a pass of its own: over an exact fillet, or a taper, which is cut the other way.

    A shoulder past a taper that is no higher than the nose has none: the nose that ends on the taper has left all of
    it. Nor has a shoulder of which nothing stands above a fillet that is kept so full.
    """
    run = bench.runs[index]
    full = full_fillet(bench, run)
    if run.shoulder <= run.far_radius or face > bench.allowance.face or (full is None and run.slope == 0):
        return False
    foot = full.end.x if full is not None else _tip_beside(bench, run, run.far + face)
    low = foot + left + (float(bench.finish_tool.nose_radius) if full is None else 0.0)
    return max([run.shoulder, *_bar_at(bench, run)]) > low + ROUNDING


def _face_shoulder(
    bench: Bench, index: int, kind: PassKind, face: float, left: float, stops: Sequence[Measure]
) -> Pass:
    """Face a shoulder's ring from outside inward, down to the head of its fillet or to the surface before it."""
    run, top = bench.runs[index], _face_top(bench, index)
    full = full_fillet(bench, run)
    low = (full.end.x if full is not None else _tip_beside(bench, run, run.far + face)) + left
    z = run.far + face
    beside, over = z + bench.gap + bench.z_play, max(top, bench.safe_x)
    return replace(
        bench.make_pass(
            kind,
            bench.finish_tool,
            run.names,
            Way(
                approach=(Point(beside, over), Point(z, over), Point(z, top)),
                path=through(Point(z, top), Point(z, low), Point(z, top)),
                feed_from=2,
            ),
            Bite(
                diameter=2 * (run.radius + left),
                depth=bench.allowance.face_cut,
                feed=bench.cuts.feed,
                speed_diameter=2 * (run.radius + left),
            ),
        ),
        measure=tuple(stops),
        error=bench.cuts.error,
    )


def _tip_beside(bench: Bench, run: Run, z: float) -> float:
    """Return the radius of the programmed point on a run's surface with the point at z, mm."""
    return run.tip_radius(z, float(bench.finish_tool.nose_radius))


def _fillet_passes(bench: Bench, index: int, run: Run, fillet: Arc) -> list[Pass]:
    """Cut an exact fillet inward from the face to the surface, so that X never moves outward on it.

    Z goes toward the tailstock on it and so lags by its backlash: it is told that much further. A fillet that would be
    deeper than the tool takes is cut in several equal steps, each moved out square to its middle.
    """
    rise = STAIR * choose_depth(bench)
    thick = fillet.radius * (1 - HALF) + HALF * fillet.radius / math.ceil(fillet.radius / rise)
    count = math.ceil(thick / float(bench.finish_tool.deepest_cut))
    steps = [HALF * thick * k / count for k in range(count - 1, -1, -1)]
    ends = taper_reach(bench, index) if run.slope else math.inf
    stair = _face_top(bench, index) + float(bench.finish_tool.nose_radius)  # the round that roughing left beside it
    top = max(min(run.shoulder, bench.safe_x) + CLEAR, min(stair, bench.safe_x))
    return [_fillet_pass(bench, run, fillet, off=off, depth=thick / count, ends=ends, top=top) for off in steps]


def _fillet_pass(bench: Bench, run: Run, fillet: Arc, *, off: float, depth: float, ends: float, top: float) -> Pass:
    """Make one cut of a fillet, moved by off along both axes; ends: the furthest Z along its surface, top: where from.

    The run is as the program says it, corrected or not.
    """
    tool = bench.finish_tool
    full = full_fillet(bench, run) or fillet
    (arc,) = shift((Arc(fillet.end, fillet.start, fillet.centre, 1),), bench.z_play + off, off)
    on = full.start.z - fillet.start.z + float(tool.nose_radius) + CLEAR
    on = max(min(on, ends + bench.z_play - arc.end.z), 0.0)
    beyond = Point(arc.end.z + on, arc.end.x - on * math.tan(run.slope))
    z, face = run.far + bench.gap + bench.z_play + off, run.far + off
    foot = Point(face, arc.start.x)  # from here Z goes back, and stands still until its backlash is taken up
    ahead: tuple[Segment, ...] = through(Point(z, top), Point(face, top), foot, arc.start)
    return replace(
        bench.make_pass(
            "fillet",
            tool,
            run.names,
            Way(approach=(Point(z, bench.safe_x), Point(z, top)), path=(*ahead, arc, *through(arc.end, beyond))),
            Bite(diameter=2 * arc.end.x, depth=depth, feed=float(tool.finish_feed), speed_diameter=2 * arc.start.x),
        ),
        z_told=bench.z_play,
    )


def _taper_passes(
    bench: Bench, index: int, kind: PassKind, left: float, face: float, stops: Sequence[Measure]
) -> list[Pass]:
    """Cut a taper inward from its large end, toward the tailstock, then face its shoulder.

    X inward and Z toward the headstock cannot both be had on a taper. So Z goes the other way, its backlash taken up
    before, and is told further by that: the slide, which lags by so much, is then where it ought to be.
    """
    run, tool = bench.runs[index], bench.finish_tool
    nose = float(tool.nose_radius)
    off = nose_shift(math.sin(run.slope), math.cos(run.slope), nose)
    tan = math.tan(run.slope)
    low = bench.open_end(run, tool) + bench.allowance.face if run.open else run.far + face
    full = full_fillet(bench, run) if run.shoulder > run.far_radius else None
    if full is not None:
        low = full.start.z + face
    elif not run.open and run.shoulder <= run.far_radius:
        low = _joint_beyond(bench, index)
    behind = bench.z_play
    high = taper_reach(bench, index)

    def tip(z: float) -> Point:
        return Point(z, run.radius + off.x + left + (run.near + off.z - z) * tan)

    big, small = tip(low), tip(high)
    top = max(run.shoulder, big.x) + bench.allowance.side + CLEAR
    faces = _faces_apart(bench, index, face, left)
    start = Point(low + behind, min(top, bench.safe_x))
    along = replace(
        bench.make_pass(
            kind,
            tool,
            run.names,
            Way(
                approach=(*bench.take_up_z(start), start),
                path=through(start, Point(start.z, big.x), Point(small.z + behind, small.x)),
                feed_from=2,
            ),
            Bite(
                diameter=2 * (run.radius + left),
                depth=_depth(bench, index, left),
                feed=bench.cuts.feed,
                speed_diameter=2 * big.x,
            ),
        ),
        measure=() if faces else tuple(stops),
        error=bench.cuts.error,
        z_told=behind,
    )
    return [along, _face_shoulder(bench, index, kind, face, left, stops)] if faces else [along]
