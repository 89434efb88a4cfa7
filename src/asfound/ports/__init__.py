"""Floor 3: machinery behind Protocols. Concrete back-ends live in ports/backends."""
