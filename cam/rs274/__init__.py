"""The strict reader of program text, by the standards' own rules."""

from cam.rs274.model import Motion, Position, Program, Rules
from cam.rs274.read import read_program

__all__ = ["Motion", "Position", "Program", "Rules", "read_program"]
