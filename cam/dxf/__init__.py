"""Half-profiles as DXF drawings: written for others, and read from others to be planned."""
