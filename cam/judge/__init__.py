"""What a program of lathe or mill does to the work and how near it comes to everything, judged from its text alone."""

from cam.judge.run import simulate

__all__ = ["simulate"]
