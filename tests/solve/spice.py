"""The same circuits for ngspice: each law written again in its language.

Diodes and transistors are ngspice's own models with the same parameters; everything else is a
current source with the law's formula. So the laws are the same and all arithmetic is another:
ngspice finds its own slopes, orders and solves its own matrix, and steps its own way.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from halfsplit.solve import expression
from halfsplit.solve.circuit import LEAK, Circuit
from halfsplit.solve.law import Array, Law
from halfsplit.solve.laws.amplifier import Amplifier
from halfsplit.solve.laws.analog import Comparator, PhotoTransistor, Regulator
from halfsplit.solve.laws.contact import Contact
from halfsplit.solve.laws.junction import Bipolar, Diode
from halfsplit.solve.laws.linear import Conductance, Source
from halfsplit.solve.laws.logic import LogicOutput, TtlInput
from halfsplit.solve.laws.mosfet import Mosfet
from halfsplit.solve.smooth import VT

__all__ = ["netlist", "run"]

_OPTIONS = (
    ".options reltol=1e-6 vntol=1e-9 abstol=1e-13 gmin=1e-15 itl1=300 itl2=300 noopiter=0\n"
    ".options temp=27 tnom=27"
)
_ON = 1e-3


def netlist(circuit: Circuit, params: Sequence[Array], column: int, start: Array) -> str:
    """One operating point: the circuit with the parameters of one column. ``start`` [N] is where
    ngspice begins to look, no more: without it gates cost it hundreds of source steps."""
    lines = ["* one case"]
    for n in range(circuit.size):
        lines.append(f".nodeset v(n{n})={start[n]:.6g}")
        lines.append(f"Rleak{n} n{n} 0 {1.0 / LEAK:.12g}")
    for k, group in enumerate(circuit.groups):
        p = params[k][:, :, min(column, params[k].shape[2] - 1)]
        for member in range(group.nodes.shape[1]):
            name = f"{k}_{member}"
            nodes = ["0" if n == circuit.size else f"n{n}" for n in group.nodes[:, member]]
            values = dict(zip(group.law.parameters, map(float, p[:, member]), strict=True))
            lines += _element(group.law, name, nodes, values)
    return "\n".join([*lines, _OPTIONS, ".end", ""])


def run(program: str, folder: Path, decks: Sequence[str], size: int) -> Array:
    """Node voltages [N, decks] of many netlists in one process; not-a-number where ngspice found
    no operating point."""
    script = ["* all cases", ".control", "set numdgt=12", "set noaskquit", "unset interactive"]
    for k, deck in enumerate(decks):
        (folder / f"c{k}.cir").write_text(deck, encoding="ascii")
        script += [f"echo case {k}", f"source c{k}.cir", "op", "print all", "remcirc",
                   "destroy all"]  # fmt: skip
    script += ["quit", ".endc", ".end", ""]
    (folder / "all.cir").write_text("\n".join(script), encoding="ascii")
    done = subprocess.run(
        [program, "-b", "all.cir"], cwd=folder, capture_output=True, text=True, timeout=1800,
        check=False,
    )  # fmt: skip
    found = np.full((size, len(decks)), np.nan)
    column = -1
    for line in done.stdout.splitlines():
        if match := re.match(r"case (\d+)$", line):
            column = int(match[1])
        elif match := re.match(r"(?:v\()?n(\d+)\)? = (\S+)", line):
            found[int(match[1]), column] = float(match[2])
    return found


def _element(law: Law, name: str, at: Sequence[str], p: Mapping[str, float]) -> list[str]:
    if isinstance(law, Conductance):
        return _leak(name, at[0], at[1], p["g"])
    if isinstance(law, Source):
        if p["g"] == 0.0:
            return []
        held = f"V{name} s{name} {at[1]} {p['volts']:.15g}"
        if type(p["volts"]) is not float:  # an expression
            held = f"B{name} s{name} {at[1]} V={p['volts']:.15g}"
        return [held, *_leak(name, at[0], f"s{name}", p["g"])]
    if isinstance(law, Diode):
        return _diode(name, at, p)
    if isinstance(law, Bipolar):
        return _bipolar(law.sign, name, at, p)
    writers = {Mosfet: _mosfet, Regulator: _regulator, PhotoTransistor: _sensor,
               Comparator: _comparator, TtlInput: _ttl_input, Amplifier: _amplifier,
               Contact: _contact}  # fmt: skip
    if isinstance(law, LogicOutput):
        currents = _logic(law, at, p)
    else:
        currents = writers[type(law)](law, at, p)
    return [f"B{name}_{k} {a} {b} I={text}" for k, (a, b, text) in enumerate(currents) if a != b]


Currents = list[tuple[str, str, str]]
"""(from node, to node, expression) of each current."""


def _leak(name: str, a: str, b: str, g: float) -> list[str]:
    if type(g) is not float and a != b:
        return [f"B{name}{a}{b} {a} {b} I={g:.15g}*{_v(a, b)}"]
    return [] if g == 0.0 or a == b else [f"R{name}{a}{b} {a} {b} {1.0 / g:.15g}"]


def _diode(name: str, at: Sequence[str], p: Mapping[str, float]) -> list[str]:
    a, k = at
    # breakdown as a formula: ngspice shifts its own BV so that the branches meet
    back = f"1e-3*exp(min(-({_v(a, k)}+{_n(p['bv'])})/{_n(p['nbv'] * VT)},80))"
    return [
        f"D{name} {a} {k} MD{name}",
        f".model MD{name} D(IS={p['is_']:.15g} N={p['n']:.15g})",
        *([f"B{name} {k} {a} I={back}"] if p["bv"] < 500.0 else []),
        *_leak(name, a, k, p["gp"]),
    ][0 if p["is_"] > 0.0 else 2 :]


def _bipolar(sign: float, name: str, at: Sequence[str], p: Mapping[str, float]) -> list[str]:
    c, b, e = at
    which = "NPN" if sign > 0 else "PNP"
    over = f"{_n(sign)}*1e-3*exp(min(({_n(sign)}*{_v(c, e)}-{_n(p['bvce'])})/0.5,80))"
    return [
        f"Q{name} {c} {b} {e} MQ{name}",
        f".model MQ{name} {which}(IS={p['is_']:.15g} BF={p['bf']:.15g} BR={p['br']:.15g} "
        f"NF={p['n']:.15g} NR={p['n']:.15g})",
        f"B{name} {c} {e} I={over}",
        *_leak(f"{name}be", b, e, p["gbe"]),
        *_leak(f"{name}bc", b, c, p["gbc"]),
        *_leak(f"{name}ce", c, e, p["gce"]),
    ][0 if p["is_"] > 0.0 else 2 :]


def _mosfet(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    d, g, s = at
    sign = getattr(law, "sign", 1.0)
    fs = _ramp(f"{_n(sign)}*{_v(g, s)}-{_n(p['vth'])}", 0.05)
    fd = _ramp(f"{_n(sign)}*{_v(g, d)}-{_n(p['vth'])}", 0.05)
    return [
        (d, s, f"{_n(sign * 0.5 * p['k'])}*(({fs})*({fs})-({fd})*({fd}))"),
        (d, s, f"{_n(p['gds'])}*{_v(d, s)}"),
        (g, s, f"{_n(p['ggs'])}*{_v(g, s)}"),
        (d, g, f"{_n(p['ggd'])}*{_v(d, g)}"),
    ]


def _regulator(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    i, o, g = at
    sign = getattr(law, "sign", 1.0)
    vi, vo = f"({_n(sign)}*{_v(i, g)})", f"({_n(sign)}*{_v(o, g)})"
    over = _ramp(f"{_n(p['vset'] + p['drop'])}-{vi}", 0.05)
    head = _ramp(f"{_n(p['vset'])}-({over})-{vo}", 0.005)
    push = f"({_n(p['ilim'])}*tanh(({head})/{_n(p['ilim'] * p['r'])})+{_n(_ON)}*({head}))"
    own = f"{_n(p['iq'])}*({_sigmoid(f'({vi}-1.5)/0.2')}-{_n(1.0 / (1.0 + np.exp(7.5)))})"
    return [
        (i, o, f"{_n(sign * p['k'])}*{push}"),
        (i, g, f"{_n(sign)}*{own}"),
        (i, o, f"{_n(p['gio'])}*{_v(i, o)}"),
        (o, g, f"{_n(p['gog'])}*{_v(o, g)}"),
    ]


def _sensor(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    a, k, c, e = at
    led = f"{_n(p['is_'])}*(exp(min({_v(a, k)}/{_n(p['n'] * VT)},80))-1)"
    lit = f"({_ramp(led, 1e-6)}-{_n(1e-6 * np.log(2.0))})"
    pos = f"({_ramp(_v(c, e), 0.02)}-{_n(0.02 * np.log(2.0))})"
    return [
        (c, e, f"{_n(p['ctr'] * p['light'])}*{lit}*tanh({pos}/0.1)"),
        (c, e, f"{_n(p['dark'])}*{_v(c, e)}"),
    ]


def _comparator(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    y, s, g, plus, minus = at
    high = _sigmoid(f"{_n(p['steep'])}*({_v(plus, minus)}+{_n(p['vos'])})")
    h = f"({_n(p['a0'])}+{_n(p['a1'])}*{high})"
    power = _power(_v(s, g), p["on_at"])
    sink = f"({_n(p['il'])}*tanh({_v(y, g)}/{_n(p['il'] * p['rl'])})+{_n(_ON)}*{_v(y, g)})"
    return [
        (y, g, f"{_n(p['k'])}*{power}*(1-{h})*{sink}+{_n(p['leak'])}*{_v(y, g)}"),
        *((u, g, f"{_n(p[leak])}*{_v(u, g)}") for u, leak in ((plus, "gp"), (minus, "gm"))),
        *(
            (s, u, f"{_n(p['ib'])}*{_awake(_v(s, g))}*"
                   + _sigmoid(f"6*({_v(s, g)}-1.2-{_v(u, g)})"))
            for u in (plus, minus)
        ),
    ]  # fmt: skip


def _amplifier(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    y, s, g, plus, minus = at
    room = _ramp(f"{_v(s, g)}-{_n(p['high'] + p['low'])}", 0.05)
    half = f"(0.5*({room})+0.01)"
    t = f"tanh({_n(p['steep'])}*({_v(plus, minus)}+{_n(p['vos'])})/{half})"
    head = f"({_v(y, g)}-{_n(p['low'])}-{half}*(1+{t}))"
    raw = _saturating(head, p["ilim"], p["ro"])
    on = f"{_n(p['k'])}*{_power(_v(s, g), p['on_at'])}"
    sunk, given = _ramp(raw, 1e-4), _ramp(f"-{raw}", 1e-4)
    bias = f"{_n(abs(p['ib']))}*{_awake(_v(s, g))}*"
    return [
        (y, g, f"{on}*{sunk}+{_n(p['leak'])}*{_v(y, g)}"),
        (s, y, f"{on}*{given}"),
        *((u, g, f"{_n(p[leak])}*{_v(u, g)}") for u, leak in ((plus, "gp"), (minus, "gm"))),
        *(
            (s, u, bias + _sigmoid(f"6*({_v(s, g)}-1.2-{_v(u, g)})")) if p["ib"] >= 0.0
            else (u, g, bias + _sigmoid(f"6*({_v(u, g)}-1.2)"))
            for u in (plus, minus)
        ),
    ]  # fmt: skip


def _contact(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    a, b, one, two = at
    size = f"sqrt({_v(one, two)}*{_v(one, two)}+1e-4)"
    worked = _sigmoid(f"{_n(p['steep'])}*({size}-{_n(p['pull'])})")
    made = f"({_n(p['a0'])}+{_n(p['a1'])}*{worked})"
    return [(a, b, f"({_n(p['goff'])}+{_n(p['gon'] - p['goff'])}*{made})*{_v(a, b)}")]


def _ttl_input(law: Law, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    y, s, g = at
    ramp = _ramp(f"{_v(s, g)}-{_n(p['drop'])}-{_v(y, g)}", 0.05)
    gate = _sigmoid(f"12*({_n(p['off_at'])}-{_v(y, g)})")
    return [
        (s, y, f"{_n(p['k'] / p['r'])}*{_awake(_v(s, g))}*({ramp})*{gate}"),
        (y, g, f"{_n(p['g'])}*{_v(y, g)}"),
    ]


def _logic(law: LogicOutput, at: Sequence[str], p: Mapping[str, float]) -> Currents:
    y, s, g, *inputs = at
    middle = p["vth"] + p["swing"] * (0.5 - p["bit"])
    threshold = f"({_n(middle)}*({_n(1.0 - p['rel'])}+{_n(p['rel'])}*{_v(s, g)}))"
    seen = {"q": _n(p["bit"])}
    for k, (name, node) in enumerate(zip(law.inputs, inputs, strict=True), start=1):
        level = _sigmoid(f"{_n(p['steep'])}*({_v(node, g)}-{threshold})")
        seen[name] = f"({_n(p[f'o{k}'])}+{_n(p[f'w{k}'])}*{level})"
    h = f"({_n(p['a0'])}+{_n(p['a1'])}*{_truth(law.level, seen)})"
    en = f"({_n(p['e0'])}+{_n(p['e1'])}*{_truth(law.enable, seen) if law.enable else '1'})"
    power = _power(_v(s, g), p["on_at"])
    low = _saturating(f"({_v(y, g)}-{_n(p['off'])})", p["il"], p["rl"])
    head = f"({_v(s, g)}-{_n(p['drop'])}-{_v(y, g)})"
    ramp = head if law.high == "mos" else f"({_ramp(head, 0.03)})"
    up = _saturating(ramp, p["ih"], p["rh"])
    if law.high == "darlington":
        up = f"({up}+({_ramp(f'{head}+0.755', 0.03)}-{ramp})/4000)"
    currents = [
        (y, g, f"{_n(p['kl'])}*{power}*{en}*(1-{h})*{low}+{_n(p['leak'])}*{_v(y, g)}"),
    ]
    if law.high != "none":
        currents.append((s, y, f"{_n(p['kh'])}*{power}*{en}*{h}*{up}"))
    return currents


def _truth(text: str, seen: Mapping[str, str]) -> str:
    stack: list[str] = []
    for token in expression.parse(text):
        if token == "!":
            stack.append(f"(1-{stack.pop()})")
        elif token in "&|^":
            b, a = stack.pop(), stack.pop()
            twice = {"&": "", "|": f"{a}+{b}-", "^": f"{a}+{b}-2*"}[token]
            stack.append(f"({twice}{a}*{b})")
        else:
            stack.append(seen.get(token, token))
    return stack[0]


def _saturating(x: str, limit: float, ohms: float) -> str:
    return f"({_n(limit)}*tanh({x}/{_n(limit * ohms)})+{_n(_ON)}*{x})"


def _ramp(x: str, scale: float) -> str:
    z = f"(({x})/{_n(scale)})"
    return f"{_n(scale)}*(max({z},0)+ln(1+exp(-abs({z}))))"


def _sigmoid(x: str) -> str:
    return f"(0.5*(1+tanh(0.5*({x}))))"


def _power(supply: str, on_at: float) -> str:
    return f"{_sigmoid(f'4*({supply}-{_n(on_at)})')}*{_awake(supply)}"


def _awake(supply: str) -> str:
    return f"({supply}*{supply}/({supply}*{supply}+0.04))"


def _v(a: str, b: str) -> str:
    if a == "0":
        return f"(-v({b}))" if b != "0" else "0"
    return f"v({a})" if b == "0" else f"(v({a})-v({b}))"


def _n(value: float) -> str:
    return f"({value:.15g})"
