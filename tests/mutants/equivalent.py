"""Changes that were looked at and make no difference that anybody could notice, each with the reason."""

EQUIVALENT: dict[tuple[str, str, str], str] = {
}
"""(module, function, change) -> why it changes nothing."""
