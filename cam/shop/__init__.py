"""What the workshop has: its file, its checks, its materials, and the solid shape of its tools."""
