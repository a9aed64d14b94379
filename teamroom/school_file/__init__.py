"""The school file: one JSON file that carries a whole school year in and out.

`reading` takes bytes to a JSON document, `form` holds it against `schema.json`, `checking` finds
what a schema cannot say, `loading` writes it to the database and `dumping` prints it again.
"""

FORMAT = "teamroom school file"
VERSION = 1
