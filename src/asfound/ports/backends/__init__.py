"""Concrete back-ends; only faces (cli, web), demo and tests may import them."""
