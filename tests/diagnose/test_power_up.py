"""The power-up plan against Ohm's law and the charge of a capacitor."""

import json
import math

import pytest
from scipy.integrate import solve_ivp

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.cli.main import main
from halfsplit.diagnose.power_up import PowerUp, power_up
from halfsplit.parts.vocabulary import PartsVocabulary

BOARD = """
board "A lamp card" rev A
rail +12 12V 10% ohms=0.1
R1 100 5% +12 GND
C1 electrolytic 1000u +12 GND
C2 tantalum 10u +12 GND
J1 connector 1=+12
R2 50 5% J1/1 GND
U1 controller family=nmos out 1=A0 supply 2=V5 ground 3=GND ; irreplaceable ; socketed
R3 100k 5% +12 V5
output "lamp" current R2 above 100mA
state on A0=low
"""


@pytest.fixture(scope="module")
def plan() -> PowerUp:
    return power_up(compile_board(read_board(BOARD, PartsVocabulary())))


def test_ohms_and_currents(plan: PowerUp) -> None:
    (supply,) = plan.supplies
    least, most = supply.ohms
    assert least < 100 * 50 / 150 < most  # the two resistors side by side
    assert supply.unplugged == pytest.approx(12 / 100, rel=0.02)
    assert supply.amps == pytest.approx(12 / 100 + 12 / 50, rel=0.02)
    assert supply.low == pytest.approx(10.8)
    assert supply.then >= 1.5 * supply.amps * 0.999
    assert supply.then < 2.5 * supply.amps  # the next of six values in a decade


def test_a_reservoir_is_empty_when_the_plan_says(plan: PowerUp) -> None:
    """dV/dt = -V / RC, integrated by scipy."""
    (big,) = plan.reservoirs  # 10 uF at 13 V keeps less than a millijoule
    assert big.designator == "C1"
    assert big.watts <= big.rated / 2
    done = solve_ivp(
        lambda t, v: -v / (big.bleed * big.farads), (0.0, big.seconds), [big.volts], rtol=1e-8
    )
    assert done.y[0, -1] == pytest.approx(1.0, rel=1e-4)


def test_empty_reservoirs_ask_what_ohms_law_and_their_charge_say(plan: PowerUp) -> None:
    """The supply's 0.1 ohm and 1010 uF at 13.2 V: the current and its square over time integrated
    by scipy; at a limit dV/dt = I / C."""
    (supply,) = plan.supplies
    assert supply.reservoirs == ("C1", "C2")
    assert supply.surge == pytest.approx(13.2 / 0.1)
    done = solve_ivp(
        lambda t, y: [(13.2 - y[0]) / (0.1 * 1010e-6), ((13.2 - y[0]) / 0.1) ** 2],
        (0.0, 2e-3), [0.0, 0.0], rtol=1e-8, atol=1e-10,
    )  # fmt: skip
    assert supply.melting == pytest.approx(done.y[1, -1], rel=1e-4)
    assert supply.charges == pytest.approx(1010e-6 * 13.2 / (supply.limit - supply.unplugged))


def test_cautions_first_and_the_rare_part_out(plan: PowerUp) -> None:
    assert "licensed" in " ".join(plan.cautions)
    steps = list(plan.steps)
    assert next(at for at, step in enumerate(steps) if "U1" in step) < next(
        at for at, step in enumerate(steps) if step.startswith("Power on")
    )
    assert any("limit" in line for line in plan.stop)


def test_command_on_the_demo(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["powerup", "plotter-drive", "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)["plan"]
    by_net = {one["net"]: one for one in plan["supplies"]}
    assert by_net["+24IN"]["amps"] == pytest.approx((24 - 0.75) / 56.4, rel=0.01)
    assert by_net["+24IN"]["unplugged"] < 1e-3
    assert by_net["+24IN"]["limit"] < by_net["+24IN"]["amps"] / 10
    assert [one["designator"] for one in plan["reservoirs"]] == ["C6"]
    assert math.isclose(plan["reservoirs"][0]["volts"], 26.4, rel_tol=0.01)
