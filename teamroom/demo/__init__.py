"""An invented school to look around in: a school file, and the people who sign in to it."""
