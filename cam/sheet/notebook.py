"""The bench notebook, read back from its printed text: it measures what the pages that were cut by measure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest

from cam.ground.letters import known_by
from cam.ground.problem import Problem, problem_at
from cam.part.model import Part, Section
from cam.sheet.dials import Unit, figure_of
from cam.sheet.either_form import all_lines
from cam.sheet.lines import PageLine
from cam.sheet.mill import MEASURE as SIZE
from cam.sheet.model import MeasureLine, Sheet
from cam.sheet.read import MEASURE

TITLE = re.compile(r"(?i)\x00?.*: notebook, (?P<what>[a-z ,']+?)(?:, continued)?(?:  .*)?$")
HEAD = re.compile(r"\x00?[A-Z][A-Z0-9 ,'-]+")
FINISHED, ON_MILL = "FINISHED", "ON THE MILL"
"""The head over what is measured once all is done; the end of the title of a page of the mill."""
FIX = "print the notebook anew"


def said_by(sheet: Sheet) -> tuple[str, ...]:
    """Return what a setting's page measures, in order, as a notebook is to have it."""
    return tuple(_words(s) for s in sheet.steps if isinstance(s, MeasureLine))


def _words(m: MeasureLine) -> str:
    limits = f"{'then ' if m.then else ''}{m.least.text} to {m.most.text}" if m.least and m.most else "no limits"
    return f"{'shoulder past ' if m.of == 'shoulder' else ''}{m.name}: {m.expected.text} ({limits})"


def judge_notebook(
    text: str, part: Part, pages: Mapping[str, Sequence[str]], *, path: str = "notebook"
) -> tuple[Problem, ...]:
    """Find what stands against a notebook's page of readings.

    Args:
        text: text of the notebook, plain or of the print form. part: part whose finished sizes it asks for.
        pages: by the head under which a page's measures stand ("SETTING 1"), what that page measures; see said_by and
            MillSheetVerdict.measured.
    """
    lines = list(_measured(all_lines(text)))
    if not lines:
        return (problem_at(path, 0, "has no page of what is measured", fix=FIX),)
    found = [*_judge_measures(lines, pages, path), *_judge_finished(lines, part, path)]
    return tuple(sorted(set(found)))


def _measured(lines: Sequence[PageLine]) -> Iterator[PageLine]:
    """Return the lines of the page of readings."""
    inside = False
    for line in lines:
        title = TITLE.fullmatch(line.text.strip())
        if title is not None:
            inside = title["what"].lower() == "measured"
        elif inside:
            yield line


def _judge_measures(lines: Sequence[PageLine], pages: Mapping[str, Sequence[str]], path: str) -> Iterator[Problem]:
    """Check that under each head stands what its page measures, in its order, figure for figure."""
    under: dict[str, list[tuple[PageLine, str]]] = {head: [] for head in pages}
    for head, line in _under_heads(lines):
        if head in under:
            under[head].append((line, _read(line.text.strip(), head)))
    for own, wanted in pages.items():
        for have, want in zip_longest(under[own], wanted):
            if have is None:
                what = f"does not measure what its page does, under {own}"
                yield problem_at(path, lines[-1].number, what, allowed=want, fix=FIX)
            elif have[1] != want:
                yield _problem(have[0], path, "is not what its page measures there", want or "nothing more")
                break


def _under_heads(lines: Sequence[PageLine]) -> Iterator[tuple[str, PageLine]]:
    """Return every MEASURE line with the head that it stands under."""
    head = ""
    for line in lines:
        bare = line.text.strip()
        if bare.startswith("MEASURE "):
            yield head, line
        elif HEAD.fullmatch(bare):
            head = bare


def _read(text: str, head: str) -> str:
    """Return a MEASURE line as its page's reader has it; "" where it says nothing."""
    if head.endswith(ON_MILL):
        size = SIZE.fullmatch(text)
        return f"{size['what']}: {size['expected']}" if size is not None else ""
    found = MEASURE.fullmatch(text)
    if found is None:
        return ""
    limits = f"{found['then'] or ''}{found['least']} to {found['most']}" if found["least"] else "no limits"
    return f"{found['past'] or ''}{found['name']}: {found['expected']} ({limits})"


def _judge_finished(lines: Sequence[PageLine], part: Part, path: str) -> Iterator[Problem]:
    """Check that finished diameters and limits are the part's, and that every cylinder's diameter is asked for."""
    sections = {known_by(s.name): s for s in part.sections}
    wanted = {name for name, s in sections.items() if not s.as_stock and not s.is_taper}
    for head, line in _under_heads(lines):
        if head != FINISHED:
            continue
        found = MEASURE.fullmatch(line.text.strip())
        if found is not None and _is_of(found, sections.get(known_by(found["name"])), part.unit):
            wanted.discard(known_by(found["name"]))
        else:
            yield _problem(line, path, "is no finished diameter of the part")
    for name in sorted(wanted):
        what = f"does not ask for the finished diameter of {sections[name].name}"
        yield problem_at(path, lines[-1].number, what, fix=FIX)


def _is_of(found: re.Match[str], section: Section | None, unit: Unit) -> bool:
    """Tell whether limits are a section's, rounded inward by less than a digit, and the figure lies within them."""
    if section is None:
        return False
    size, tolerance = figure_of(found["expected"], unit), section.tolerance
    if tolerance is None or found["least"] is None:
        return tolerance is found["least"] and size.says(float(section.diameter_a), 1e-6)
    least, most = figure_of(found["least"], unit), figure_of(found["most"], unit)
    if not least.value - size.half - 1e-6 <= size.value <= most.value + size.half + 1e-6:
        return False
    low = least.value - section.diameter_a - tolerance.lower
    high = section.diameter_a + tolerance.upper - most.value
    return all(-least.half - 1e-6 <= off <= 2.0 * least.half + 1e-6 for off in (low, high))


def _problem(line: PageLine, path: str, what: str, allowed: str = "") -> Problem:
    return problem_at(path, line.number, what, line.text.strip()[:200], allowed, FIX)
