"""Passes -> moves, of lathe and mill: geometry and speeds, not one RS-274 word."""

from cam.moves.make import make_moves

__all__ = ["make_moves"]
