"""Tests; `pytest` runs them."""
