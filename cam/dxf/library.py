"""The library that reads and writes DXF, kept from doing what nobody asked for."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

NO_FONTS = Path(__file__).with_name("no_fonts")
"""The folder with an empty list of fonts, where the library looks for its own; no text here is measured."""


def load_library() -> Any:
    """Import ezdxf.

    On its first import it would list the fonts of the system, which takes long, and keep the list in the home folder.
    We write only what the user names, so it is shown a list that exists already.
    """
    if "ezdxf" in sys.modules:
        return sys.modules["ezdxf"]
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(NO_FONTS)
    try:
        return import_module("ezdxf")
    finally:
        if before is None:
            del os.environ["XDG_CACHE_HOME"]
        else:
            os.environ["XDG_CACHE_HOME"] = before
