"""Django's PostgreSQL engine for the embedded server."""
