"""One module for each page, with a ``router``; web/routes.py lists them."""
