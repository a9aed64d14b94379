"""Forms of the first run."""
