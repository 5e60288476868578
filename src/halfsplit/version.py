"""Which Halfsplit this is."""


def installed_version() -> str:
    """Return the version of the installed distribution, as `pyproject.toml` states it."""
    from importlib import metadata

    return metadata.version("halfsplit")
