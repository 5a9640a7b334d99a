"""Lengths: shoulders from the real assembly less end shake, fits at the holes, and the log. Pure Python.

`solve` gives a part its lengths from what its file asks for, or raises every problem at once; `read_part` does so
from the file itself.
"""

from cam.lengths.solve import part_of, read_part, solve
from cam.lengths.solved import Solved

__all__ = ["Solved", "part_of", "read_part", "solve"]
