"""What a program does to the work and how near it comes to everything, judged from its text alone."""

from cam.simulate.run import simulate

__all__ = ["simulate"]
