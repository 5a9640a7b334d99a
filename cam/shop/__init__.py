"""What the workshop has: its file, its checks, its materials, and the solid shape of its tools."""

from cam.shop.model import Shop
from cam.shop.read import read_shop, shop_of

__all__ = ["Shop", "read_shop", "shop_of"]
