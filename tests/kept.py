"""Whole steps of a job, kept by what they were given: what one test has had made is not made again by the next.

Only what `cam.job` asks of other rooms is kept, and only for the same bytes of everything given, a file's included; so
a job that no test of this process has made yet is made. The rooms' own tests call the functions themselves. The samples
that `tests.specimens` reads are kept by their paths. Tests that make a job twice to see that it comes out the same
`forget` in between.
"""

from __future__ import annotations

import hashlib
import os
import pickle
from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests import specimens

STEPS = (
    ("cam.job.given", "solve"),
    ("cam.job.milling", "plan_mill"),
    ("cam.plan", "plan_job"),
    ("cam.rs274", "read_program"),
    ("cam.job.milling", "read_program"),
    ("cam.judge", "simulate"),
    ("cam.job.milling", "simulate_mill"),
    ("cam.sheet", "judge_sheet"),
    ("cam.sheet.mill", "judge_mill_sheet"),
    ("cam.sheet.thread", "judge_thread_pages"),
    ("cam.picture", "draw_plot"),
    ("posts.pages.text", "write_pages"),
    ("posts.pages.job", "job_pages"),
)
"""What is kept: functions that depend on what they are given alone, and return data that nobody changes."""
READERS = (("cam.job.given", "read_asked"), ("cam.job.given", "read_shop"), ("cam.job.stop_record", "read_asked"))
"""What is kept likewise: functions of a file's path and content."""
MOST = 400
"""The most results that a process keeps."""
KEPT: OrderedDict[bytes, Any] = OrderedDict()
PRINTS: OrderedDict[int, tuple[Any, bytes]] = OrderedDict()
"""Data that cannot change, by `id`, with their digests: a shop is given to one step after another."""


def print_of(value: Any) -> Any:
    """Return the digest of data that cannot change, worked out once, and any other value as it is."""
    if not hasattr(value, "__frozen_slots__"):
        return value
    known = PRINTS.get(id(value))
    if known is None:  # it is kept with its digest, so that no other value comes to have its id
        known = PRINTS[id(value)] = value, hashlib.sha256(pickle.dumps(value, pickle.HIGHEST_PROTOCOL)).digest()
        if len(PRINTS) > MOST:
            PRINTS.popitem(last=False)
    return known[1]


def look_up(step: Callable[..., Any], key: object, make: Callable[[], Any]) -> Any:
    """Return what a step has made of a key, or make it."""
    data = pickle.dumps((step.__module__, step.__qualname__, key), pickle.HIGHEST_PROTOCOL)
    digest = hashlib.sha256(data).digest()
    if digest in KEPT:
        KEPT.move_to_end(digest)
    else:
        KEPT[digest] = make()
        if len(KEPT) > MOST:
            KEPT.popitem(last=False)
    return KEPT[digest]


def keep(step: Callable[..., Any]) -> Callable[..., Any]:
    """Return the step as one that looks first whether it has been done already."""

    @wraps(step)
    def look_first(*given: Any, **named: Any) -> Any:
        if any(callable(one) for one in (*given, *named.values())):  # it is to tell what happens meanwhile
            return step(*given, **named)
        key = [print_of(one) for one in given], [(name, print_of(one)) for name, one in sorted(named.items())]
        return look_up(step, key, lambda: step(*given, **named))

    return look_first


def keep_read(read: Callable[[str], Any]) -> Callable[[str], Any]:
    """Return the reader as one that looks first whether the file as it is now has been read already."""

    @wraps(read)
    def look_first(path: str) -> Any:
        if not os.path.isfile(path):  # noqa: PTH113 - a name that Path cannot take
            return read(path)
        return look_up(read, (path, Path(path).read_bytes()), lambda: read(path))

    return look_first


def keep_steps(patch: pytest.MonkeyPatch) -> None:
    """Let the doors use steps that are kept until the patch is undone."""
    for module, name in STEPS:
        home = import_module(module)
        patch.setattr(home, name, keep(getattr(home, name)))
    for module, name in READERS:
        home = import_module(module)
        patch.setattr(home, name, keep_read(getattr(home, name)))


def keep_samples() -> None:
    """Let a sample be read once; nobody changes the copy that `tests.specimens` reads them from."""
    specimens.read_part = keep(specimens.read_part)
    specimens.read_shop = keep(specimens.read_shop)


def forget() -> None:
    """Let everything be made afresh."""
    KEPT.clear()
    PRINTS.clear()
