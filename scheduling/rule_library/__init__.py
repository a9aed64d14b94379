"""Published minutes rules and class-size caps, shipped as data for a school to adopt and edit.

`rules/*.json` holds one file for each jurisdiction, `activities.json` the activities the rules
speak of, `class_sizes.json` the caps. The figures were read in stored copies of the sources: a
starting point, to be re-checked against the official text before anybody relies on them.
"""
