"""Half-profiles as DXF drawings: written for others, and read from others so that they can be planned."""
