"""The case log: SQLite, one event an action.

`log.CaseLog` makes, opens and appends; `event.Event` is what it holds; `replay` says what is left
after undo; `salvage` reads a damaged file. Knows no board, no check and no clock. The form of the
file is in `docs/case-file.md`.
"""
