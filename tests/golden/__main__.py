"""Write every kept text anew."""

from __future__ import annotations

from tests.golden import FOLDER, GOLDEN

for name, make in GOLDEN.items():
    (FOLDER / name).write_text(make(), encoding="utf-8", newline="\n")
