"""The version, in a module of its own so that nobody imports the package root."""

VERSION = "0.1.0"
