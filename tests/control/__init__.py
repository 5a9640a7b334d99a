"""A lathe control, and an operator who does exactly what its messages say: programs played through, faults and all."""
