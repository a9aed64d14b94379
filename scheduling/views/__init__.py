"""Pages of scheduling: permit, form, one service, answer."""
