"""Measurements with one figure changed in each, and all that comes of them: lengths, end shake, holes, records.

Every figure of a small part's file is moved by one in its first place and in its last, and small holes, logs and typed
readings are set out one by one. The sums can be followed by hand: both plates are plain, and the frame is short.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from cam.ground.problem import Problem, ProblemError
from cam.ground.source import parse_source
from cam.job.logbook import record_value, show_log, withdraw_record
from cam.lengths.holes import HolePlan
from cam.lengths.journal import append_record, journal_path, read_journal
from cam.lengths.records import Records, read_records, show_history, targets
from cam.lengths.solve import solve
from cam.lengths.solved import Solved, first_view, second_view
from cam.lengths.span_report import report_spans
from cam.part import asked_of
from tests.specimens import SAMPLES, quantity
from tests.told.pages import moved

PART = """name = "arbor"
length = "40 mm"
corners = "fillet up to 0.2 mm"
edges = "chamfer 0.1 mm"
[stock]
material = "silver steel"
diameter = "12 mm"
length = "60 mm"
[holding]
method = "between centres"
[holding.end_a]
tail_centre = "half centre"
extra_length = "6 mm"
[holding.end_b]
tail_centre = "half centre"
extra_length = "6 mm"
[[measurement]]
name = "between plates"
taken_with = "calliper"
readings = ["20.31 mm", "20.30 mm", "20.32 mm"]
uncertainty = "±0.02 mm"
temperature = "24 ±1 degC"
material = "brass"
[[measurement.less]]
name = "shim"
readings = ["0.30 mm", "0.32 mm"]
uncertainty = "±0.01 mm"
[[measurement]]
name = "over the wheel"
taken_with = "calliper"
value = "13.0 mm"
standard_uncertainty = "0.01 mm"
[[span]]
name = "frame"
from = "seat"
to = "body"
measurement = "between plates"
end_shake = { least = "0.1 mm", aim = "0.2 mm", most = "0.3 mm" }
tolerance = "+0.02 / -0.01 mm"
hole_a = "front plate"
hole_b = "back plate"
fitting_allowance = "0.05 mm"
late = "B"
part_temperature = "26 ±0.5 degC"
in_use = ["5 degC", "35 degC"]
[[span.loose]]
name = "washer"
thickness = "0.50 mm"
uncertainty = "±0.005 mm"
[[span]]
name = "wheel"
from = "body"
to = "body"
measurement = "over the wheel"
end_shake = { least = "0.02 mm", aim = "0.04 mm", most = "0.06 mm" }
stand_off_a = "0.01 mm"
stand_off_a_uncertainty = "±0.002 mm"
stand_off_b = "0 mm"
[[hole]]
name = "front plate"
section = "pivot"
plate = "2 mm"
use = "open"
side_shake = { least = "0.02 mm", aim = "0.04 mm", most = "0.06 mm" }
opened_by = "broach"
taper = "1:100"
side = "inside"
drill_under = "0.1 mm"
smoothing = "0.005 mm"
carrying_gap = "0.01 mm"
edge_inside = "chamfer 0.1 mm"
edge_outside = "chamfer 0.2 mm"
[[hole]]
name = "back plate"
section = "back pivot"
plate = "3 mm"
now = "3.05 mm"
use = "as it is"
edge_inside = "chamfer 0.1 mm"
edge_outside = "sharp"
[[section]]
name = "pivot"
role = "pivot"
diameter = "3 mm"
tolerance = "-0.01 / -0.03 mm"
length = "5 mm"
finish = "turn, stone"
on_diameter = "0.02 mm"
on_face = "0.01 mm"
[[section]]
name = "seat"
role = "seat"
diameter = "6 mm"
length_tolerance = "±0.01 mm"
finish = "turn"
[[section]]
name = "body"
role = "body"
diameter = "10 mm"
length_tolerance = "+0.01 / -0.02 mm"
finish = "turn"
[[section]]
name = "back pivot"
role = "pivot"
diameter = "3 mm"
tolerance = "-0.01 / -0.03 mm"
finish = "turn"
"""


SPINDLE = """name = "spindle"
length = "1.6 in"
corners = "fillet up to 0.008 in"
edges = "chamfer 0.004 in"
[stock]
material = "brass"
diameter = "0.5 in"
length = "2.2 in"
[holding]
method = "between centres"
[holding.end_a]
tail_centre = "half centre"
extra_length = "0.25 in"
[holding.end_b]
tail_centre = "half centre"
extra_length = "0.25 in"
[[measurement]]
name = "frame"
taken_with = "calliper"
readings = ["0.975 in", "0.976 in", "0.975 in", "0.9755 in"]
uncertainty = "±0.0007 in"
temperature = "15 ±2 degC"
material = "silver steel"
[[measurement.plus]]
name = "recess"
value = "0.025 in"
standard_uncertainty = "0.0004 in"
[[measurement]]
name = "hub"
taken_with = "micrometer"
readings = ["0.351 in", "0.351 in"]
uncertainty = "±0.0002 in"
[[span]]
name = "frame"
from = "collar"
to = "wheel seat"
measurement = "frame"
end_shake = { least = "0.003 in", aim = "0.006 in", most = "0.012 in" }
hole_a = "back hole"
hole_b = "front hole"
late = "A"
tolerance = "+0.0005 / -0.0003 in"
fitting_allowance = "0.002 in"
part_temperature = "20 ±1 degC"
in_use = ["0 degC", "40 degC"]
[[span]]
name = "hub"
from = "hub"
to = "hub"
measurement = "hub"
end_shake = { least = "0.001 in", aim = "0.0015 in", most = "0.002 in" }
tolerance = "+0.0002 / -0.0003 in"
stand_off_a = "0.0005 in"
stand_off_a_uncertainty = "±0.0002 in"
stand_off_b = "0.001 in"
stand_off_b_uncertainty = "±0.0004 in"
[[hole]]
name = "back hole"
section = "tail"
plate = "0.1 in"
use = "open"
side_shake = { least = "0.001 in", aim = "0.0015 in", most = "0.003 in" }
opened_by = "reamer"
drill_under = "0.006 in"
smoothing = "0.0002 in"
edge_inside = "radius 0.006 in"
edge_outside = "sharp"
[[hole]]
name = "front hole"
section = "nose"
plate = "0.15 in"
use = "open"
side_shake = { least = "0.001 in", aim = "0.002 in", most = "0.004 in" }
opened_by = "broach"
taper = "1:50"
side = "both"
drill_under = "0.006 in"
smoothing = "0 in"
carrying_gap = "0.001 in"
edge_inside = "sharp"
edge_outside = "chamfer 0.004 in"
[[section]]
name = "tail"
role = "pivot"
diameter = "0.12 in"
tolerance = "+0 / -0.001 in"
length = "0.2 in"
corner_b = "fillet 0.006 in"
finish = "turn, stone, burnish"
on_diameter = "0.001 in"
on_face = "0.0005 in"
[[section]]
name = "collar"
role = "seat"
diameter = "0.25 in"
tolerance = "+0.001 / -0.001 in"
finish = "turn"
[[section]]
name = "hub"
role = "body"
diameter = "0.4 in"
finish = "turn"
[[section]]
name = "wheel seat"
role = "seat"
diameter = "0.3 in"
tolerance = "+0 / -0.002 in"
length = "0.35 in"
length_tolerance = "±0.001 in"
finish = "turn"
[[section]]
name = "nose"
role = "journal"
diameter = "0.2 in"
tolerance = "-0.001 / -0.002 in"
edge_b = "radius 0.01 in"
finish = "turn"
"""


def problem(found: Problem) -> str:
    """Return a problem in one line."""
    rest = (("given", found.given), ("allowed", found.allowed), ("fix", found.fix), ("lacks", found.lacks))
    return "; ".join([f"{found.where.line} {found.what}", *(f"{name} {said}" for name, said in rest if said)])


def number(value: float) -> str:
    """Return a figure to a thousandth of a micrometre."""
    return f"{round(value, 6) + 0.0:.7g}"


def row(values: object) -> str:
    """Return figures side by side."""
    assert isinstance(values, tuple)
    return " ".join(number(v) if isinstance(v, float) else str(v) for v in values)


def hole_figures(plan: HolePlan) -> tuple[float | None, ...]:
    """Return all lengths of a hole as it is planned."""
    return (
        plan.inside, plan.outside, plan.narrow, plan.opened, plan.wall, plan.contact, *plan.side_shake, plan.travel,
        plan.edge_needed, plan.ring,
    )  # fmt: skip


# What a part file comes to --------------------------------------------------------------------------------------


def summed(part: Solved) -> Iterator[str]:
    """Yield all that the lengths of a part come to."""
    views = [first_view(part, "B"), first_view(part, "A")]
    views += [second_view(part, "B", faces) for faces in ((), (0, 1, 2), (0, 1, 3, 4), (2, 3))]
    for view in (part, *views):
        yield "faces " + " ".join(f"{number(s.start)} {number(s.end)}" for s in view.sections)
        limits = [s.length_tolerance.text if s.length_tolerance is not None else "-" for s in view.sections]
        yield f"lengths {'; '.join(s.length.text for s in view.sections)}, limits {'; '.join(limits)}"
    for report in report_spans(part, "B"):
        name, found = report.span.name, report.limits
        yield f"{name} stands off " + "; ".join(row(tuple(off)) for off in report.stand_offs)
        if found is None:
            yield f"{name} is to be measured"
            continue
        figures = (found.length, found.shake, *found.worst, *found.rss, *found.chance, found.cut_length)
        yield f"{name} {row(figures)}, {'safe' if found.safe else 'not safe'}"
        for cause, share in zip(found.contributors, found.shares, strict=True):
            yield f"{name}: {row((cause.name, cause.middle, cause.half, cause.standard, share))}"
        yield f"{name}: {found.fix}"
        yield f"{name}: {found.direction}"
        yield f"{name}: {row(tuple(report.verdict)) if report.verdict else 'not cut'}"
    for plan in part.measured.plans if part.measured else ():
        yield f"{plan.hole.name} {plan.drill.name if plan.drill else 'no drill'} " + row(hole_figures(plan))
    if part.measured is not None:
        names = targets(part.sections, part.measured.measurements, part.measured.spans)
        yield "recorded: " + "; ".join(
            f"{name} {t.kind} {t.start} {t.end} {number(t.about)}" for name, t in names.items()
        )
        yield f"stops {[a.name for a in part.measured.stops]}, actuals {[a.name for a in part.measured.actuals]}"
        yield f"cut faces {sorted(part.measured.cut_faces)}"
        yield f"diameters {part.measured.diameters}, {part.measured.changes}, wait for {part.to_be_measured}"
    yield from (f"warning {problem(w)}" for w in part.warnings)


def asked(text: str, log: Records | None = None, noses: tuple[float, ...] = (0.1, 0.15)) -> list[str]:
    """Return what a part file comes to, with a log, or all that is wrong with it."""
    try:
        return list(summed(solve(asked_of(parse_source(text.encode(), "part.toml")), noses, log)))
    except ProblemError as found:
        return [problem(p) for p in found.problems]


FRAME = PART[PART.index("[[span]]") : PART.index("[[span.loose]]")]
LOOSE = PART[PART.index("[[span.loose]]") : PART.index('[[span]]\nname = "wheel"')]
EDITS = (
    ('length = "5 mm"', 'length = "1.85 mm"'),
    (
        '[[hole]]\nname = "front plate"',
        FRAME.replace('"frame"', '"frame again"') + LOOSE + '[[hole]]\nname = "front plate"',
    ),
    (
        'name = "body"\nrole = "body"\ndiameter = "10 mm"',
        'name = "body"\nrole = "body"\ndiameter_a = "10 mm"\ndiameter_b = "9 mm"',
    ),
    (
        'name = "body"\nrole = "body"\ndiameter = "10 mm"\nlength_tolerance = "+0.01 / -0.02 mm"\nfinish = "turn"',
        'name = "body"\nrole = "body"\ndiameter = "12 mm"\nlength_tolerance = "+0.01 / -0.02 mm"\nfinish = "as stock"',
    ),
    ('tolerance = "+0.02 / -0.01 mm"\n', ""),
    ('length_tolerance = "±0.01 mm"\n', ""),
    ('readings = ["20.31 mm", "20.30 mm", "20.32 mm"]', 'to_be_measured = "later"'),
    ('hole_a = "front plate"', 'stand_off_a = "0.05 mm"\nstand_off_a_uncertainty = "±0.01 mm"'),
    ('hole_a = "front plate"\n', ""),
    ('hole_a = "front plate"', 'hole_a = "back plate"'),
    ('length = "40 mm"\n', ""),
    ('to = "body"\nmeasurement = "between', 'to = "seat"\nmeasurement = "between'),
    ('from = "seat"\nto = "body"', 'from = "body"\nto = "seat"'),
    ('length = "5 mm"\n', ""),
    ('corners = "fillet up to 0.2 mm"', 'corners = "fillet 0.2 mm"'),
    ('late = "B"', 'late = "A"'),
    ('late = "B"\n', ""),
    ('fitting_allowance = "0.05 mm"\n', ""),
    ('material = "brass"\n', ""),
    ('in_use = ["5 degC", "35 degC"]\n', ""),
    ('temperature = "24 ±1 degC"\n', ""),
    ('part_temperature = "26 ±0.5 degC"\n', ""),
    ('section = "pivot"', 'section = "seat"'),
    ('use = "as it is"', 'use = "open"'),
    ('now = "3.05 mm"\n', ""),
    ('side = "inside"', 'side = "outside"'),
    ('side = "inside"', 'side = "both"'),
    ('opened_by = "broach"\ntaper = "1:100"', 'opened_by = "reamer"'),
    ('taper = "1:100"\n', ""),
    ('edge_inside = "chamfer 0.1 mm"', 'edge_inside = "radius 0.3 mm"'),
    ('edge_inside = "chamfer 0.1 mm"', 'edge_inside = "chamfer 1 mm"'),
    ('edge_inside = "chamfer 0.1 mm"', 'edge_inside = "sharp"'),
    ('on_face = "0.01 mm"', 'on_face = "0.01 mm"\ncorner_b = "undercut 1 mm wide 0.2 mm deep"'),
    ('"silver steel"', '"ebony"'),
    ('diameter = "6 mm"', 'diameter = "3 mm"'),
    ('diameter = "6 mm"', 'diameter = "6 mm"\ntolerance = "-2.6 / -2.7 mm"'),
    ('edges = "chamfer 0.1 mm"', 'edges = "sharp"'),
    ('to = "body"\nmeasurement = "between', 'to = "back pivot"\nmeasurement = "between'),
    ('from = "seat"\nto = "body"', 'from = "pivot"\nto = "body"'),
    ('edges = "chamfer 0.1 mm"', 'edges = "chamfer 0.9 mm"'),
    ('name = "body"\nrole', 'name = "body"\nlength = "12.96 mm"\nrole'),
    ('name = "seat"\nrole', 'name = "seat"\nlength = "6.3 mm"\nrole'),
    ('least = "0.1 mm", aim = "0.2 mm"', 'least = "0 mm", aim = "0 mm"'),
    ("20.31 mm", "20.41 mm"),
    ('["0.30 mm", "0.32 mm"]', '["0.30 mm"]'),
    ('least = "0.1 mm", aim = "0.2 mm"', 'least = "0.15 mm", aim = "0.16 mm"'),
    ('aim = "0.2 mm", most = "0.3 mm"', 'aim = "0.4 mm", most = "0.5 mm"'),
    ('readings = ["20.31 mm", "20.30 mm", "20.32 mm"]', 'value = "3 mm"'),
)


def of_file() -> Iterator[str]:
    """Yield what comes of the part's file, and what changes with each figure and with each word of it."""
    good = asked(PART)
    yield from good
    edits = ((f"{old!r} -> {new!r}", PART.replace(old, new, 1)) for old, new in EDITS)
    ebony = PART.replace('"silver steel"', '"ebony"', 1)
    in_use, warm = 'in_use = ["5 degC", "35 degC"]\n', 'part_temperature = "26 ±0.5 degC"\n'
    plain = PART[: PART.index("[[measurement]]")] + PART[PART.index("[[section]]") :]
    for name, length in (("seat", 6.3), ("body", 13)):
        plain = plain.replace(f'name = "{name}"\n', f'name = "{name}"\nlength = "{length} mm"\n')
    odd = (
        ("nothing is measured", plain),
        (
            "no tolerance at all",
            PART.replace('tolerance = "+0.02 / -0.01 mm"\n', "").replace('length_tolerance = "±0.01 mm"\n', ""),
        ),
        ("ebony, not in use", ebony.replace(in_use, "")),
        ("ebony, as it is turned", ebony.replace(warm, "")),
        ("ebony, cold", ebony.replace(warm, "").replace(in_use, "")),
    )
    for name, text in (*odd, *moved(PART), *edits):
        yield f"# {name}"
        yield from (f"  {line}" for line in asked(text) if line not in good)
    good = asked(SPINDLE)
    yield from good
    for name, text in moved(SPINDLE):
        yield f"# in inches, {name}"
        yield from (f"  {line}" for line in asked(text) if line not in good)
    part = solve(asked_of(parse_source(PART.encode(), "part.toml")))
    for sizes in ((3, 6, 10, 3), (10, 3, 6, 2), (6, 3, 10, 3), (3, 10, 6, 8), (3, 10, 10, 3), (10, 10, 10, 10)):
        sizes_of = zip(part.sections, map(quantity, sizes), strict=True)
        known = targets(tuple(replace(s, diameter_a=d, diameter_b=d) for s, d in sizes_of), (), ())
        shoulders = {name: (t.start, t.end) for name, t in known.items() if t.what == "shoulder"}
        yield f"shoulders of {sizes}: {shoulders}"
    good = asked(PART)
    for noses in ((), (0.2,), (0.2, 0.1), (0.3,), (0.3, 0.2000001)):
        yield f"# noses {noses}"
        yield from (f"  {line}" for line in asked(PART, noses=noses) if line not in good)


