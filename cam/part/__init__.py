"""The part: a file of sections, stock, holding, and what is measured, threaded and milled, read as data.

`read_asked` gives what a part file asks for, with every problem of the file. `cam.lengths` solves its lengths and
checks it by itself; what needs the shop (does the carrier grip, is there room beside the centre) is checked
later. `starter.starter_text` is a part file to begin from.
"""

from cam.part.model import Asked, Part
from cam.part.read import asked_of, read_asked

__all__ = ["Asked", "Part", "asked_of", "read_asked"]
