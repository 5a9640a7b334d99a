"""The part: a file of sections, stock and holding, read whole, solved and checked by itself.

`read_part` gives a Part or raises every problem of the file at once. `starter_text` is a part file to begin
from. What needs the shop (does the carrier grip, is there room beside the centre) is asked further down.
"""

from cam.part.model import Part
from cam.part.read import part_of, read_part
from cam.part.starter import starter_text

__all__ = ["Part", "part_of", "read_part", "starter_text"]
