"""Which Halfsplit this is."""

from importlib import metadata


def installed_version() -> str:
    """Return the version of the installed distribution, as `pyproject.toml` states it."""
    return metadata.version("halfsplit")
