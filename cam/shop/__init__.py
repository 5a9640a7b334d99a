"""What the workshop has: its file, its checks, its materials, and the solid shape of its tools."""

from cam.shop.read import read_shop

__all__ = ["read_shop"]
