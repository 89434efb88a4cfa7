"""Pages for laptop and phone, and the HTTP interface: faces of the same jobs as the CLI."""
