"""What every room stands on: problems, units and figures, whole files, TOML with its lines, and tables of the trade."""
