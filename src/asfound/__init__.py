"""asfound: settings as found and as left, and proof that each camera records."""

from asfound.version import VERSION as __version__

__all__ = ["__version__"]
