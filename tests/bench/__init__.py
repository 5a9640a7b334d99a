"""Ratios of the same run on the same machine; `python -m tests.bench` prints them. It asserts nothing."""
