"""What a good board does while a stimulus plays the controller's part: levels and waveforms."""

from __future__ import annotations

import numpy as np

from halfsplit.board.reader import read_board
from halfsplit.board.source import Source
from halfsplit.build.compiled import Compiled
from halfsplit.build.healthy import compile_healthy
from halfsplit.build.transient import run
from halfsplit.build.transient_schedule import Phase, Schedule
from halfsplit.capture.record import Analog, Record
from halfsplit.diagnose.expected import Expected, expected_volts
from halfsplit.errors import UnknownName
from halfsplit.frozen import dataclass
from halfsplit.parts.vocabulary import PartsVocabulary
from halfsplit.waves.exercise import Stimulus
from halfsplit.waves.sequences import code_text

__all__ = ["PLAYING", "Stimulated", "stimulated"]

PLAYING = "play-"
"""Begins the name of the state in which a code is held."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stimulated:
    """The board with a state for every code of ``played``, its lines being nets of it."""

    world: Compiled
    played: Stimulus
    states: dict[int, str]

    @property
    def places(self) -> list[str]:
        """Every net but supplies."""
        board, supplies = self.world.board, self.world.supply_pin_nets
        return [f"net {net}" for net in board.nets() if net not in supplies]

    def held(self) -> list[Expected]:
        """Volts at every net while each code is held."""
        return list(expected_volts(self.world, self.places, list(self.states.values())))

    def response(self) -> tuple[Record, tuple[str, ...]]:
        """The waveform at every net while it is played, and the parts whose farads or henries
        nobody gave, whose timing is a guess. Raises as :func:`halfsplit.build.transient.run`."""
        ends = np.append(self.played.times[1:], self.played.stop)
        phases = tuple(
            Phase(state=self.states[code], seconds=1e-6 * (end - begin))
            for code, begin, end in zip(
                self.played.codes.tolist(), self.played.times.tolist(), ends.tolist(), strict=True
            )
        )
        schedule = Schedule(phases=phases)
        healthy = self.world.faults[0].id
        done = run(self.world, schedule, faults=[healthy], places=self.places)
        channels = tuple(
            Analog(
                name=place.removeprefix("net "),
                unit="V",
                samples=done.volts[place][0].astype(np.float32),
                times=done.time,
            )
            for place in self.places
        )
        record = Record(
            source="predicted", begin=0.0, end=schedule.seconds, channels=channels, remarks=()
        )
        return record, done.assumed


def stimulated(
    source: Source, played: Stimulus, *, like: str | None = None, pulse: str | None = None
) -> Stimulated:
    """Put the states of the stimulus on a board. ``like`` names the state in which the lines are
    driven, the first powered one unless given; ``pulse`` a net that takes each code over. Raises
    BoardError, UnknownName."""
    board = read_board(source.text, PartsVocabulary(), source=source.where)
    powered = [state.name for state in board.states if state.powered]
    like = like or (powered[0] if powered else "")
    if like not in powered:
        raise UnknownName("powered state", like, powered)
    clock = f" pulse {pulse}" if pulse else ""
    states, lines = {}, []
    for code in sorted(set(played.codes.tolist())):
        levels = " ".join(
            f"{name}={'high' if code >> i & 1 else 'low'}" for i, name in enumerate(played.names)
        )
        states[code] = f"{PLAYING}{code_text(code, len(played.names))}"
        lines.append(f"state {states[code]} like {like} {levels}{clock}")
    text = "\n".join([source.text.rstrip("\n"), *lines, ""])
    world = compile_healthy(read_board(text, PartsVocabulary(), source=source.where))
    return Stimulated(world=world, played=played, states=states)
