"""Posts: program text in one dialect or another, and the cutting summary for a person to read."""
