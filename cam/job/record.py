"""The job as plain data, for a program to read: plan.json, and what verbs answer under --json.

Lengths are mm, X radii, Z in the setting's axes, unless a key says otherwise. The same input gives the same
text on every machine: no clock time, no absolute path, numbers rounded to the nanometre.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from cam.ground.version import VERSION

if TYPE_CHECKING:
    from cam.geometry.path import Chain, Point
    from cam.ground.problem import Problem
    from cam.job import Job, Work
    from cam.job.milling import MillJob
    from cam.judge.mill_result import MillSimulation
    from cam.judge.model import Approach, Simulation
    from cam.judge.sizes import Size
    from cam.lengths.records import Actual
    from cam.lengths.span_report import SpanReport
    from cam.mill.done import MillWorkDone
    from cam.part.model import Section
    from cam.part.screwed import HookAsked
    from cam.part.spans import Along, Measurement
    from cam.plan.model import Measure, Pass
    from cam.setting.fastest import SpeedLimit
    from cam.setting.model import Setting, Turned
    from cam.sheet.model import SheetVerdict
    from cam.shop.model import Lathe

FORMAT = "endshake plan"
TINY = 1e-5
"""An arc shorter than this, mm, is kept as a line."""
FORMAT_VERSION = 1  # one more wherever a key that cam.compare reads goes or means something else
"""Rises whenever a key changes its meaning or is dropped; a new key alone leaves it."""


def job_record(job: Job) -> dict[str, Any]:
    """Return everything worth keeping of a job but the moves, which the programs hold."""
    part, shop = job.part, job.shop
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "endshake": VERSION,
        "part": {
            "name": part.name,
            **({"piece": part.piece} if part.piece else {}),
            "file": PurePath(part.path).name,
            "sha256": part.digest,
            "unit": part.unit,
            "length_mm": _round(part.length),
            "stock": {
                "material": part.stock.material,
                "diameter": _given(part.stock.diameter),
                "length": _given(part.stock.length),
            },
            "sections": [_section(s) for s in part.sections],
        },
        "shop": {"lathe": shop.lathe.name, "file": PurePath(shop.path).name, "sha256": shop.digest},
        "programs": None
        if shop.lathe.by_hand
        else {
            "dialect": job.dialect.name,
            "standard": job.dialect.text("STANDARD"),
            "units": shop.lathe.control.units,
            "x_words": shop.lathe.control.x_words,
        },
        "closest": None if job.closest is None else _closest(job, *job.closest),
        "settings": [_work(w, shop.lathe) for w in job.works],
        **({} if job.mill is None else {"mill": _mill(job, job.mill)}),
        **({} if part.measured is None else {"measured": _measured(job)}),
        **({} if part.screwed is None else {"screw": _screw(job)}),
        "warnings": problem_data(job.warnings),
    }


def _closest(job: Job, work: Work, approach: Approach) -> dict[str, Any]:
    """Return the closest approach of a job and where it is; without a control it has neither a file nor a line."""
    by_hand = job.shop.lathe.by_hand
    return {
        "setting": work.setting.number,
        "pass": work.pass_at(approach.line) or None,
        "file": None if by_hand else work.file,
        **approach_data(approach),
        **({"line": None} if by_hand else {}),
        **_unchecked(job.tip_only),
    }


def _screw(job: Job) -> dict[str, Any]:
    """Return the threads with their limits, and the hook; only for parts that have any."""
    from cam.part.screw import best_wire, over_wires, pitch_limits, shank_of

    screwing = job.part.screwed
    assert screwing is not None
    threads = []
    for screwed in screwing.threads:
        thread = screwed.thread
        shank, limits, wire = shank_of(thread), pitch_limits(thread), best_wire(thread)
        threads.append(
            {
                "section": screwed.section,
                "thread": thread.name,
                "by": screwed.by,
                "length_mm": _round(screwed.threaded),
                "pitch_mm": _round(thread.pitch),
                "shank_mm": [_round(shank.least), _round(shank.most)],
                "pitch_diameter_mm": [_round(limits.least), _round(limits.most)],
                "wire_mm": _round(wire),
                "over_wires_mm": [_round(over_wires(thread, d, wire)) for d in (limits.least, limits.most)],
                "standing": limits.standing,
            }
        )
    return {"part_off": job.part.holding.part_off, "threads": threads, "hook": _hook(screwing.hook)}


def _hook(hook: HookAsked | None) -> dict[str, Any] | None:
    if hook is None:
        return None
    return {
        "section": hook.section,
        "spring_mm": [_round(hook.spring_thickness), _round(hook.spring_width)],
        "eye_mm": _round(hook.eye),
        "over_body_mm": _round(hook.spring_thickness + hook.clearance),
        "lean_deg": _round(hook.lean),
        "locked_by": hook.locked_by,
    }


def _mill(job: Job, mill: MillJob) -> dict[str, Any]:
    """Return what the mill makes, in order; only for parts that it works on."""
    from cam.job.mill import after_setting, say_when

    return {
        "name": mill.mill.name,
        "square_by": mill.mill.square_by,
        "programs": {"dialect": mill.dialect.name, "standard": mill.dialect.text("STANDARD"), "units": mill.mill.units},
        "tool_changes": mill.tool_changes,
        "unplanned": list(mill.unplanned),
        "works": [
            {
                "name": work.name,
                "program": work.file,
                "title": work.title,
                "after_setting": after_setting(job, work),
                "when": say_when(job, work),
                "setting_up": list(work.notes),
                **_milled(work),
                "warnings": problem_data(work.plan.warnings),
                "checked": mill_simulation_data(work.simulation),
            }
            for work in mill.works
        ],
    }


def _milled(work: MillWorkDone) -> dict[str, Any]:
    """Return the sizes of a square or a cross hole, as the mill is to leave them."""
    from cam.mill.plan_square import SquarePlan

    plan = work.plan
    if isinstance(plan, SquarePlan):
        square = plan.milled
        return {
            "square": {
                "flats": square.flats,
                "across_mm": _round(square.across),
                "at_mm": _round(square.station),
                "slope_per_side": _round(square.slope),
                "length_mm": _round(square.length),
                "blank_mm": _round(square.blank),
                "wall_mm": _round(plan.work.wall),
                "shim_mm": None if plan.tip is None else _round(plan.tip.shim),
                "shim_distance_mm": None if plan.tip is None else _round(plan.tip.spacing),
                "crown_mm": _round(plan.crown),
                "layers_left_mm": [_round(v) for v in plan.layers],
                "force_n": _round(plan.force),
                "spring_mm": _round(plan.spring),
                "finish_spring_mm": _round(plan.finish_spring),
            }
        }
    hole, depths, percent = plan.hole, plan.depths, plan.percent
    return {
        "cross_hole": {
            "name": hole.name,
            "x_mm": _round(hole.x),
            "angle_deg": _round(hole.angle),
            "drill_mm": _round(hole.diameter),
            "depth_mm": _round(hole.depth),
            "through": hole.through,
            "thread_depth_mm": None if depths is None else _round(depths.thread),
            "percent_of_thread": None if percent is None else _round(percent.percent),
            "area_left": _round(plan.net.area),
            "stiffness_left": _round(plan.net.stiffness),
        }
    }


def mill_simulation_data(simulation: MillSimulation) -> dict[str, Any]:
    """Return the judgement on a program of the mill for another program: mm, seconds; rounded to the nanometre."""
    near = simulation.closest
    return {
        "closest": None
        if near is None
        else {
            "line": simulation.closest_line,
            "distance_mm": _round(near.distance),
            "body": near.body,
            "obstacle": near.obstacle,
        },
        "gouge_mm": _round(simulation.gouge),
        "uncut_mm": _round(simulation.uncut),
        "cutting_s": _round(simulation.cutting_time),
        "air_s": _round(simulation.air_time),
        "lowest_xyz_mm": [_round(v) for v in simulation.lowest],
        "highest_xyz_mm": [_round(v) for v in simulation.highest],
        "across_mm": [
            {"flat": a.flat, "x_mm": _round(a.x), "reads_mm": _round(a.reading), "wanted_mm": _round(a.wanted)}
            for a in simulation.across
        ],
        "findings": [
            {"line": f.line, "kind": f.kind, "what": f.what, "amount_mm": _round(f.amount), "obstacle": f.obstacle}
            for f in simulation.findings
        ],
    }


def _measured(job: Job) -> dict[str, Any]:
    """Return what was measured and recorded, the spans with their limits, and the holes; only for parts with any."""
    from cam.lengths.span_report import report_spans
    from cam.setting.measured import second_end

    part, log = job.part, None
    measured = part.measured
    assert measured is not None
    if measured.log is not None:
        log = {
            "file": PurePath(measured.log.path).name,
            "sha256": measured.log.digest,
            "used": [_used(r) for r in measured.records],
        }
    reports = report_spans(part, second_end([p.setting for p in job.plan.settings]))
    return {
        "to_be_measured": list(part.to_be_measured),
        "log": log,
        "measurements": [_measurement(m) for m in measured.measurements],
        "spans": [_span(r) for r in reports],
        "holes": [
            {
                "name": p.hole.name,
                "section": p.hole.section,
                "drill": None if p.drill is None else p.drill.name,
                "inside_mm": _round(p.inside),
                "outside_mm": _round(p.outside),
                "side_shake_mm": [_round(v) for v in p.side_shake],
                "bears_on_mm": _round(p.contact),
            }
            for p in measured.plans
        ],
    }


def _used(record: Actual) -> dict[str, Any]:
    file, line = PurePath(record.where.path).name, record.where.line
    return {"file": file, "line": line, "kind": record.target.kind, "name": record.name, "value": record.text}


def _along(item: Along) -> dict[str, Any]:
    mean = _round(item.mean) if item.readings else None
    return {"name": item.name, "sign": item.sign, "mean_mm": mean, "plus_minus_mm": _round(item.uncertainty.half)}


def _measurement(measurement: Measurement) -> dict[str, Any]:
    found: dict[str, Any] = {
        "name": measurement.name,
        "readings_mm": [_round(r) for r in measurement.readings],
        "mean_mm": _round(measurement.mean) if measurement.readings else None,
        "plus_minus_mm": _round(measurement.uncertainty.half),
        "taken_with": measurement.taken_with,
    }
    if measurement.along:
        distance = _round(measurement.distance) if measurement.taken else None
        found |= {"along": [_along(a) for a in measurement.along], "distance_mm": distance}
    return found


def _span(report: SpanReport) -> dict[str, Any]:
    span, limits = report.span, report.limits
    found: dict[str, Any] = {
        "name": span.name,
        "sections": [span.first, span.last],
        "measurement": span.measurement,
        "end_shake_wanted_mm": [_round(v) for v in span.shake.three],
        "stand_off_mm": [_round(s.likely) for s in report.stand_offs],
        "fitting_allowance_mm": _round(span.fitting_allowance),
        "predicted": None,
    }
    if limits is not None:
        found["predicted"] = {
            "length_mm": _round(limits.length),
            "cut_length_mm": _round(limits.cut_length),
            "end_shake_mm": _round(limits.shake),
            "worst_case_mm": [_round(v) for v in limits.worst],
            "root_sum_square_mm": [_round(v) for v in limits.rss],
            "probability_within": _round(limits.chance.inside),
            "what_matters": limits.fix,
            "as_cut": None if report.verdict is None else report.verdict.text,
        }
    return found


def _given(quantity: Any) -> dict[str, Any]:
    """Return a length as the user wrote it, and in mm."""
    return {"text": quantity.text, "mm": _round(quantity)}


def _section(section: Section) -> dict[str, Any]:
    tolerance = section.tolerance
    return {
        "name": section.name,
        "role": section.role,
        "from_a_mm": [_round(section.start), _round(section.end)],
        "length": _given(section.length),
        "diameter_a": _given(section.diameter_a),
        "diameter_b": _given(section.diameter_b),
        "limits_on_diameter_mm": None if tolerance is None else [_round(tolerance.lower), _round(tolerance.upper)],
        "finish": {
            "route": list(section.finish.route),
            "on_diameter_mm": _round(section.finish.on_diameter),
            "on_face_mm": _round(section.finish.on_face),
        },
        "corner_a": None if section.corner_a is None else section.corner_a.text,
        "corner_b": None if section.corner_b is None else section.corner_b.text,
        "edge_a": None if section.edge_a is None else section.edge_a.text,
        "edge_b": None if section.edge_b is None else section.edge_b.text,
    }


def _times(work: Work, lathe: Lathe) -> dict[str, Any]:
    from cam.plan.times import time_of

    times = time_of(work.planned, lathe)
    return {
        "cutting_s": _round(work.simulation.cutting_time),
        "air_s": _round(work.simulation.air_time),
        "changes_s": _round(times.changes),
        "belt_changes": times.belts,
        "tool_changes": times.tools,
        "roughing_s": _round(times.rough),
        "roughing_bound_s": _round(times.bound),
        "roughing_with_the_best_belts_s": _round(times.freely),
        "belt_changes_saved_in_roughing": times.saved,
    }


def _work(work: Work, lathe: Lathe) -> dict[str, Any]:
    planned, setting = work.planned, work.setting
    return {
        **_setting(setting),
        "program": None if lathe.by_hand else work.file,
        "safe_x_mm": _round(planned.safe_x),
        "proof_diameter_mm": _round(planned.proof_diameter),
        "park_zx_mm": [_round(v) for v in planned.park],
        "plan_reasons": list(planned.reasons),
        "operations": [{"name": o.name, "passes": [_pass(p) for p in o.passes]} for o in planned.operations],
        "times": _times(work, lathe),
        "warnings": problem_data(planned.warnings),
        "checked": _judged(work, lathe),
        "left": outline_data(work.simulation.result, setting),
    }


def _judged(work: Work, lathe: Lathe) -> dict[str, Any]:
    """Return the judgement on a setting; lines of a text that nobody gets are left out."""
    found = simulation_data(work.simulation)
    closest = found["closest"]
    if closest is not None:
        closest["pass"] = work.pass_at(closest["line"]) or None
        closest["line"] = None if lathe.by_hand else closest["line"]
    return found


def outline_data(chain: Chain, setting: Setting) -> dict[str, Any]:
    """Return the metal that a program leaves, in half-section in the part's own axes, from the A end to the B end.

    Each piece goes on from the one before: a line to a place, or an arc to it about a centre, counter-clockwise
    (turn 1) or clockwise (-1) with z to the right and the radius up.
    """
    from cam.geometry.path import Arc, reverse

    def place(point: Point) -> list[float | None]:
        return [_round(setting.to_part(point.z)), _round(point.x)]

    toward_b = setting.to_part(chain[-1].end.z) > setting.to_part(chain[0].start.z)
    pieces = chain if toward_b else tuple(reverse(piece) for piece in reversed(chain))
    return {
        "start_zr_mm": place(pieces[0].start),
        "pieces": [
            {"to": place(p.end)}
            if not isinstance(p, Arc) or math.dist(p.start, p.end) < TINY  # rounded, its ends might change places
            else {"to": place(p.end), "centre": place(p.centre), "turn": p.turn * setting.sign}
            for p in pieces
        ],
    }


def _setting(setting: Setting) -> dict[str, Any]:
    from cam.setting.fastest import speed_limits

    return {
        "number": setting.number,
        "end": setting.end,
        "method": setting.method,
        "datum": setting.datum_words,
        "datum_from_a_mm": _round(setting.datum),
        "sign": setting.sign,
        "tail_centre": setting.tail_centre.name if setting.tail_centre else None,
        "centre_hole": setting.hole.designation if setting.hole else None,
        "carrier": setting.carrier.name if setting.carrier else None,
        "chuck": setting.chuck.name if setting.chuck else None,
        "grip": setting.grip,
        "grip_z_mm": [_round(setting.grip_near), _round(setting.grip_far)],
        "limit_z_mm": _round(setting.limit_z),
        "speed_limits": [_speed_limit(limit) for limit in speed_limits(setting)],
        "turned": [_turned(t) for t in setting.turned],
        "reasons": list(setting.reasons),
    }


def _speed_limit(limit: SpeedLimit) -> dict[str, Any]:
    return {
        "kind": limit.kind,
        "name": limit.name,
        "rpm": _round(limit.rpm),
        "surface_m_min": _round(limit.surface) if limit.surface else None,
        "mouth_mm": _round(limit.mouth) if limit.surface else None,
        "lubricant": limit.lubricant or None,
    }


def _turned(turned: Turned) -> dict[str, Any]:
    return {
        "section": turned.section.name,
        "z_mm": [_round(turned.near), _round(turned.far)],
        "radius_mm": [_round(turned.radius_near), _round(turned.radius_far)],
        "beyond": turned.far_kind,
        "beyond_radius_mm": _round(turned.far_radius),
    }


def _pass(cut: Pass) -> dict[str, Any]:
    return {
        "number": cut.number,
        "kind": cut.kind,
        "sections": list(cut.sections),
        "tool": cut.tool.number,
        "diameter_mm": _round(cut.diameter),
        "depth_mm": _round(cut.depth),
        "rpm": _round(cut.rpm),
        "speed": cut.speed_name,
        "surface_speed_m_min": _round(cut.surface_speed),
        "constant_surface_speed": cut.css,
        "ruled_by": cut.ruled_by or None,
        "feed_mm_rev": _round(cut.feed),
        "start_zx_mm": [_round(v) for v in cut.approach[-1]],
        "path_ends_zx_mm": [[_round(v) for v in piece.end] for piece in cut.path],
        "deflection_mm": _round(cut.deflection),
        "force_n": _round(cut.force),
        "power_w": _round(cut.power),
        "diameter_uneven_mm": _round(cut.error),
        "measure": [_measure(m) for m in cut.measure],
        "cautions": list(cut.cautions),
    }


def _measure(measure: Measure) -> dict[str, Any]:
    return {
        "what": measure.what,
        "kind": measure.kind,
        "target_mm": _round(measure.target),
        "limits_mm": [_round(measure.least), _round(measure.most)],
        "expected_mm": _round(measure.expected),
        "cut_left_mm": _round(measure.cut_left),
        "when": measure.when,
        "scrap": measure.scrap,
    }


def problem_data(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Return problems or warnings for a program."""
    return [
        {
            "path": p.where.path,
            "line": p.where.line,
            "column": p.where.column,
            "what": p.what,
            "given": p.given,
            "allowed": p.allowed,
            "fix": p.fix,
        }
        for p in problems
    ]


