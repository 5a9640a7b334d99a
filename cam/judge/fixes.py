"""What a finding means for whoever reads it: what would be right, and what to do; of lathe and mill alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from cam.ground.problem import Problem, Where
from cam.judge.model import Finding
from cam.rs274.notes import lines_in

FIXES = {
    "never said": (
        "every mode said before the first move, or a dated fact of this control that the text's head repeats",
        "write the words at the start; or say `stands` in the shop file, and in the head: G90 stands, 2026-05-02",
    ),
    "datum moved": ("the zeros that were set at the machine", "take it out, and set the zero at the control"),
    "beyond travel": ("places that the slides reach", "correct the word: a point is missing, or a digit too many"),
    "may be left out": ("lines that are always run", "take the sign / out, or the line"),
    "after the end": ("M2 or M30 behind everything", "take the end out here, or what stands below it"),
    "contact": ("nothing touched", "move this motion away, or use a slimmer tool, a half centre, or more extra length"),
    "rapid in metal": ("rapids only in air", "make it a feed move, or go round the metal: X out first, X in last"),
    "gouge": ("no metal cut below the finished outline", "correct the word that goes too deep"),
    "thread": ("threads as the part file wants them, each pass in step", "correct the word that differs"),
    "too fast": ("no faster than what drives and carries the work allows", "set a slower speed or a lower limit"),
    "belt": ("the belt set at a stop whose words name its position", "correct the words, or write them and M0"),
    "speed said": ("the speed that a person is told to set", "correct the words, or S"),
    "tool change": ("a stop that says which tool is mounted", "write the words and M0 before the tool is called"),
    "spindle on": ("the spindle still wherever a person comes near", "write M5 before the stop"),
    "no proof": (
        "X alone in air, clear even if it is taken for a diameter, and M0; Z alone, and M0; half a circle, and M0, "
        "where arcs are cut",
        "write it so, each stop naming what it shows: control and program must mean the same",
    ),
    "spindle switch": ("a stop that asks a person to switch the spindle", "write the words and M0"),
    "no wait": ("a wait (G4) as long as the spindle takes to start", "write it after M3, or correct spin_up"),
    "cannot wait": (
        "a spindle at its speed before the tool comes to the work, here and at every start; this standard has no wait",
        'a dialect that has one, or started = "switch" in the shop file: a stop then asks for the spindle',
    ),
    "steps": ("places throughout", "write G90, unless the steps are meant"),
    "stop left out": ("M0 after words of a stop", "write M0, or take the words out if it is left out on purpose"),
    "not measured": ("M0, the spindle still, before the last cut of each section and after it", "write it, or measure"),
    "not tried": ("a slip tried between measuring and the last cut", "write it, or see that nothing moved"),
    "no room to try": ("", "there is no room for a slip: see that nothing has moved since it was measured"),
    "coarse feed": ("the tool's rough_feed in the shop file", "write a lower F, or a higher rough_feed if it is meant"),
    "uncut": ("no metal left above the finished outline", "correct the word that stays out, or add a pass"),
}
"""Each kind of finding on a lathe, with what would be right and what to do; a kind that says it all has none."""
OF_MILL = FIXES | {
    "too near": ("the mill's contact_clearance kept", "move this motion away"),
    "diagonal rapid": ("Z by itself while anything may be below", "rapid Z and the others on lines of their own"),
    "plunge": ("an end mill fed down beside the work", "come down outside the metal and feed in"),
    "too deep": ("no cut deeper than the cutter takes", "cut in layers"),
    "dragged drill": ("drills moved along Z only while in metal", "lift it out first"),
    "spindle off": ("the spindle turning forward in every cut", "start it with M3 before"),
    "turned in the cutter": ("the tool clear of all that turns", "go up and off the tip before"),
    "not checked": ("straight lines", "write it with G1"),
    "unknown tool": ("a number of a [[cutter]]", "correct the T word, or describe the tool in the shop file"),
    "tool offset": ("each tool in its own work system or with its own offset", "write it after the tool change"),
    "unknown place": ("every axis said after a tool change before a cut", "go to a place above the work first"),
    "speed": ("a speed that the mill has and the material takes", "correct the S word"),
    "feed": ("the cutter's own feed in the shop file", "correct the F word"),
    "hole": ("each hole as the part file asks, and no other", "correct its place, angle, depth or tool"),
    "not lined up": ("flats at the angle to the hole that the part file asks for", "write the words at the first stop"),
    "tap": ("the tap after its drill, fed by its pitch", "correct depth, feed or order"),
    "contact": ("nothing touched", "move this motion away, or let the work stand out farther"),
    "rapid in metal": ("rapids only in air", "make it a feed move, or go over the work"),
    "gouge": ("no metal cut below the wanted form", "correct the word that goes too deep"),
    "uncut": ("no metal left above the wanted form", "correct the word that stays out, or add a pass"),
    "spindle on": ("the spindle still at every stop and turn by hand", "write M5 before"),
    "no proof": ("each tool's Z tried in air before it cuts, the spindle still", "write M0 above the work"),
    "not measured": ("M0 after the last cut, the work still held", "write it, or measure before it is taken out"),
}
"""The same for the mill."""


def describe_findings(
    findings: Iterable[Finding], text: str, path: str, fixes: Mapping[str, tuple[str, str]] = FIXES
) -> Iterator[Problem]:
    """Yield what was found, as problems of the program, by its lines."""
    lines = lines_in(text)
    for finding in findings:
        given = lines[finding.line - 1].strip() if 0 < finding.line <= len(lines) else ""
        allowed, fix = fixes.get(finding.kind, ("", ""))
        where = Where(path=path, line=finding.line)
        yield Problem(where=where, what=finding.what, given=given, allowed=allowed, fix=fix)
