"""Passes -> moves: geometry and speeds, not one RS-274 word."""

from cam.moves.make import make_moves
from cam.moves.model import (
    AirArc,
    ChangeTool,
    EndProgram,
    Feed,
    FeedArc,
    Move,
    Pause,
    Rapid,
    StartPass,
    StopSpindle,
    TurnSpindle,
)

__all__ = [
    "AirArc",
    "ChangeTool",
    "EndProgram",
    "Feed",
    "FeedArc",
    "Move",
    "Pause",
    "Rapid",
    "StartPass",
    "StopSpindle",
    "TurnSpindle",
    "make_moves",
]
