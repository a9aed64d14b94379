"""From nothing to a school that runs: the first person, the first school, and the list of what is left to do."""
