"""What all tests share: Hypothesis profiles, random numbers, and the programs outside Python."""

import ctypes.util
import os
import shutil
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import settings

# No deadline: the first call of a numeric routine is slow, and a shared machine is uneven.
settings.register_profile("local", deadline=None, max_examples=50)
settings.register_profile("ci", deadline=None, max_examples=50, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "local")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep browser tests on one worker, so that one browser serves them all."""
    for item in items:
        if item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.xdist_group("browser"))


@pytest.fixture(scope="session", autouse=True)
def kept_elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Predictions and settings that tests keep on disk go to folders of their own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("kept")))
        patch.setenv("XDG_CONFIG_HOME", str(tmp_path_factory.mktemp("own")))
        patch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("proven")))
        yield


@pytest.fixture
def rng() -> np.random.Generator:
    """Random numbers, the same in every run."""
    return np.random.default_rng(20_240_229)


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of the browser for tests marked `browser`."""
    return _must_have(
        os.environ.get("HALFSPLIT_CHROMIUM") or shutil.which("chromium"), "the program chromium"
    )


@pytest.fixture(scope="session")
def ngspice() -> str:
    """Path of the circuit simulator's program for tests marked `spice`."""
    return _must_have(shutil.which("ngspice"), "the program ngspice")


@pytest.fixture(scope="session")
def libngspice() -> str:
    """Name or path of the circuit simulator's shared library for tests marked `spice`."""
    return _must_have(
        os.environ.get("HALFSPLIT_LIBNGSPICE") or ctypes.util.find_library("ngspice"),
        "the library libngspice",
    )


def _must_have(found: str | None, what: str) -> str:
    if not found:
        pytest.fail(f"Needs {what}, not found here; scripts/check says how to install it.")
    return found
