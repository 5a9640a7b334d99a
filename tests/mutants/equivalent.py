"""Changes that were looked at and make no difference that anybody could notice, each with the reason."""

EQUIVALENT: dict[tuple[str, str, str], str] = {
    ("cam/rs274/execute.py", "run_block", "len(g) > (MOTION in g)  ->  len(g) >= (MOTION in g)"): (
        "the modes of a line that says none are set to nothing: it only takes longer"
    ),
    ("cam/rs274/read.py", "_Reader.__init__", "0  ->  1"): "a text without lines has no line that is too long",
    ("cam/rs274/read.py", "recover", "1  ->  2"): (
        "after a line that cannot be read any tool will do: no motion is kept, and only missing words are looked for"
    ),
    ("cam/rs274/words.py", "Block.g_at", "1  ->  2"): "an index below zero is none, whichever it is",
    (
        "cam/judge/milled.py", "extremes",
        "abs(values[i] - values[k]) < EXACT  ->  abs(values[i] - values[k]) <= EXACT",
    ): (
        "floors that differ by exactly a billionth of a micrometre"
    ),
    ("cam/judge/milled.py", "_slices", "4  ->  8"): "no section is shorter than 4 um, where this would pass one over",
    ("cam/judge/milled.py", "_flat_at", "1e-09  ->  2e-09"): "a billionth of a flat's width",
    ("cam/sheet/standing.py", "_face_level", "0.25  ->  0.5"): "a square face is at one place at any height",
    ("cam/sheet/standing.py", "_face_level", "2.0  ->  4.0"): "a square face is at one place at any height",
    ("cam/judge/mill_metal.py", "standing_over", "(end - start) / 2  ->  (end - start) * 2"): (
        "looked at in more slices: it only takes longer"
    ),
    ("cam/sheet/mill.py", "_Reader.flat_row", "abs(up - angle) > 0.01  ->  abs(up - angle) >= 0.01"): (
        "an angle that is off by exactly a hundredth of a degree"
    ),
}
"""Each (module, function, change), with the reason why it changes nothing."""
