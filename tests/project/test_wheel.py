"""What a user gets: the wheel holds every file of the package, data files included."""

import zipfile
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src"


@pytest.fixture(scope="module")
def names_in_wheel(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    builder = WheelBuilder(str(ROOT))
    wheel = next(builder.build(directory=str(tmp_path_factory.mktemp("wheel"))))
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def test_wheel_holds_every_file_of_the_package(names_in_wheel: set[str]) -> None:
    files = {
        path.relative_to(SOURCE).as_posix()
        for path in (SOURCE / "halfsplit").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert "halfsplit/py.typed" in files
    assert files - names_in_wheel == set()


def test_wheel_carries_the_licence(names_in_wheel: set[str]) -> None:
    assert any(name.endswith("/licenses/LICENSE") for name in names_in_wheel)
