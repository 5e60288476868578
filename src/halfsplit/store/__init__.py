"""The case log: SQLite, one event an action."""