# Records --------------------------------------------------------------------------------------------------------

TYPED = (
    ("between plates", "20.30 mm"),
    ("between plates", "20.30; 20.31; 20.29 mm"),
    ("between plates", "20.30 ±0.01 mm"),
    ("between plates", "20.62 - 0.31 shim mm"),
    ("between plates", "20.30 - shim 0.31 mm"),
    ("between plates", "20.30; 21.30 mm"),
    ("between plates", "20.30; 20.31; 23.01 mm"),
    ("between plates", "203.0 mm"),
    ("between plates", "2.03 mm"),
    ("between plates", "0.799 in"),
    ("between plates", "20.30 in"),
    ("between plates", "23.00 mm"),
    ("between plates", "10.15 mm"),
    ("between plates", "20.50 mm"),
    ("between plates", "20.60 mm"),
    ("between plates", "-20.3 mm"),
    ("between plates", "much"),
    ("over the wheel", "13.01 mm"),
    ("between plates", "20.30 mm, less shim: 0.31 mm ± 0.01 mm"),
    ("between plates", "20.30 mm, less shim: 0.31 mm"),
    ("between plates", "20.30 mm, plus shim: 0.31 mm ± 0.01 mm"),
    ("between plates", "20.30 mm, less shin: 0.31 mm ± 0.01 mm"),
    ("between plates", "20.30 mm, less shim: 0.31 mm ± 0.01 mm, less shim: 0.31 mm ± 0.01 mm"),
    ("over the wheel", "13.31 mm, less shim: 0.31 mm ± 0.01 mm"),
    ("between plates", "20.30 mm, less shim: 0.31; 0.33 mm ± 0.01 mm"),
    ("between plates", "0.31 mm, less shim: 0.50 mm ± 0.01 mm"),
    ("between plates", "1.20 mm, less shim: 0.50 mm ± 0.01 mm"),
    ("between plates", "20.75 ±0.05 mm"),
    ("between plates", "19.99 mm"),
    ("between plates", "20.30; 20.31; 20.60 mm"),
    ("between plates", "20.30; 20.31; 20.51 mm"),
    ("between plates", "20.30; 20.50 mm"),
    ("pivot diameter", "2.98; 3.19 mm"),
    ("pivot diameter", "2.98; 2.98; 3.22 mm"),
    ("over the wheel", "13.4 mm"),
    ("over the wheel", "31.0 mm"),
    ("pivot diameter", "2.98 mm"),
    ("pivot diameter", "3.00 mm"),
    ("pivot diameter", "3.21 mm"),
    ("pivot diameter", "1.49 mm"),
    ("pivot diameter", "3.3 mm"),
    ("pivot diameter", "4 mm"),
    ("pivot length", "5.02 mm"),
    ("pivot length", "5.5 mm"),
    ("pivot length", "6.5 mm"),
    ("seat length", "6.46 mm"),
    ("seat length", "6.50 mm"),
    ("seat length", "6.56 mm"),
    ("frame span", "19.3 mm"),
    ("frame span", "19.25 mm"),
    ("frame span", "19.6 mm"),
    ("frame span", "18.9 mm"),
    ("pivot shoulder", "5.01 mm"),
    ("back pivot shoulder", "15.6 mm"),
    ("back pivot shoulder", "15.2 mm"),
    ("seat shoulder", "11.5 mm"),
    ("seat shoulder", "12.5 mm"),
    ("pivots diameter", "3 mm"),
    ("pivot", "3 mm"),
    ("body diameter", "10.00; 10.02 mm"),
    ("body length", "13 mm"),
    ("wheel span", "12.96 mm"),
    ("wheel span", "12.8 mm"),
    ("wheel span", "13.1 mm"),
)


