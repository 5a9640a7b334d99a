"""Whatever comes out of a job, in whatever form: no figure that is none, no word of the workings, always alike."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cam.ground.files import write_folder
from cam.ground.problem import ProblemError
from cam.job import (
    Job,
    job_files,
    make_job,
    print_job_notebook,
    print_job_summary,
    write_job_notebook,
    write_job_summary,
)
from cam.job.record import job_record
from cam.job.report import show_check
from cam.job.view import view_job
from cam.plan.why import answer_why
from tests.mill_parts import WAYS, MillCase, mill_cases
from tests.specimens import part_texts, shop_texts
from tests.test_hook import ENCODER, PART, SHOP, VEE

SLOPS = re.compile(r"(?<![A-Za-z])(?:nan|NaN|inf|Infinity|None)(?![A-Za-z])|-0\.0*(?![0-9])|\{\{|\}\}|\d[.]\d+e-?\d")
"""What no page may say: numbers that are none, a zero with a sign, a template's own marks, exponents."""

CODE = re.compile(r"<script.*?</script>|<style.*?</style>", re.DOTALL)


def pages_of(job: Job, width: int) -> dict[str, str]:
    """Every text that comes of a job."""
    pages = {name: data.decode() for name, data in job_files(job).items()}
    pages |= {"narrow": write_job_summary(job, width), "notebook": write_job_notebook(job, width)}
    pages |= {paper: print_job_summary(job, paper) + print_job_notebook(job, paper) for paper in ("A4", "Letter")}
    return pages | {"view": view_job(job), "why": answer_why(job.plan, None, None), "check": show_check(job)}


def check_all(folder: Path, part: str, shop: str, width: int) -> bool:
    """Every output of a job is fit to be read and the same when it is made again; False for a job that is refused."""
    (folder / "part.toml").write_text(part, encoding="utf-8")
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    given_files = str(folder / "part.toml"), str(folder / "shop.toml")
    try:
        job = make_job(*given_files)
    except ProblemError as refused:
        slops = [str(p) for p in refused.problems if SLOPS.search(str(p))]
        if slops:
            pytest.fail("\n".join(slops))
        return False
    assert not [str(p) for p in job.problems]
    pages = pages_of(job, width)
    for name, text in pages.items():
        found_words = SLOPS.search(CODE.sub("", text))
        assert not found_words, (name, text[max(found_words.start() - 80, 0) : found_words.end() + 20])
    for name in ("narrow", "notebook"):
        assert pages[name].isascii()
        assert max(map(len, pages[name].splitlines())) <= width
    out = str(folder / "out")
    assert write_folder(out, job_files(job), job_record(job))
    again = make_job(*given_files)
    assert not write_folder(out, job_files(again), job_record(again))
    return True


WIDTHS = st.sampled_from((40, 60, 80, 132))
SWEEP = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))


@pytest.mark.slow
@SWEEP
@given(mill_cases(), st.sampled_from(sorted(WAYS)), st.sampled_from(("mm", "in")), WIDTHS)
def test_of_parts_with_work_for_the_mill(
    tmp_path_factory: pytest.TempPathFactory, case: MillCase, way: str, units: str, width: int
) -> None:
    check_all(tmp_path_factory.mktemp("mill"), case.part, case.shops[way].replace("{units}", units), width)


@pytest.mark.slow
@SWEEP
@given(part_texts(extra_length=True, centre="half centre"), shop_texts(), WIDTHS)
def test_of_turned_parts(tmp_path_factory: pytest.TempPathFactory, part: str, shop: str, width: int) -> None:
    check_all(tmp_path_factory.mktemp("turned"), part, shop, width)


def test_of_a_screw_cut_by_the_program(tmp_path: Path) -> None:
    part = re.sub(r"corner_b = .*\n", "", PART.replace('thread_by = "die"', 'thread_by = "single point"'))
    shop = SHOP.replace('dialect = "rs274ngc"', 'dialect = "eia274d"', 1) + VEE
    shop = shop.replace("[lathe.x]\n", f"[lathe.threading]\n{ENCODER}\n[lathe.x]\n", 1)
    assert check_all(tmp_path, part, shop, 47)
