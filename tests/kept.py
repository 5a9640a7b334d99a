"""Whole steps of a job, kept by what they were given: what one test has had made is not made again by the next.

Only what `cam.job` asks of other rooms is kept, and only for the same bytes of everything given; so a job that no test
of this process has made yet is made. The rooms' own tests call the functions themselves. Tests that make a job twice to
see that it comes out the same `forget` in between.
"""

from __future__ import annotations

import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from importlib import import_module
from typing import Any

import pytest

STEPS = (
    ("cam.plan", "plan_job"),
    ("cam.rs274", "read_program"),
    ("cam.job.milling", "read_program"),
    ("cam.judge", "simulate"),
    ("cam.job.milling", "simulate_mill"),
    ("cam.sheet", "judge_sheet"),
    ("cam.sheet.mill", "judge_mill_sheet"),
    ("cam.sheet.thread", "judge_thread_pages"),
    ("cam.picture", "draw_plot"),
    ("posts.summary", "summary_sections"),
    ("posts.pages.job", "job_pages"),
)
"""What is kept: functions that depend on what they are given alone, and return data that nobody changes."""
MOST = 400
"""The most results that a process keeps."""
KEPT: OrderedDict[bytes, Any] = OrderedDict()


def keep(step: Callable[..., Any]) -> Callable[..., Any]:
    """Return the step as one that looks first whether it has been done already."""

    @wraps(step)
    def look_first(*given: Any, **named: Any) -> Any:
        if any(callable(one) for one in (*given, *named.values())):  # it is to tell what happens meanwhile
            return step(*given, **named)
        data = pickle.dumps((step.__module__, step.__qualname__, given, sorted(named.items())), pickle.HIGHEST_PROTOCOL)
        key = hashlib.sha256(data).digest()
        if key not in KEPT:
            KEPT[key] = step(*given, **named)
            if len(KEPT) > MOST:
                KEPT.popitem(last=False)
        return KEPT[key]

    return look_first


def keep_steps(patch: pytest.MonkeyPatch) -> None:
    """Let the doors use steps that are kept until the patch is undone."""
    for module, name in STEPS:
        home = import_module(module)
        patch.setattr(home, name, keep(getattr(home, name)))


def forget() -> None:
    """Let everything be made afresh."""
    KEPT.clear()
