"""Programs as slides with backlash carry them out."""

from __future__ import annotations

from cam.judge.play import Play, Slides
from cam.rs274.model import Program


def with_play(program: Program, play: Play) -> Program:
    """Return the program as slides with backlash carry it out; a motion may become several of the same line."""
    slides = Slides(play)
    return Program(
        motions=tuple(done for motion in program.motions for done in slides.carry_out(motion)),
        problems=program.problems,
        lines=program.lines,
        comments=program.comments,
        standard=program.standard,
    )
