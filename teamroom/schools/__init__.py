"""The schools of an installation, side by side for the district, and each with its years and administrators."""
