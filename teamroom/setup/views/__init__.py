"""Pages of the first run and of the set-up list."""
