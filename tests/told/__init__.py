"""What judges say of small cases set out by hand, kept word for word and figure for figure in tests/golden.

Each case is a few lines that a person can work out: where a figure of a kept text moves, either the judge was wrong
before or it is wrong now.
"""

MARK = "told-"
"""The beginning of the name of each kept text."""
