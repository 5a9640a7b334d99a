"""Settings: how the work is held, where Z is zero, what is there before and what is wanted after."""

from cam.setting.settle import settle

__all__ = ["settle"]
