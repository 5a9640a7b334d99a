"""Programs damaged in every way that a hand, a wire or a worn disk damages them, and how many of those are found."""