def simulation_data(simulation: Simulation) -> dict[str, Any]:
    """Return a judgement for a program: mm, seconds, radii; rounded to the nanometre."""
    closest = simulation.closest
    return {
        "setting": simulation.setting,
        "closest": None if closest is None else {**approach_data(closest), **_unchecked(simulation.tip_only)},
        "gouge_mm": _round(simulation.gouge),
        "uncut_mm": _round(simulation.uncut),
        "cutting_s": _round(simulation.cutting_time),
        "air_s": _round(simulation.air_time),
        "lowest_zx_mm": [_round(v) for v in simulation.lowest],
        "highest_zx_mm": [_round(v) for v in simulation.highest],
        "findings": [
            {"line": f.line, "kind": f.kind, "what": f.what, "amount_mm": _round(f.amount), "obstacle": f.obstacle}
            for f in simulation.findings
        ],
    }


def _unchecked(tip_only: tuple[int, ...]) -> dict[str, Any]:
    """Return what a closest approach leaves out; no key where it leaves nothing out."""
    from cam.judge.report import say_tip_only

    return {"not_checked": say_tip_only(tip_only)} if tip_only else {}


def page_data(verdict: SheetVerdict) -> dict[str, Any]:
    """Return the judgement on a setting's page for a program: mm."""
    return {
        "setting": verdict.sheet.number,
        "rows": [row.number for row in verdict.sheet.rows],
        "reached": [
            {
                "section": r.name,
                "of": r.of,
                "size_mm": _round(r.size),
                "wanted_mm": _round(r.wanted),
                "limits_mm": [_round(r.least), _round(r.most)],
                "divisions_off": _round(r.divisions),
            }
            for r in verdict.reached
        ],
        **({} if verdict.simulation is None else simulation_data(verdict.simulation)),
    }


def size_data(sizes: Iterable[Size]) -> list[dict[str, Any]]:
    """Return for a program the sizes that slides with backlash would leave."""
    return [
        {
            "section": s.section,
            "what": s.what,
            "wanted_mm": _round(s.wanted),
            "error_mm": [_round(s.least), _round(s.most)],
        }
        for s in sizes
    ]


def approach_data(approach: Approach) -> dict[str, Any]:
    """Return for a program how near one motion came."""
    return {
        "line": approach.line,
        "distance_mm": _round(approach.distance),
        "tool": approach.tool,
        "body": approach.body,
        "obstacle": approach.obstacle,
        "tip_zx_mm": [_round(v) for v in approach.tip],
    }


def _round(value: float) -> float | None:
    """Round to the nanometre, never to minus zero, alike on every machine. None for a value that is to be measured."""
    return None if value != value else round(value, 6) + 0.0  # noqa: PLR0124 - nan
