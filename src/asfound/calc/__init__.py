"""Floor 2: pure functions on numbers and arrays; no files, clock, log or unseeded randomness."""
