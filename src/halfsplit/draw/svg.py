"""A drawing as SVG text. Colours, strokes and fonts come from the page's style sheet by class.

Parts and nets are buttons for a person without a mouse too: a part by its strokes, named by what it
is; what is written at it is for the eye. Pins carry their place.
"""

from __future__ import annotations

from html import escape

from halfsplit.draw.columns import STUB
from halfsplit.draw.layout import Drawing, Placed
from halfsplit.draw.model import Pin
from halfsplit.draw.symbol import HEAD, TEST_POINT, Port
from halfsplit.draw.wires import Wire

__all__ = ["svg_text"]


def svg_text(drawing: Drawing, title: str) -> str:
    """One ``<svg>`` element: nets below, parts above, pins on top."""
    inside = [
        f"<title>{escape(title)}</title>",
        *(_net(wire) for wire in drawing.wires),
        *(_part(one, drawing) for one in drawing.boxes),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="group" '
        f'viewBox="0 0 {drawing.width} {drawing.height}" width="{drawing.width}" '
        f'height="{drawing.height}">' + "".join(inside) + "</svg>"
    )


def _net(wire: Wire) -> str:
    path = "".join(_line(line) for line in wire.lines)
    dots = "".join(f'<circle class="dot" cx="{x}" cy="{y}" r="2.5"/>' for x, y in wire.dots)
    name = escape(wire.net, quote=True)
    return (
        f'<g class="net" role="button" tabindex="0" data-net="{name}" data-place="net {name}" '
        f'aria-label="net {name}"><path class="hit" d="{path}"/>'
        f'<path class="wire" d="{path}"/>{dots}</g>'
    )


def _line(line: tuple[int, int, int, int]) -> str:
    x1, y1, x2, y2 = line
    return f"M{x1} {y1}" + (f"V{y2}" if x1 == x2 else f"H{x2}")


def _part(one: Placed, drawing: Drawing) -> str:
    box, symbol = one.box, one.symbol
    sort = "test-point" if box.kind == TEST_POINT else "part"
    name, unit = escape(box.part, quote=True), escape(box.unit, quote=True)
    shown = f"{name}{unit}"
    what = escape(
        " ".join(word for word in (box.title.split(",")[0], box.label) if word), quote=True
    )
    turn = f' transform="{symbol.transform}"' if symbol.transform else ""
    strokes = "".join(f'<path class="shape" d="{path}"/>' for path in symbol.shapes)
    strokes += f'<path class="stroke" d="{"".join(symbol.lines)}"/>' if symbol.lines else ""
    words = "".join(
        f'<text class="word" x="{x}" y="{y}" text-anchor="{anchor}">{escape(text)}</text>'
        for x, y, anchor, text in symbol.words
        if text
    )
    marks = "".join(_mark(port, drawing) for port in symbol.ports)
    pins = "".join(_pin(port, numbered=symbol.numbered) for port in symbol.ports)
    return (
        f'<g class="{sort} s0" data-{sort}="{name}" transform="translate({one.x} {one.y})">'
        f'<g class="key" role="button" tabindex="0" aria-label="{shown} {what}">'
        f'<rect class="hit-box" x="-4" y="0" width="{symbol.width + 8}" '
        f'height="{symbol.height + 4}"/><g{turn}>{strokes}</g></g>'
        f'<g aria-hidden="true">{words}'
        f'<text class="name" x="{symbol.name[0]}" y="{symbol.name[1]}">{shown}'
        f'<tspan class="share" dx="4"></tspan></text>'
        f"{marks}{pins}</g></g>"
    )


def _mark(port: Port, drawing: Drawing) -> str:
    """The sign of ground, or the name of a rail, at a pin; the net's name where it is told."""
    net = port.pin.net
    if net == drawing.sheet.ground:
        return _ground(port)
    if net in drawing.sheet.rails:
        return _rail(port)
    if port.pin.place not in drawing.named:
        return ""
    x, y = port.x, port.y
    if port.side != "left":
        down = 10 if y == HEAD else -3  # beside the designator there is no room above the wire
        return f'<text class="net-name" x="{x + 4}" y="{y + down}">{escape(net)}</text>'
    where = f'x="{x - 4}" y="{y - 3}" text-anchor="end"'
    return f'<text class="net-name" {where}>{escape(net)}</text>'


def _ground(port: Port) -> str:
    x, y = port.x, port.y
    if port.side == "up":
        lead, y = f"M{x} {y}V{y - 4}", y - 4
        bars = f"M{x - 7} {y}h14M{x - 4.5} {y - 3}h9M{x - 2} {y - 6}h4"
        return f'<path class="stroke" d="{lead}{bars}"/>'
    if port.side != "down":
        way = 1 if port.right else -1
        at = x + way * STUB
        bars = "".join(f"M{at + way * n} {y - long}v{2 * long}" for n, long in _BARS)
        return f'<path class="stroke" d="M{x} {y}H{at}{bars}"/>'
    bars = f"M{x - 7} {y + 4}h14M{x - 4.5} {y + 7}h9M{x - 2} {y + 10}h4"
    return f'<path class="stroke" d="M{x} {y}V{y + 4}{bars}"/>'


_BARS = ((0, 7), (3, 4.5), (6, 2))
"""Of a ground sign on its side: distance and half length."""


def _rail(port: Port) -> str:
    x, y, net = port.x, port.y, escape(port.pin.net)
    label = f'<text class="rail" data-place="net {net}"'
    if port.side in ("up", "down"):
        way = -1 if port.side == "up" else 1
        at = y + 4 * way
        words = at - 4 if way < 0 else at + 11
        return (
            f'<path class="stroke" d="M{x} {y}V{at}M{x - 6} {at}H{x + 6}"/>'
            f'{label} x="{x}" y="{words}" text-anchor="middle">{net}</text>'
        )
    way, anchor = (1, "start") if port.right else (-1, "end")
    at = x + way * STUB
    return (
        f'<path class="stroke" d="M{x} {y}H{at}M{at} {y - 4}V{y + 4}"/>'
        f'{label} x="{at + way * 3}" y="{y + 3}" text-anchor="{anchor}">{net}</text>'
    )


def _pin(port: Port, *, numbered: bool) -> str:
    pin: Pin = port.pin
    place = escape(pin.place, quote=True)
    number = ""
    if numbered:
        x, y, anchor = {
            "left": (port.x + 2, port.y - 3, "start"),
            "right": (port.x - 2, port.y - 3, "end"),
            "up": (port.x + 8, port.y - 2, "start"),
            "down": (port.x + 9, port.y + 8, "start"),
        }[port.side]
        number = (
            f'<text class="pin-number" x="{x}" y="{y}" text-anchor="{anchor}">'
            f"{escape(pin.name)}</text>"
        )
    return f'{number}<circle class="pin" cx="{port.x}" cy="{port.y}" r="8" data-place="{place}"/>'
