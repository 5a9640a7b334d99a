"""Passes -> moves: geometry and speeds, not one RS-274 word."""

from cam.moves.make import make_moves
from cam.moves.model import (
    AirArc,
    ChangeTool,
    Feed,
    FeedArc,
    Finish,
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
    "Feed",
    "FeedArc",
    "Finish",
    "Move",
    "Pause",
    "Rapid",
    "StartPass",
    "StopSpindle",
    "TurnSpindle",
    "make_moves",
]
