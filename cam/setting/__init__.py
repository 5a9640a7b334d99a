"""Settings: how the work is held, where Z is zero, what is there before and what is wanted after."""

from cam.setting.settle import as_cut, settle

__all__ = ["as_cut", "settle"]
