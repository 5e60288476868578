"""What kinds of check share, so that each file says only what is its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import ClassVar

from halfsplit.build.world import World
from halfsplit.checks._cautions import setup_cautions
from halfsplit.checks.kind import Check, Setup, Takes

__all__ = ["Kind"]


class Kind:
    """Names and the usual answers; subclass and set the class variables."""

    name: ClassVar[str]
    title: ClassVar[str]
    help: ClassVar[str]
    takes: ClassVar[Takes]
    unit: ClassVar[str] = ""
    stateful: ClassVar[bool] = False
    words: ClassVar[Mapping[str, str]] = {}
    usual_setup: ClassVar[Setup]
    usual_minutes: ClassVar[float]

    def setup(self, check: Check, world: World) -> Setup:
        state = world.board.state(check.state)
        if self.stateful and state is not None and not state.powered:
            return "off"
        return self.usual_setup

    def minutes(self, check: Check, world: World) -> float:
        return self.usual_minutes

    def risk(self, check: Check, world: World) -> float:
        return 0.0

    def cautions(self, check: Check, world: World) -> Sequence[str]:
        return setup_cautions(self.setup(check, world), world)
