"""One job of the search: it is drawn, made and held to the laws; or refused, and the fix that it names is tried."""

from __future__ import annotations

import re
import signal
import tempfile
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from random import Random
from types import FrameType

from cam.ground.problem import Problem, ProblemError
from cam.ground.source import parse_source
from cam.job import Job
from cam.job.given import choose_dialect, read_given
from cam.job.make import judge_plan
from cam.lengths.solve import solve
from cam.part.read import asked_of
from cam.plan import plan_job
from cam.plan.model import Plan
from cam.shop.read import shop_of
from tests.search import fixes_of_screws, milled, screws
from tests.search.draw import Drawn, draw_part, draw_shop
from tests.search.fixes import ways
from tests.search.laws import BrokenLawError, hold
from tests.search.pages import hold_pages
from tests.search.reader import UnreadableError
from tests.search.spec import Part
from tests.search.stops import hold_stops
from tests.search.words import hold_mill_words, hold_words

SECONDS = 120
"""A job that takes more of the processor's time than this, s, hangs, however busy the machine is."""

ROUNDS = 6
"""How often a refused part is fixed as its refusal says and tried again."""


@dataclass
class Outcome:
    """What came of one job.

    Attributes:
        number: of the job. kind: "accepted", "refused" or "fault". what: of a fault, its words; of a refusal, the
            kinds of its problems. fixes: for each that was tried, its name and whether it worked.
        files: name and text of what is kept of a fault. refused: kinds of the problems for which it was first
            refused, and that were then fixed as they say. untried: kinds of problems whose fix cannot be made by rote.
    """

    number: int
    kind: str
    what: list[str] = field(default_factory=list)
    fixes: list[tuple[str, bool]] = field(default_factory=list)
    files: dict[str, str] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)
    untried: list[str] = field(default_factory=list)


class HungError(Exception):
    """A job took too long."""


def _ring(_: int, __: FrameType | None) -> None:
    raise HungError(f"took more than {SECONDS} s")


def run(seed: int, number: int, pages: int = 0, dialect: str = "", stops: int = 0) -> Outcome:
    """Run one job by its number; the same seed and number always give the same job.

    Args:
        pages: one in so many jobs has its pages and the words at its stops judged too; 0 for none.
        stops: one in so many is made again from what its stops read behind a tool that is off; 0 for none.
        dialect: in place of the one that is drawn.
    """
    rng = Random(f"{seed}-{number}")
    shop = draw_shop(rng)
    if dialect:
        shop.text = re.sub(r'^dialect = "[^"]*"', f'dialect = "{dialect}"', shop.text, flags=re.M)
    part = draw_part(rng, shop.shop)
    signal.signal(signal.SIGPROF, _ring)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        asked = ((pages, _hold_pages), (stops, _hold_stops))
        return _judge(number, part, shop, [law for each, law in asked if each and number % each == 0])
    except Exception as fault:
        signal.setitimer(signal.ITIMER_PROF, 0)
        texts = {"traceback.txt": traceback.format_exc()}
        return _fault(number, part, shop, f"stumbles: {type(fault).__name__}: {fault}", texts)
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def run_other(seed: int, number: int, kind: str) -> Outcome:
    """Run one job with a square and a cross hole ("milled"), or with a thread ("screw"), in the same way.

    A refused screw is fixed as its refusal says and made again, as a refused part is.
    """
    rng = Random(f"{seed}-{number}-{kind}")
    texts: dict[str, str] = {}
    signal.signal(signal.SIGPROF, _ring)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    with tempfile.TemporaryDirectory(prefix="endshake-search-") as folder:
        try:
            if kind == "milled":
                return _hold_milled(number, rng, texts, Path(folder))
            return _hold_screws(number, screws.draw(rng), texts, Path(folder))
        except BrokenLawError as broken:
            return Outcome(number, "fault", [f"breaks a law: {broken}"], files=texts)
        except Exception as fault:
            texts["traceback.txt"] = traceback.format_exc()
            return Outcome(number, "fault", [f"stumbles: {type(fault).__name__}: {fault}"], files=texts)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)


def _hold_screws(number: int, screw: screws.Screw, texts: dict[str, str], folder: Path) -> Outcome:
    """Hold a screw; where it is refused, make it again with each fix done, until nothing is left to do."""
    refused: list[str] = []
    fixes: list[tuple[str, bool]] = []
    untried: list[str] = []
    for _ in range(ROUNDS):
        outcome, fixed = _hold_screw(number, screw, texts, folder)
        refused += outcome.refused
        fixes += outcome.fixes
        untried += outcome.untried
        if fixed is None:
            break
        screw = fixed
    return replace(outcome, fixes=fixes, refused=refused, untried=untried)


