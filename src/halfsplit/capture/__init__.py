"""Signal records and the files they come in. Arrays only: nothing here knows a board."""
