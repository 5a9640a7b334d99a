"""Templates of everything that is written for a reader: programs, the summary, the picture."""
