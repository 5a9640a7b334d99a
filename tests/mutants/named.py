"""Slips that were once noticed by no test and can hurt someone: each made by hand, each noticed now.

tests/test_safety.py has a test for each. A row whose text is no longer in its module must be made anew.
"""

from __future__ import annotations

from pathlib import Path

from tests.mutants.changes import Mutant

NAMED: tuple[tuple[str, str, str, str], ...] = (
    ("proof diameter halved", "cam/plan/job.py", "proof_diameter=2 * park_x", "proof_diameter=park_x"),
    ("proof run to at half", "cam/moves/make.py", "to=plan.proof_diameter / 2)", "to=plan.proof_diameter / 4)"),
    ("proof judged at its whole", "cam/judge/proof.py", "moved.end.x / 2 <= bar:", "moved.end.x <= bar:"),
    ("M6 does not stop the spindle", "cam/rs274/execute.py",
     "machine.tool, machine.spindle = machine.selected, 0", "machine.tool = machine.selected"),
    ("M6 of EIA-274-D does not", "cam/rs274/execute.py",
     "        machine.spindle = 0\n    machine.remember()", "        pass\n    machine.remember()"),
    ("allowance equal to the spring", "cam/plan/allowance.py", "max(least, 0.6 * spring)", "max(least, 0.5 * spring)"),
    ("allowance of the least cut alone", "cam/plan/allowance.py", "1.5 * float(tool.min", "1.0 * float(tool.min"),
    ("grip on a cone not checked", "cam/plan/job.py", "if len(plans) < 2 or not plans[0].ramp", "if True"),
    ("grip on a cone not at first", "cam/plan/job.py", "or not plans[1].setting.grips_extra:", "or False:"),
    ("sign of must change by", "cam/lengths/limits.py",
     "{show(abs(shake - span.shake.aim))}", "{show(span.shake.aim - shake)}"),
    ("its other sign", "cam/lengths/limits.py",
     "{show(abs(shake - span.shake.aim))}", "{show(shake - span.shake.aim)}"),
    ("left-hand nose on the right", "cam/judge/run.py",
     '(1.0 if tool.hand == "right" else -1.0)\n        z0', "1.0\n        z0"),
    ("length counts after G49", "cam/rs274/offsets.py", "(x, y, z + machine.length - length)", "(x, y, z - length)"),
    ("length stays after G49", "cam/rs274/offsets.py",
     "machine.length, machine.offset = length", "machine.length, machine.offset = length or machine.length"),
    ("arcs from X to Z", "cam/rs274/arcs.py", "18: (2, 0)", "18: (0, 2)"),
    ("arcs by R on the other side", "cam/rs274/arcs.py",
     "middle[first] += along / 2 - side", "middle[first] += along / 2 + side"),
    ("arcs by R the other way along", "cam/rs274/arcs.py",
     "along, across = end[first] - start[first]", "along, across = start[first] - end[first]"),
    ("no distance is within", "cam/judge/contact.py",
     "side = 1.0 if near.distance + near.pair.body.round >= 0.0 else -1.0", "side = 1.0"),
    ("a line at the limit is too long", "cam/rs274/read.py",
     "len(self.raw[number - 1]) > LONGEST", "len(self.raw[number - 1]) >= LONGEST"),
    ("a line may be longer by one", "cam/rs274/read.py", "LONGEST = 256", "LONGEST = 257"),
)  # fmt: skip
"""Each slip: what goes wrong, the module, its text, and what stands there instead."""
TESTS = ("test_safety.py", "test_stops.py", "test_proofs.py")


def named_mutants(root: Path) -> list[tuple[str, Mutant]]:
    """Return every named slip, with its module."""
    found = []
    for words, path, old, new in NAMED:
        text = (root / path).read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{words}: {path} has {old!r} {text.count(old)} times"
        code = compile(text.replace(old, new), str(root / path), "exec")
        found.append((path, Mutant(text[: text.index(old)].count("\n") + 1, "named", words, code)))
    return found
