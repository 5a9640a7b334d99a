"""Changes that were looked at and make no difference that anybody could notice, each with the reason."""

EQUIVALENT: dict[tuple[str, str, str], str] = {
    ("cam/rs274/execute.py", "run_block", "len(g) > (MOTION in g)  ->  len(g) >= (MOTION in g)"): (
        "the modes of a line that says none are set to nothing: it only takes longer"
    ),
}
"""(module, function, change) -> why it changes nothing."""
