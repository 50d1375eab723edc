"""keyaction: how a tracker key action will feel, speak and repeat."""

from keyaction._version import __version__

__all__ = ["__version__"]
