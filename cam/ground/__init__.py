"""What every other folder builds on: problems, units, figures, files, TOML with its lines, and tables of the trade."""
