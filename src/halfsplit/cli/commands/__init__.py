"""The commands, ONE a file; each binds `KIND`. Heavy modules are imported inside `run`."""
