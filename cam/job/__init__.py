"""The whole job: a part file and a shop file in; judged programs, summary, picture and record out."""

from cam.job.given import choose_dialect, named, read_given, read_log, read_text
from cam.job.judge import judge_backlash, judge_program
from cam.job.make import judge_plan, make_job, make_said, move_outline, rules_of
from cam.job.mill import judge_mill_program
from cam.job.model import Job, MillVerdict, RefusedError, Verdict, Work
from cam.job.outputs import draw_given, draw_job, find_text, job_files, picture_bytes, say_approach, write_job_summary
from cam.job.pages import PageFaultError, is_page, judge_page
from cam.job.sheets import print_job_notebook, print_job_summary, write_job_notebook

__all__ = [
    "Job",
    "MillVerdict",
    "PageFaultError",
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
    "judge_plan",
    "judge_program",
    "make_job",
    "make_said",
    "move_outline",
    "named",
    "picture_bytes",
    "print_job_notebook",
    "print_job_summary",
    "read_given",
    "read_log",
    "read_text",
    "rules_of",
    "say_approach",
    "write_job_notebook",
    "write_job_summary",
]
