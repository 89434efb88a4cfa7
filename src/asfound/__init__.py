"""asfound: settings as found and as left, and proof that each camera records."""

__version__ = "0.1.0"
