"""Floor 1: frozen dataclasses and their own rules. Imports nothing above."""
