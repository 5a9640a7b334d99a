"""Endshake: stepped arbors planned, proved and printed from the lengths measured off the real assembly."""
