"""A TOML file as its readers see it: values, the line of every value, and problems instead of exceptions.

tomllib gives values but no lines. A library that keeps the whole document was weighed (tomlkit: 12 ms more
to import than tomllib, and it keeps white space, not line numbers); a small index beside tomllib's own
values (lines.py) is lighter, and cannot disagree with tomllib about a value because it holds none.
"""

from cam.ground.source.lines import Path, line_index
from cam.ground.source.reading import MOST_BYTES, Source, parse_source, read_source
from cam.ground.source.table import Table

__all__ = ["MOST_BYTES", "Path", "Source", "Table", "line_index", "parse_source", "read_source"]
