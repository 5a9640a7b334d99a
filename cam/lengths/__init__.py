"""The measuring chain: shoulders from the real assembly less end shake, fits at the holes, and the log. Pure Python."""
