"""What comes of a job: the files of its folder, the summary and the picture."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cam.ground.problem import Problem, ProblemError, printable, refusal
from cam.job.given import no_control, no_such_setting
from cam.job.make import Tell, judge_plan, tell_nobody, try_job
from cam.job.mill import no_such_work, say_when
from cam.job.pages import require_pages
from cam.rs274.halts import begun_told, head_told, stops_told

if TYPE_CHECKING:
    from cam.job.make import Tried
    from cam.job.model import Job
    from cam.judge.model import Approach
    from cam.picture.refused_square import RefusedSquare
    from cam.plan.model import Plan
    from cam.shop.machine import Facts
    from posts.pages.blocks import Page
    from posts.pages.stops import Said


def job_files(job: Job) -> dict[str, bytes]:
    """Return every file that the job writes but the record: name -> content.

    Raises:
        RefusedError: a program may not be cut, so there is nothing to write.
    """
    job.require_pass()
    facts = job.shop.lathe.control.facts
    files = {} if job.shop.lathe.by_hand else {w.file: as_sent(w.text, facts).encode() for w in job.works}
    files |= {} if job.mill is None else {w.file: as_sent(w.text, job.mill.mill.facts).encode() for w in job.mill.works}
    files["summary.txt"] = write_job_summary(job).encode()
    files["plot.svg"] = draw_job(job).encode()
    return files


def as_sent(text: str, facts: Facts) -> str:
    """Return a program with the line ends that its control wants."""
    return text.replace("\n", "\r\n") if facts.line_ends == "CRLF" else text


def find_text(job: Job, setting: int | None, mill: str | None) -> str:
    """Return the program of a setting, or of a milling operation where a name is given.

    Raises:
        ProblemError: there is no such program, or not yet, or there is no control to run it.
    """
    if mill is not None:
        works = {} if job.mill is None else {w.name: as_sent(w.text, job.mill.mill.facts) for w in job.mill.works}
        if mill not in works:
            unplanned = () if job.mill is None else job.mill.unplanned
            raise ProblemError([no_such_work(job.part, mill, list(works), unplanned)])
        return works[mill]
    if job.shop.lathe.by_hand:
        raise ProblemError([no_control(job.shop, f"endshake summary {job.part.path}")])
    texts = {w.setting.number: as_sent(w.text, job.shop.lathe.control.facts) for w in job.works}
    if setting not in texts:
        raise ProblemError([no_such_setting(job.part, setting or 0, list(texts))])
    return texts[setting]


def write_job_summary(job: Job, width: int = 80) -> str:
    """Return the cutting summary as plain text.

    Args:
        width: columns.
    Raises:
        RefusedError: a program may not be cut.
        PageFaultError: a hand could not work by it; this is our own fault.
    """
    from posts.layout import WIDTH
    from posts.pages.job import figures_of
    from posts.pages.text import write_pages

    def written(columns: int) -> str:
        return printable(write_pages(pages, job.part, figures_of(job.plan), columns))

    pages = pages_of(job)
    text = written(width)
    require_pages(job, text if width >= WIDTH else written(WIDTH), "summary.txt")  # narrower, only rows are broken
    return text


def pages_of(job: Job) -> tuple[Page, ...]:
    """Return the cutting summary as pages of blocks.

    Raises:
        RefusedError: a program may not be cut.
    """
    from posts.pages.job import job_pages

    job.require_pass()
    return job_pages(job.plan, closest=closest_words(job), mill=job.mill, when=_when(job), stops=said_at_stops(job))


def said_at_stops(job: Job) -> Said:
    """Return what head, passes and stops say of every program whose control keeps comments to itself."""
    silent = {} if job.dialect.flag("COMMENTS_SHOWN") else {w.file: (w.text, w.program) for w in job.works}
    if job.mill is not None and not job.mill.dialect.flag("COMMENTS_SHOWN"):
        silent |= {w.file: (w.text, w.program) for w in job.mill.works}
    return {
        file: (head_told(text, program), begun_told(text, program), stops_told(text, program))
        for file, (text, program) in silent.items()
    }


def _when(job: Job) -> dict[str, str]:
    """Return where in the job each work of the mill belongs, by its name."""
    return {work.name: say_when(job, work) for work in job.milled}


def closest_words(job: Job) -> dict[int, str]:
    """Say in words, by setting number, how close each program comes to what holds the work."""
    nearest = [(w, w.simulation.closest_fixed or w.simulation.closest) for w in job.works]
    return {
        w.setting.number: say_approach(a, job.part.unit, w.simulation.tip_only) for w, a in nearest if a is not None
    }


def say_approach(approach: Approach, unit: str, tip_only: Sequence[int]) -> str:
    """Say how near, and what to what: "0.350 mm, tool 1 nose to the centre cone"; and what was not checked.

    Args:
        tip_only: numbers of the tools in use whose bodies are unknown.
    """
    from cam.ground.units import show_fine
    from cam.judge.report import say_tip_only

    distance = show_fine(approach.distance, unit)
    near = f"{distance}, tool {approach.tool} {approach.body} to the {approach.obstacle}"
    return "; ".join(filter(None, (near, say_tip_only(tip_only))))


def draw_job(job: Job, refused: Sequence[Problem] = (), why: str = "") -> str:
    """Draw the job as SVG; a job with problems too, with what was hit marked.

    Args:
        refused: why the mill's share could not be planned; a square is then drawn as it was asked for.
        why: in a few words, why the job may not be cut; "" where it may.
    """
    from cam.picture import draw_plot

    simulations, programs = tuple(w.simulation for w in job.works), tuple(w.program for w in job.works)
    square = refused_square(job, refused) if refused else None
    return draw_plot(job.plan, simulations, programs, job.mill, square, why=why)


def refused_square(job: Job, problems: Sequence[Problem]) -> RefusedSquare | None:
    """Return the square that some of the problems are about; None if there is none, or it could not even be held."""
    from cam.mill.settle import settle_mill
    from cam.picture.refused_square import RefusedSquare

    try:
        jobs = settle_mill(job.part, job.shop)
    except ProblemError:
        return None
    if jobs is None or jobs.square is None:
        return None
    own = tuple(p for p in problems if p.where.line == jobs.square.asked.where.line)
    return RefusedSquare(jobs.square.tasks[0], own) if own else None


def draw_given(
    part_path: str, shop_path: str | None = None, *, piece: str = "", tell: Tell = tell_nobody
) -> tuple[str, tuple[Problem, ...]]:
    """Draw a part's job, also one that is refused: it is drawn as it would have been, with what it hits marked.

    Returns:
        SVG text, and why the job may not be cut (empty where it may).
    Raises:
        ProblemError: a file is wrong, or the part cannot even be held.
    """
    from cam.plan.blind import plan_blindly

    tried = try_job(part_path, shop_path, tell, piece)
    if tried.job is None:
        return _draw_refused(plan_blindly(tried.part, tried.shop), tried, tell), tried.problems
    return draw_job(tried.job, tried.mill, _first_of(tried)), tried.problems


def draw_tool_of(shop_path: str, number: int) -> str:
    """Draw one tool of a shop file as SVG.

    Raises:
        ProblemError: the file is wrong, or has no such tool.
    """
    from cam.picture.tool_sheet import draw_tool
    from cam.shop import read_shop

    return draw_tool(read_shop(shop_path), number)


def _first_of(tried: Tried) -> str:
    """Return the first of what stands against a job, without its numbers; "" where nothing does."""
    return tried.problems[0].what.partition(": ")[0] if tried.problems else ""


def _draw_refused(plan: Plan, tried: Tried, tell: Tell) -> str:
    from cam.picture import draw_plot

    try:
        return draw_job(judge_plan(plan, tried.dialect, tell=tell), why=_first_of(tried))
    except ProblemError:  # the dialect cannot say it: there is no text to judge
        return draw_plot(plan, (), (), why=_first_of(tried))


def picture_bytes(svg: str, path: str) -> bytes:
    """Return the picture in the form that a file's name asks for.

    Raises:
        ProblemError: the name does not end in .svg, .png or .pdf.
    """
    kind = Path(path).suffix.lower()
    if kind == ".svg":
        return svg.encode()
    if kind not in (".png", ".pdf"):
        raise refusal(
            path,
            "does not say what kind of picture it is to be",
            given=kind or "no ending",
            allowed=".svg, .png or .pdf",
        )
    from cam.picture.convert import convert_plot

    return convert_plot(svg, "png" if kind == ".png" else "pdf")
