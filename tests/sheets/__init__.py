"""Pages of random jobs judged by their printed text, and damaged; `python -m tests.sheets` counts."""
