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
    from cam.lengths.span_report import SpanReport
    from cam.mill.done import MillWorkDone
    from cam.part.spans import Along, Measurement
    from cam.plan.model import Pass
    from cam.setting.fastest import SpeedLimit
    from cam.setting.model import Setting
    from cam.sheet.model import SheetVerdict
    from cam.shop.model import Lathe
    from posts.dialect import Dialect

FORMAT = "endshake plan"
TINY = 1e-5
"""An arc shorter than this, mm, is kept as a line."""
UNITS = ("_mm", "_deg", "_s", "_n", "_w", "_min", "_rev")
"""The ends of keys whose numbers have a unit, and are written as such."""
FORMAT_VERSION = 1
"""Rises whenever a key changes its meaning or is dropped; a new key alone leaves it."""


def _told(item: Any, keys: str) -> dict[str, Any]:
    """Return fields of a thing under the record's keys, as plain data.

    Args:
        keys: each is key=field. A field may be field.field, None where the first is None, or several with commas
            between, which make a list. A key alone is of the field of its name, without its unit if it ends in mm.
    """
    found = {}
    for key, _, field in (word.partition("=") for word in keys.split()):
        values = [_field(item, name) for name in (field or key.removesuffix("_mm")).split(",")]
        if key.endswith(UNITS):  # a sum of nothing is a whole zero
            values = [float(v) if isinstance(v, int) else v for v in values]
        found[key] = values if "," in field else values[0]
    return found


def _field(item: Any, path: str) -> Any:
    for name in path.split("."):
        item = None if item is None else getattr(item, name)
    return _plain(item)


def _plain(value: Any) -> Any:
    """Return lists for tuples, and numbers rounded to the nanometre, never to minus zero, alike on every machine.

    None stands for a value that is to be measured.
    """
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    if isinstance(value, float):
        return None if math.isnan(value) else round(value, 6) + 0.0
    return value


def job_record(job: Job) -> dict[str, Any]:
    """Return everything worth keeping of a job but the moves, which the programs hold."""
    part, shop = job.part, job.shop
    stock = {"material": part.stock.material, **_given(part.stock, "diameter length")}
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "endshake": VERSION,
        "part": {
            "name": part.name,
            **({"piece": part.piece} if part.piece else {}),
            "file": PurePath(part.path).name,
            **_told(part, "sha256=digest unit length_mm"),
            "stock": stock,
            "sections": [
                {
                    **_told(s, "name role from_a_mm=start,end"),
                    **_given(s, "length diameter_a diameter_b"),
                    "limits_on_diameter_mm": s.tolerance and _plain((s.tolerance.lower, s.tolerance.upper)),
                    "finish": _told(s.finish, "route on_diameter_mm on_face_mm"),
                    **_told(s, "corner_a=corner_a.text corner_b=corner_b.text edge_a=edge_a.text edge_b=edge_b.text"),
                }
                for s in part.sections
            ],
        },
        "shop": {"lathe": shop.lathe.name, "file": PurePath(shop.path).name, "sha256": shop.digest},
        "programs": None if shop.lathe.by_hand else _programs(job.dialect, shop.lathe.control, "units x_words"),
        "closest": None if job.closest is None else _closest(job, *job.closest),
        "settings": [_work(w, shop.lathe) for w in job.works],
        **({} if job.mill is None else {"mill": _mill(job, job.mill)}),
        **({} if part.measured is None else {"measured": _measured(job)}),
        **({} if part.screwed is None else {"screw": _screw(job)}),
        "warnings": problem_data(job.warnings),
    }


def _programs(dialect: Dialect, control: Any, facts: str) -> dict[str, Any]:
    """Return how programs are written, with facts of the machine's control."""
    return {"dialect": dialect.name, "standard": dialect.text("STANDARD"), **_told(control, facts)}


def _given(item: Any, names: str) -> dict[str, Any]:
    """Return lengths as the user wrote them, and in mm."""
    return {name: {**_told(getattr(item, name), "text"), "mm": _field(item, name)} for name in names.split()}


