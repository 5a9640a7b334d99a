"""The threads that the program is to cut in a setting: where, on what, and how deep they may go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from cam.ground.problem import Problem, problem
from cam.part.model import Part
from cam.part.screw import Wheels, change_wheels, pitch_limits, tip_radius
from cam.part.screwed import Screwed
from cam.part.threads import Thread
from cam.setting.model import ThreadWanted, Turned
from cam.shop.model import Shop, Threading


def find_threads(part: Part, shop: Shop, turned: Sequence[Turned]) -> tuple[tuple[ThreadWanted, ...], list[Problem]]:
    """Find the threads cut by single point, and what stands against them; those cut by die are handwork."""
    single = [s for s in part.threads if s.by == "single point"]
    threading = shop.lathe.threading
    if threading is None:
        return (), [_no_threading(shop, s) for s in single]
    wanted = tuple(_wanted(s, t, part.unit) for s in single for t in turned if t.section.name == s.section)
    return wanted, [] if threading.by == "encoder" else _check_trains(single, threading)


def _check_trains(screwed: Sequence[Screwed], threading: Threading) -> list[Problem]:
    """Report each thread for which there is no train of change wheels."""
    return [_no_train(s, threading) for s in screwed if train_for(s.thread, threading) is None]


def train_for(thread: Thread, threading: Threading) -> Wheels | None:
    """Return the train of change wheels for a thread, within a thousandth of its pitch; None if there is none."""
    return change_wheels(thread.pitch, threading.leadscrew, threading.wheels)


def _wanted(screwed: Screwed, turned: Turned, unit: Literal["mm", "in"]) -> ThreadWanted:
    limits = pitch_limits(screwed.thread)
    return ThreadWanted(
        section=screwed.section, thread=screwed.thread, near=turned.near, far=turned.near - float(screwed.threaded),
        shoulder=turned.far, shank=turned.radius_near, least=limits.least, most=limits.most,
        lowest=tip_radius(screwed.thread, limits.least, 0.0), unit=unit, where=screwed.where,
    )  # fmt: skip


def _no_threading(shop: Shop, screwed: Screwed) -> Problem:
    what = "the shop file does not say how this lathe cuts a thread with a single-point tool"
    given = f'thread_by = "single point", and no [lathe.threading] in {shop.path}'
    allowed = 'a spindle encoder (by = "encoder") or change wheels (by = "change wheels")'
    fix = 'write [lathe.threading] in the shop file; or thread_by = "die"'
    return problem(screwed.where, what, given, allowed, fix)


def _no_train(screwed: Screwed, threading: Threading) -> Problem:
    what = f"no train of the shop's change wheels cuts {screwed.thread.name}"
    given = f"leadscrew {threading.leadscrew:g} mm, wheels {', '.join(map(str, sorted(threading.wheels)))}"
    fix = 'add a wheel (63 or 127 teeth from inch to metric), or cut it by die: thread_by = "die"'
    return problem(screwed.where, what, given, f"a pitch within a thousandth of {screwed.thread.pitch:g} mm", fix)


def let_down(turned: Sequence[Turned], threads: Sequence[ThreadWanted]) -> tuple[Turned, ...]:
    """Return the sections as deep as may be cut: at a thread, down to the sharp vee of its thinnest pitch diameter.

    The undercut behind it keeps its own floor.
    """
    lowest = {t.section: t.lowest for t in threads}
    return tuple(_let_one_down(t, lowest[t.section.name]) if t.section.name in lowest else t for t in turned)


def _let_one_down(turned: Turned, lowest: float) -> Turned:
    corner = turned.corner
    if corner is not None:
        corner = replace(corner, depth=lowest - (turned.radius_far - corner.depth))
    return replace(turned, radius_near=lowest, radius_far=lowest, edge=None, corner=corner)
