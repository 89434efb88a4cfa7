"""One module for each resource for programs, with a ``router``; web/routes.py lists them."""