def of_records() -> Iterator[str]:
    """Yield what is said of each typed reading, and how the log reads afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        part = Path(folder) / "arbor.toml"
        part.write_text('shop = "shop.toml"\n' + PART, "utf-8")
        (Path(folder) / "shop.toml").write_text((SAMPLES / "shop.toml").read_text("utf-8"), "utf-8")

        def typed(name: str, value: str, *, sure: bool = False) -> str:
            try:
                _, actual, then = record_value(str(part), name, value, sure=sure)
            except ProblemError as found:
                return " | ".join(problem(p) for p in found.problems)
            readings = "; ".join(number(float(r)) for r in actual.readings)
            sizes = row((actual.target.what, actual.value, actual.half, actual.whole_half))
            return f"{sizes}, {readings}: {then}".replace("\n", " / ")

        log = part.with_suffix(".log")
        for name, value in TYPED:
            yield f"{name}, {value}: {typed(name, value)}".replace(folder, "")
            log.unlink(missing_ok=True)
        yield from _kept(part, log, typed, folder)
        yield from _come_to(part, log)


def _whole(row: dict[str, object]) -> bytes:
    """Return a line of the log with a check that is right, whatever it holds."""
    body = json.dumps(row)[:-1].encode()
    return body + b', "check": "' + sha256(body).hexdigest()[:16].encode() + b'"}'


GOOD: dict[str, object] = {
    "n": 3, "time": "2026-10-17T09:30:12Z", "who": "w", "kind": "actual", "name": "seat length", "value": "6 mm"
}  # fmt: skip
ODD = (GOOD, *(GOOD | odd for odd in ({"n": "3"}, {"n": True}, {"who": 3}, {"value": None}, {"kind": "guess"})))


def _kept(part: Path, log: Path, typed: Callable[..., str], folder: str) -> Iterator[str]:
    """Yield what becomes of records that follow one another."""
    for name, value in (
        ("between plates", "20.30 mm"),
        ("between plates", "20.34 mm"),
        ("pivot diameter", "2.98 mm"),
        ("pivot diameter", "3.5 mm"),
        ("between plates", "20.90 mm"),
        ("wheel span", "12.96 mm"),
        ("frame span", "19.3 mm"),
    ):
        yield f"then {name}, {value}: {typed(name, value)}".replace(folder, "")
    yield f"surely: {typed('pivot diameter', '3.3 mm', sure=True)}".replace(folder, "")
    for line in (1, 3, 9, 2, 2):
        try:
            yield f"withdraw {line}: {withdraw_record(str(part), line)}".replace("\n", " / ").replace(folder, "")
        except ProblemError as found:
            yield f"withdraw {line}: " + " | ".join(problem(p) for p in found.problems).replace(folder, "")
    standing = show_log(str(part))
    yield from _without_time(standing.replace(folder, "").splitlines())
    lines = log.read_bytes().split(b"\n")
    for name, content in (
        ("a digit", b"\n".join([lines[0].replace(b"20.3", b"20.4"), *lines[1:]])),
        ("its end lost", b"\n".join(lines)[:-20]),
        ("a line lost", b"\n".join(lines[1:])),
        ("another's end of lines", b"\r\n".join(lines)),
        ("a line that is no record", b"\n".join([*lines[:2], b"{}", b"", b"  ", *lines[2:]])),
        ("nothing", b""),
        ("a short line that is none", b"x" * 120 + b"\n"),
        ("a long line that is none", b"x" * 121 + b"\n"),
        *((f"a line of {odd}", b"\n".join([*lines[:2], _whole(odd), *lines[2:]])) for odd in ODD),
        ("a line twice", b"\n".join([lines[0], *lines])),
    ):
        log.write_bytes(content)
        journal = read_journal(str(log))
        torn = [(t.line, t.last) for t in journal.torn]
        stand = f"stand {[e.line for e in journal.standing]}, gone {sorted(journal.withdrawn)}"
        yield f"{name}: {len(journal.entries)} records, {torn} torn, {stand}"
        yield from (f"{w.where.line} {w.what}{f' {w.given}' * (w.given[0] == 'x')}" for w in journal.warnings())
        yield from _without_time(show_history("arbor", journal).replace(folder, "").splitlines())
        more = append_record(str(log), kind="measurement", name="between plates", value="20.31 mm", who="w", clock=0)
        yield f"then record {more.number} on line {more.line} of {log.read_bytes().count(b'{')}"


KEPT = (
    (("actual", "frame span", "19.30 mm ±0.01 mm"),),
    (("actual", "frame span", "19.50 mm ±0.01 mm"),),
    (("actual", "frame span", "19.05 mm ±0.01 mm"),),
    (("actual", "frame span", "19.05 mm"), ("actual", "pivot length", "5.02 mm"), ("actual", "seat length", "6.3 mm")),
    (("actual", "frame span", "19.15 mm"),),
    (("actual", "frame span", "19.6 mm"),),
    (("actual", "seat length", "6.35 mm ±0.01 mm"), ("actual", "body length", "12.96 mm")),
    (("actual", "seat length", "6.35 mm"), ("actual", "frame span", "19.4 mm")),
    (("actual", "pivot shoulder", "5.02 mm"),),
    (("actual", "back pivot shoulder", "15.60 mm"),),
    (("actual", "pivot length", "5.02 mm"), ("actual", "back pivot length", "15.70 mm")),
    (("actual", "body length", "14.1 mm"),),
    (("actual", "body length", "14.4 mm"),),
    (("actual", "pivot diameter", "2.985 mm"),),
    (("actual", "pivot diameter", "2.96 mm"),),
    (("actual", "pivot diameter", "2.97 mm"),),
    (("actual", "pivot diameter", "2.99 mm"),),
    (("actual", "pivot diameter", "3.4 mm"),),
    (("actual", "pivot diameter", "3.5 mm"),),
    (("actual", "pivot diameter", "3.6 mm"),),
    (("actual", "pivot diameter", "3.6 mm"), ("actual", "pivot length", "5.02 mm")),
    (("actual", "back pivot diameter", "2.985 mm"),),
    (("actual", "back pivot diameter", "3.02 mm, sure"),),
    (("actual", "back pivot diameter", "3.10 mm"),),
    (("measurement", "between plates", "20.30 mm ±0.03 mm"),),
    (("measurement", "between plates", "20.30 mm"), ("actual", "frame span", "19.30 mm")),
    (("measurement", "between plates", "5 mm"),),
    (("measurement", "between plates", "20.61 mm, less shim: 0.31 mm ± 0.02 mm"),),
    (("stop reading", "pivot stop diameter", "3.01 mm, expected 3.00 mm"),),
    (("stop reading", "pivot stop diameter", "3.01 mm, expected 0 mm"),),
    (("stop reading", "pivot stop diameter", "3.01 mm, expected 3.00 mm, the control set"),),
    (("stop reading", "pivot stop shoulder", "5.01 mm, expected 5.00 mm, for the notebook"),),
    (("stop reading", "pivot stop shoulder", "5.01 mm, expected 5.00 mm, for fun"),),
    (("actual", "nothing", "5 mm"),),
    (("actual", "seat length", "much"),),
    (("actual", "wheel span", "13.02 mm ±0.01 mm"),),
)
"""Records that stand: kind, name, value."""


def _come_to(part: Path, log: Path) -> Iterator[str]:
    """Yield what the part comes to with records that stand in its log, told as they are kept."""
    good = asked(PART)
    for text, some in ((PART, KEPT), (PART.replace("fillet up to 0.2 mm", "fillet 0.2 mm"), KEPT[13:24])):
        for kept in some:
            log.unlink(missing_ok=True)
            for kind, name, value in kept:
                append_record(str(log), kind=kind, name=name, value=value)
            told = "; ".join(f"{name} {value}" for _, name, value in kept)
            yield f"# kept: {told}{', fillets of 0.2' * (text is not PART)}"
            found = asked(text, read_records(str(part)))
            yield from (f"  {line}".replace(str(part.parent), "") for line in found if line not in good)
    for piece in ("", "second"):
        log.unlink(missing_ok=True)
        append_record(str(log), kind="measurement", name="between plates", value="20.30 mm")
        append_record(str(log), kind="actual", name="pivot length", value="5.02 mm")
        append_record(journal_path(str(part), "second"), kind="actual", name="pivot length", value="5.01 mm")
        log_of = read_records(str(part), piece)
        assert log_of is not None
        yield f"piece {piece!r}: {[(e.name, e.value) for e in log_of.standing]} of {log_of.files}"


def _without_time(lines: list[str]) -> Iterator[str]:
    """Yield lines of a log less the time and the person."""
    for line in lines:
        yield re.sub(" {2,}", "  ", re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d +\S+ +", "", line.partition("{")[0]))


TOLD: dict[str, Callable[[], Iterator[str]]] = {"file": of_file, "records": of_records}
