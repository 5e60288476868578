"""Blocks that feed back into one another: a fault in any of them makes all of them wrong."""

from __future__ import annotations

from halfsplit.board.model import BLOCK, Board
from halfsplit.frozen import dataclass

__all__ = ["Feedback", "feedback"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Feedback:
    """Blocks of one loop in the order of the file, the nets between them, and the state that
    breaks it by feeding a good signal in, empty when there is none."""

    blocks: tuple[str, ...]
    nets: tuple[str, ...]
    broken_in: str

    @property
    def sentence(self) -> str:
        """What it means, and what to do."""
        several = len(self.blocks) > 1
        names = " and ".join((", ".join(self.blocks[:-1]), self.blocks[-1])) if several \
            else self.blocks[0]  # fmt: skip
        what = "feed back into one another" if several else "feeds back into itself"
        said = (
            f"{names} {what}, so a fault in any of them makes all of them wrong and nothing inside "
            "the loop halves it"
        )
        if self.broken_in:
            return f"{said}; state {self.broken_in} breaks it"
        return (
            f"{said}; break it: lift {self.nets[-1]} off, feed a good signal in there, and type a "
            f"line such as state opened {self.nets[-1]}=good"
        )

    def to_json(self) -> dict[str, object]:
        """Names and values for JSON."""
        return {
            "blocks": list(self.blocks),
            "nets": list(self.nets),
            "broken_in": self.broken_in or None,
            "sentence": self.sentence,
        }


def feedback(board: Board) -> tuple[Feedback, ...]:
    """Every loop of blocks; loops that share a block are one."""
    outputs, inputs = _pins(board, "out"), _pins(board, "in")
    after = {
        name: {other for other, nets in inputs.items() if nets & given}
        for name, given in outputs.items()
    }
    reach = {name: _reached(name, after) for name in after}
    found: list[Feedback] = []
    taken: set[str] = set()
    for name in after:
        if name in taken or name not in reach[name]:
            continue
        loop = [other for other in after if other in reach[name] and name in reach[other]]
        taken |= set(loop)
        nets = [
            net for member in loop for net in _nets(board, member)
            if net in outputs[member] and any(net in inputs[other] for other in loop)
        ]  # fmt: skip
        found.append(
            Feedback(blocks=tuple(loop), nets=tuple(nets), broken_in=_broken(board, set(nets)))
        )
    return tuple(found)


def _nets(board: Board, designator: str) -> tuple[str, ...]:
    """Nets of a part in the order of its pins."""
    part = board.part(designator)
    return tuple(part.pins.values()) if part else ()


def _pins(board: Board, role: str) -> dict[str, set[str]]:
    """Block -> nets on its pins of that role."""
    return {
        part.designator: {net for pin, net in part.pins.items() if part.roles.get(pin) == role}
        for part in board.parts
        if part.kind == BLOCK
    }


def _reached(start: str, after: dict[str, set[str]]) -> set[str]:
    found: set[str] = set()
    edge = set(after[start])
    while edge:
        found |= edge
        edge = {other for name in edge for other in after[name]} - found
    return found


def _broken(board: Board, nets: set[str]) -> str:
    return next(
        (
            state.name
            for state in board.states
            if any(drive.target in nets and drive.value == "good"
                   for drive in state.steps[-1].drives)
        ),
        "",
    )  # fmt: skip
