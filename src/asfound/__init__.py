"""asfound: settings as found and as left, and proof that each camera records."""

from asfound.version import VERSION as __version__  # noqa: N811 - the name Python asks for

__all__ = ["__version__"]
