"""Others who look for a fault: halving really halves."""

from halfsplit.board.reader import read_board
from halfsplit.build.compiled import compile_board
from halfsplit.checks.kind import Check, Limits, Meter
from halfsplit.checks.registry import CHECKS
from halfsplit.diagnose.catalogue import Catalogue
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.trial.patient import Patient
from halfsplit.trial.rivals import by_halves

CHAIN = """board "chain"
rail +5 5V 5%
rail +12 12V 5%
U1 74LS04 [1,3,5,9]=N[A-D] [2,4,6,8]=N[B-E]
R1 1k 5% NE BASE
Q1 2N2222 c=COIL b=BASE e=GND
L1 winding 120 +12 COIL
offsheet NA drive 74LS
output coil current L1 above 50mA
state on NA=high
"""


def test_a_path_is_halved_until_one_stage_is_left() -> None:
    """NC should be high and is low: what the middle reads decides which half is next."""
    world = compile_board(read_board(CHAIN, PartsVocabulary()))
    row = next(k for k, fault in enumerate(world.faults) if fault.id == "U1 4 stuck low")
    asked: list[str] = []

    def answer(check: Check) -> str:
        if check.kind == "symptom":
            return "off"
        asked.append(world.place(check.places[0]).net)
        return f"{world.volts(check.state, check.places).mean[row, 0]:.2f}"

    catalogue = Catalogue(world, Meter(), [CHECKS.get("symptom"), CHECKS.get("volts")])
    patient = Patient(answer=answer, wrong={"U1"})
    found = by_halves(world, patient, catalogue, Limits())
    assert asked, "a wrong current alone must start the halving"
    assert len(asked) == len(set(asked)) <= 4
    assert found.cured
    assert found.named[0][0] == "U1"
