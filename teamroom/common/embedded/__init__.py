"""PostgreSQL and a Redis-protocol server of one's own, on one machine, with no set-up.

`places` says where things lie, `postgres` and `valkey` how each server is prepared and started, `keeper` is the small
process that holds one server as long as anybody uses it, `lease` is what a user of a server takes.
"""