def _refusal_of_screw(
    number: int, screw: screws.Screw, refused: ProblemError, folder: Path
) -> tuple[Outcome, screws.Screw | None]:
    """Try every fix that a refusal names; return the screw with one of each done."""
    kinds = [kind_of(p.what) for p in refused.problems]
    outcome, fixed = Outcome(number, "refused", kinds, refused=kinds), screw
    for problem in refused.problems:
        if problem.where.line <= 0 or not (problem.allowed or problem.fix):
            return replace(outcome, kind="fault", what=[f"a refusal without line or help: {problem}"]), None
        tried = fixes_of_screws.ways(screw.files["part.toml"], str(problem))
        outcome.untried.extend([] if tried else [kind_of(problem.what)])
        for name, text in tried:
            left = _stands(screws.with_part(screw, text), folder)
            worked = kind_of(problem.what) not in map(kind_of, (p.what for p in left))
            outcome.fixes.append((name, worked))
            if not worked:
                files = {"fixed.toml": text, "left.txt": "\n".join(map(str, left))}
                said = f"a fix does not help: {name}, of {problem}"
                return replace(outcome, kind="fault", what=[said], files=screw.files | files), None
        if more := fixes_of_screws.ways(fixed.files["part.toml"], str(problem)):
            fixed = screws.with_part(fixed, more[0][1])
    return outcome, fixed if fixed is not screw else None


def _stands(screw: screws.Screw, folder: Path) -> tuple[Problem, ...]:
    """Return what stands against a screw that is planned and not written."""
    for name, text in screw.files.items():
        (folder / name).write_text(text, encoding="utf-8")
    try:
        plan_job(*read_given(str(folder / "part.toml")))
    except ProblemError as refused:
        return refused.problems
    return ()


def _words(number: int, words: str, files: dict[str, str]) -> Outcome:
    return Outcome(number, "fault" if words else "accepted", [words] if words else [], files=files if words else {})


def _hold_milled(number: int, rng: Random, texts: dict[str, str], folder: Path) -> Outcome:
    case, way, files = milled.draw(rng)
    texts |= files
    try:
        job = milled.make(files, folder)
    except ProblemError as refused:
        kinds = [kind_of(p.what) for p in refused.problems]
        if dumb := next((p for p in refused.problems if p.where.line <= 0 or not (p.allowed or p.fix)), None):
            return Outcome(number, "fault", [f"a refusal without line or help: {dumb}"], files=texts)
        return Outcome(number, "refused", kinds, refused=kinds, untried=kinds)
    texts |= {work.file: work.text for work in job.works}
    if job.problems:
        return _words(number, f"our own check refuses: {job.problems[0].what}", texts)
    milled.hold(case, way, job)
    hold_mill_words(job)
    return _words(number, "", texts)


def _hold_screw(
    number: int, screw: screws.Screw, texts: dict[str, str], folder: Path
) -> tuple[Outcome, screws.Screw | None]:
    """Make one screw as it stands; return what came of it, and the screw once fixed."""
    texts |= screw.files
    try:
        job = screws.make(screw, folder)
    except ProblemError as refused:
        return _refusal_of_screw(number, screw, refused, folder)
    texts |= {work.file: work.text for work in job.works}
    if job.problems:
        return _words(number, f"our own check refuses: {job.problems[0].what}", texts), None
    screws.hold(screw, job)
    hold_words(job)
    return _words(number, "", texts), None


class Bench:
    """The shop of one job, and the plans made in it so far: a fix that was tried is the part of the next round."""

    def __init__(self, drawn: Drawn) -> None:
        self.drawn, self.has = drawn, shop_of(parse_source(drawn.text.encode(), "shop.toml"))
        self.tried: dict[str, Plan | tuple[Problem, ...]] = {}

    def plan(self, part: Part) -> Plan | tuple[Problem, ...]:
        """Return a part's plan, or all that stands against it."""
        text = part.text()
        if text not in self.tried:
            try:
                source = parse_source(text.encode(), "part.toml")
                self.tried[text] = plan_job(solve(asked_of(source), self.has.noses), self.has)
            except ProblemError as refused:
                self.tried[text] = refused.problems
        return self.tried[text]


