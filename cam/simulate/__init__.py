"""What a program does to the work and how near it comes to everything, judged from its text alone."""