def _closest(job: Job, work: Work, approach: Approach) -> dict[str, Any]:
    """Return the closest approach of a job and where it is; without a control it has neither a file nor a line."""
    by_hand = job.shop.lathe.by_hand
    return {
        "setting": work.setting.number,
        "pass": work.pass_at(approach.line) or None,
        "file": None if by_hand else work.file,
        **_approach(approach),
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
        limits, wire = pitch_limits(thread), best_wire(thread)
        threads.append(
            {
                **_told(screwed, "section thread=thread.name by length_mm=threaded pitch_mm=thread.pitch"),
                **_told(shank_of(thread), "shank_mm=least,most"),
                **_told(limits, "pitch_diameter_mm=least,most"),
                "wire_mm": _plain(wire),
                "over_wires_mm": [_plain(over_wires(thread, d, wire)) for d in (limits.least, limits.most)],
                "standing": limits.standing,
            }
        )
    hook = screwing.hook
    told = hook and {
        **_told(hook, "section spring_mm=spring_thickness,spring_width eye_mm"),
        "over_body_mm": _plain(hook.spring_thickness + hook.clearance),
        **_told(hook, "lean_deg=lean locked_by"),
    }
    return {"part_off": job.part.holding.part_off, "threads": threads, "hook": told}


def _mill(job: Job, mill: MillJob) -> dict[str, Any]:
    """Return what the mill makes, in order; only for parts that it works on."""
    from cam.job.mill import after_setting, say_when

    return {
        **_told(mill.mill, "name square_by"),
        "programs": _programs(mill.dialect, mill.mill, "units"),
        **_told(mill, "tool_changes unplanned"),
        "works": [
            {
                **_told(work, "name program=file title"),
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

    if isinstance(work.plan, SquarePlan):
        square = "flats across_mm at_mm=station slope_per_side=slope length_mm blank_mm"
        plan = "wall_mm=work.wall shim_mm=tip.shim shim_distance_mm=tip.spacing crown_mm layers_left_mm=layers"
        springs = "force_n=force spring_mm finish_spring_mm"
        return {"square": {**_told(work.plan.milled, square), **_told(work.plan, f"{plan} {springs}")}}
    hole = "name x_mm angle_deg=angle drill_mm=diameter depth_mm through"
    depths = "thread_depth_mm=depths.thread percent_of_thread=percent.percent"
    left = "area_left=net.area stiffness_left=net.stiffness"
    return {"cross_hole": {**_told(work.plan.hole, hole), **_told(work.plan, f"{depths} {left}")}}


JUDGED = "gouge_mm uncut_mm cutting_s=cutting_time air_s=air_time"
"""What is kept alike of a judgement on a program of either machine."""


def mill_simulation_data(simulation: MillSimulation) -> dict[str, Any]:
    """Return the judgement on a program of the mill for another program: mm, seconds; rounded to the nanometre."""
    near = simulation.closest
    across = "flat x_mm reads_mm=reading wanted_mm"
    return {
        "closest": near and {"line": simulation.closest_line, **_told(near, "distance_mm body obstacle")},
        **_told(simulation, f"{JUDGED} lowest_xyz_mm=lowest highest_xyz_mm=highest"),
        "across_mm": [_told(a, across) for a in simulation.across],
        **_findings(simulation),
    }


def _findings(simulation: Simulation | MillSimulation) -> dict[str, Any]:
    return {"findings": [_told(f, "line kind what amount_mm obstacle") for f in simulation.findings]}


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
            "used": [
                {"file": PurePath(r.where.path).name, **_told(r, "line=where.line kind=target.kind name value=text")}
                for r in measured.records
            ],
        }
    reports = report_spans(part, second_end([p.setting for p in job.plan.settings]))
    hole = "name=hole.name section=hole.section drill=drill.name inside_mm outside_mm side_shake_mm"
    return {
        "to_be_measured": list(part.to_be_measured),
        "log": log,
        "measurements": [_measurement(m) for m in measured.measurements],
        "spans": [_span(r) for r in reports],
        "holes": [_told(p, f"{hole} bears_on_mm=contact") for p in measured.plans],
    }


def _measurement(measurement: Measurement) -> dict[str, Any]:
    """Return a measurement; a mean without a reading is None."""
    found = {
        "name": measurement.name,
        "readings_mm": [_plain(r) for r in measurement.readings],
        "mean_mm": _mean(measurement),
        **_told(measurement, "plus_minus_mm=uncertainty.half taken_with"),
    }
    if measurement.along:
        found["along"] = [
            {**_told(a, "name sign"), "mean_mm": _mean(a), **_told(a, "plus_minus_mm=uncertainty.half")}
            for a in measurement.along
        ]
        found["distance_mm"] = _plain(measurement.distance) if measurement.taken else None
    return found


def _mean(item: Measurement | Along) -> Any:
    return _plain(item.mean) if item.readings else None


def _span(report: SpanReport) -> dict[str, Any]:
    predicted = "length_mm cut_length_mm end_shake_mm=shake worst_case_mm=worst root_sum_square_mm=rss"
    words = "probability_within=chance.inside what_matters=fix"
    return {
        **_told(report.span, "name sections=first,last measurement end_shake_wanted_mm=shake.three"),
        "stand_off_mm": [_plain(s.likely) for s in report.stand_offs],
        **_told(report.span, "fitting_allowance_mm"),
        "predicted": report.limits
        and {**_told(report.limits, f"{predicted} {words}"), **_told(report, "as_cut=verdict.text")},
    }


def _times(work: Work, lathe: Lathe) -> dict[str, Any]:
    from cam.plan.times import time_of

    changes = "changes_s=changes belt_changes=belts tool_changes=tools roughing_s=rough roughing_bound_s=bound"
    belts = "roughing_with_the_best_belts_s=freely belt_changes_saved_in_roughing=saved"
    return {
        **_told(work.simulation, "cutting_s=cutting_time air_s=air_time"),
        **_told(time_of(work.planned, lathe), f"{changes} {belts}"),
    }


def _work(work: Work, lathe: Lathe) -> dict[str, Any]:
    planned, setting = work.planned, work.setting
    return {
        **_setting(setting),
        "program": None if lathe.by_hand else work.file,
        **_told(planned, "safe_x_mm proof_diameter_mm park_zx_mm=park plan_reasons=reasons"),
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
        return [_plain(setting.to_part(point.z)), _plain(point.x)]

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

    datum = "number end method datum=datum_words datum_from_a_mm=datum sign"
    held = "tail_centre=tail_centre.name centre_hole=hole.designation carrier=carrier.name chuck=chuck.name"
    turned = "section=section.name z_mm=near,far radius_mm=radius_near,radius_far"
    return {
        **_told(setting, f"{datum} {held} grip grip_z_mm=grip_near,grip_far limit_z_mm"),
        "speed_limits": [_speed_limit(limit) for limit in speed_limits(setting)],
        "turned": [_told(t, f"{turned} beyond=far_kind beyond_radius_mm=far_radius") for t in setting.turned],
        "reasons": list(setting.reasons),
    }


def _speed_limit(limit: SpeedLimit) -> dict[str, Any]:
    """Return what one thing that holds the work lets it turn at; no surface speed where nothing rubs."""
    return {
        **_told(limit, "kind name rpm"),
        "surface_m_min": _plain(limit.surface) if limit.surface else None,
        "mouth_mm": _plain(limit.mouth) if limit.surface else None,
        "lubricant": limit.lubricant or None,
    }


def _pass(cut: Pass) -> dict[str, Any]:
    what = "number kind sections tool=tool.number diameter_mm leaves_mm depth_mm rpm speed=speed_name"
    estimates = "deflection_mm force_n=force power_w=power diameter_uneven_mm=error"
    measure = "what kind target_mm limits_mm=least,most expected_mm cut_left_mm when scrap"
    return {
        **_told(cut, f"{what} surface_speed_m_min=surface_speed constant_surface_speed=css"),
        "ruled_by": cut.ruled_by or None,
        "feed_mm_rev": _plain(cut.feed),
        "start_zx_mm": _plain(cut.approach[-1]),
        "path_ends_zx_mm": [_plain(piece.end) for piece in cut.path],
        **_told(cut, estimates),
        "measure": [_told(m, measure) for m in cut.measure],
        "cautions": list(cut.cautions),
    }


def problem_data(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Return problems or warnings for a program."""
    keys = "path=where.path line=where.line column=where.column what given allowed fix"
    return [_told(p, keys) for p in problems]


def simulation_data(simulation: Simulation) -> dict[str, Any]:
    """Return a judgement for a program: mm, seconds, radii; rounded to the nanometre."""
    closest = simulation.closest
    return {
        "setting": simulation.setting,
        "closest": closest and {**_approach(closest), **_unchecked(simulation.tip_only)},
        **_told(simulation, f"{JUDGED} lowest_zx_mm=lowest highest_zx_mm=highest"),
        **_findings(simulation),
    }


def _unchecked(tip_only: tuple[int, ...]) -> dict[str, Any]:
    """Return what a closest approach leaves out; no key where it leaves nothing out."""
    from cam.judge.report import say_tip_only

    return {"not_checked": say_tip_only(tip_only)} if tip_only else {}


def page_data(verdict: SheetVerdict) -> dict[str, Any]:
    """Return the judgement on a setting's page for a program: mm."""
    reached = "section=name of size_mm wanted_mm limits_mm=least,most divisions_off=divisions"
    return {
        "setting": verdict.sheet.number,
        "rows": [row.number for row in verdict.sheet.rows],
        "reached": [_told(r, reached) for r in verdict.reached],
        **({} if verdict.simulation is None else simulation_data(verdict.simulation)),
    }


def size_data(sizes: Iterable[Size]) -> list[dict[str, Any]]:
    """Return for a program the sizes that slides with backlash would leave."""
    return [_told(s, "section what wanted_mm error_mm=least,most") for s in sizes]


def _approach(approach: Approach) -> dict[str, Any]:
    """Return how near one motion came."""
    return _told(approach, "line distance_mm tool body obstacle tip_zx_mm=tip")
