"""A mechanism described in TOML, by datasheet or by what a repairer can measure."""

from pathlib import Path

import pytest
from tests.motion.boards import compiled

from halfsplit.build.motion import steppers
from halfsplit.build.motion_file import Described, read_mechanism
from halfsplit.errors import HalfsplitError

[STEPPER] = steppers(compiled())


def described(folder: Path, text: str) -> Described:
    path = folder / "drive.toml"
    path.write_text(text, encoding="utf-8")
    return read_mechanism(path, STEPPER)


def test_a_datasheet(tmp_path: Path) -> None:
    found = described(
        tmp_path,
        'family = "hybrid"\nsteps_per_turn = 400\nholding = "60mNm"\ninertia = 4e-6\n'
        'friction = "3m"\nstops = [-2, 84]\ntravel = "20mm"\ntrack = "0.1mm"\n',
    ).mechanism
    assert (found.holding, found.inertia, found.friction) == (0.06, 4e-6, 0.003)
    assert (found.teeth, found.stops, found.per_track) == (100.0, (-2.0, 84.0), 2.0)


def test_a_repairers_measurements(tmp_path: Path) -> None:
    """0.5 kg at 6 mm is 29.42 mN m; 50 teeth and a ring of 80 Hz make 5.822e-6 kg m2; what keeps it
    turning, 60 g at 6 mm, is 3.530 mN m; swings of 0.7: 2 J f ln(1/0.7) = 3.322e-4 N m s."""
    found = described(
        tmp_path,
        'slips_at = 0.5\nturns_at = 0.06\nradius = "6mm"\nrings = "80Hz"\nsteps_per_turn = 200\n'
        "rings_down_to = 0.7\n",
    )
    assert found.assumed == ()
    assert found.mechanism.holding == pytest.approx(0.029420, rel=1e-4)
    assert found.mechanism.inertia == pytest.approx(5.822e-6, rel=1e-3)
    assert found.mechanism.friction == pytest.approx(3.5304e-3, rel=1e-4)
    assert found.mechanism.viscous == pytest.approx(3.322e-4, rel=1e-3)
    assert found.mechanism.hertz() == pytest.approx(80.0)


def test_nothing_known_is_said_so() -> None:
    found = read_mechanism(None, STEPPER)
    assert found.assumed == ("holding", "steps_per_turn", "inertia", "friction")
    assert 70.0 < found.mechanism.hertz() < 120.0  # small motors resonate there


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("holdin = 1", "did you mean holding"),
        ('holding = "6 V"', "holding: expected a quantity in Nm"),
        ("slips_at = 0.5", "expected radius beside a weight"),
        ("stops = 3", "two numbers for stops"),
        ("holding = = 3", "expected lines such as"),
        ('family = "servo"', "hybrid"),
        ('order = "L1"', "list of windings"),
        ("inertia = -1", "inertia above 0"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(HalfsplitError, match=message):
        described(tmp_path, text)
