"""The whole job: a part file and a shop file in; judged programs, summary, picture and record out."""

from cam.job.given import choose_dialect, named, no_such_setting, read_given, read_log, read_text, wait_for
from cam.job.judge import judge_backlash, judge_program
from cam.job.make import judge_plan, make_job, make_said, move_outline, rules_of
from cam.job.mill import judge_mill_program, no_such_work
from cam.job.model import Job, MillVerdict, RefusedError, Verdict, Work
from cam.job.outputs import draw_given, draw_job, find_text, job_files, picture_bytes, say_approach, write_job_summary
from cam.job.pages import PageFaultError, PageVerdict, is_page, judge_page, judge_pages, require_pages
from cam.job.sheets import print_job_notebook, print_job_summary, write_job_notebook

__all__ = [
    "Job",
    "MillVerdict",
    "PageFaultError",
    "PageVerdict",
    "RefusedError",
    "Verdict",
    "Work",
    "choose_dialect",
    "draw_given",
    "draw_job",
    "find_text",
    "is_page",
    "job_files",
    "judge_backlash",
    "judge_mill_program",
    "judge_page",
    "judge_pages",
    "judge_plan",
    "judge_program",
    "make_job",
    "make_said",
    "move_outline",
    "named",
    "no_such_setting",
    "no_such_work",
    "picture_bytes",
    "print_job_notebook",
    "print_job_summary",
    "read_given",
    "read_log",
    "read_text",
    "require_pages",
    "rules_of",
    "say_approach",
    "wait_for",
    "write_job_notebook",
    "write_job_summary",
]
