"""Ripple of a reservoir against scipy's solver and against the textbook's rule."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from halfsplit.board.reader import read_board
from halfsplit.board.source import find_source
from halfsplit.build.compiled import compile_board
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.replacement.advice import Replacer
from halfsplit.replacement.operating import operate
from halfsplit.replacement.ripple import rectified_ripple

CASES = [(9.5, 1.0, 0.4, 4700e-6), (18.0, 0.3, 0.8, 2200e-6), (24.0, 0.5, 0.35, 470e-6)]


@pytest.mark.parametrize(("volts", "amps", "ohms", "farads"), CASES)
def test_against_a_general_solver(volts: float, amps: float, ohms: float, farads: float) -> None:
    def flows(t: float, v: float, crest: float) -> float:
        return max(crest * abs(math.sin(2.0 * math.pi * 50.0 * t)) - v, 0.0) / ohms - amps

    def settled(crest: float) -> tuple[np.ndarray, np.ndarray]:
        times = np.linspace(0.09, 0.1, 4001)
        done = solve_ivp(
            lambda t, y: [flows(t, y[0], crest) / farads], (0.0, 0.1), [volts], t_eval=times,
            max_step=1e-4, rtol=1e-6, atol=1e-6,
        )  # fmt: skip
        return done.y[0], np.array(
            [flows(t, v, crest) for t, v in zip(times, done.y[0], strict=True)]
        )

    crest = brentq(lambda c: settled(c)[0].mean() - volts, volts, 2.0 * volts, xtol=1e-3)
    v, through = settled(crest)
    rms, swing = rectified_ripple(volts, amps, ohms, farads)
    assert rms == pytest.approx(float(np.sqrt(np.mean(through**2))), rel=0.02)
    assert swing == pytest.approx(float(np.ptp(v)), rel=0.02)


def test_swing_of_a_large_reservoir_is_the_textbooks() -> None:
    """P. Horowitz and W. Hill, The Art of Electronics, section 1.28: dV = I / (2 f C), an upper
    limit that a large reservoir comes near."""
    _, swing = rectified_ripple(20.0, 0.2, 0.1, 10e-3)
    assert 0.7 * 0.2 / (100.0 * 10e-3) < swing < 0.2 / (100.0 * 10e-3)


def test_the_report_says_on_what_it_stands() -> None:
    board = read_board(find_source("linear-supply").text, PartsVocabulary())
    replacer = Replacer(operate(compile_board(board)))
    (said,) = [line for line in replacer.of("C1").remarks if line.startswith("Ripple")]
    assert "if nothing but a full-wave rectifier" in said
    assert "A rms at 100 Hz" in said
    (other,) = [line for line in replacer.of("C4").remarks if line.startswith("Ripple")]
    assert "unresolved" in other