def _hold_pages(_number: int, _part: Part, _bench: Bench, job: Job) -> None:
    hold_pages(job)
    hold_words(job)


def _hold_stops(number: int, part: Part, bench: Bench, job: Job) -> None:
    if not bench.has.lathe.by_hand:
        with tempfile.TemporaryDirectory(prefix="endshake-search-") as folder:
            drawn = bench.drawn
            hold_stops(Random(f"{number}-stops"), part.text(), drawn.text, job, drawn.shop, Path(folder))


Law = Callable[[int, Part, Bench, Job], None]


def _judge(number: int, part: Part, shop: Drawn, laws: Sequence[Law]) -> Outcome:
    """Make a part; where it is refused, make it again with each fix done, until nothing is left to do."""
    bench = Bench(shop)
    refused: list[str] = []
    fixes: list[tuple[str, bool]] = []
    untried: list[str] = []
    for _ in range(ROUNDS):
        outcome, fixed = _make(number, part, bench, laws)
        refused += outcome.what if outcome.kind == "refused" else []
        fixes += outcome.fixes
        untried += outcome.untried
        if fixed is None or outcome.kind != "refused":
            break
        part = fixed
    return replace(outcome, fixes=fixes, refused=refused, untried=untried)


def _make(number: int, part: Part, bench: Bench, laws: Sequence[Law]) -> tuple[Outcome, Part | None]:
    """Make one part as it stands; return what came of it, and the part once fixed."""
    shop = bench.drawn
    try:
        plan = bench.plan(part)
        if isinstance(plan, tuple):
            return _refusal(number, part, bench, plan)
        job = judge_plan(plan, choose_dialect(None, bench.has))
    except ProblemError as refused:  # the dialect cannot say it
        return _refusal(number, part, bench, refused.problems)
    except Exception as stumble:
        texts = {"traceback.txt": traceback.format_exc()}
        return _fault(number, part, shop, f"stumbles: {type(stumble).__name__}: {stumble}", texts), None
    texts = {work.file: work.text for work in job.works}
    if job.problems:
        return _fault(number, part, shop, f"our own check refuses: {job.problems[0].what}", texts), None
    try:
        hold(part, shop.shop, list(texts.values()))
        for law in laws:
            law(number, part, bench, job)
    except (BrokenLawError, UnreadableError) as broken:
        return _fault(number, part, shop, f"breaks a law: {broken}", texts), None
    except Exception as stumble:
        texts["traceback.txt"] = traceback.format_exc()
        return _fault(number, part, shop, f"stumbles: {type(stumble).__name__}: {stumble}", texts), None
    return Outcome(number, "accepted"), None


def _fault(number: int, part: Part, shop: Drawn, what: str, texts: dict[str, str]) -> Outcome:
    files = {"part.toml": part.text(), "shop.toml": shop.text, **texts}
    return Outcome(number, "fault", [what], files=files)


def kind_of(what: str) -> str:
    """Return a problem without its names and numbers."""
    return re.sub(r"-?[0-9]+(\.[0-9]+)?", "N", re.sub(r'"[^"]*"', '"..."', what))


def _refusal(number: int, part: Part, bench: Bench, problems: tuple[Problem, ...]) -> tuple[Outcome, Part | None]:
    """Check that a refusal says a line and what to do, and that it helps; return the part with one fix of each done."""
    shop, outcome, fixed = bench.drawn, Outcome(number, "refused", [kind_of(p.what) for p in problems]), part
    for problem in problems:
        if problem.where.line <= 0 or not (problem.allowed or problem.fix):
            return _fault(number, part, shop, f"a refusal without line or help: {problem}", {}), None
        tried = ways(part, str(problem))
        outcome.untried.extend([] if tried else [kind_of(problem.what)])
        for name, changed in tried:
            plan = bench.plan(changed)
            left = plan if isinstance(plan, tuple) else ()
            worked = not any(p.what.split(":")[0] == problem.what.split(":")[0] for p in left)
            outcome.fixes.append((name, worked))
            if not worked:
                said = f"a fix does not help: {name}, of {problem}"
                texts = {"fixed.toml": changed.text(), "left.txt": "\n".join(map(str, left))}
                return replace(_fault(number, part, shop, said, texts), fixes=outcome.fixes), None
        if more := ways(fixed, str(problem)):
            fixed = more[0][1]
    return outcome, fixed if fixed is not part else None
