"""Where an instrument is: an address as people type it, as VISA has it.

VISA resource names: VPP-4.3, section 4.3. Port 5025 is ``scpi-raw`` in the IANA service name
registry.
"""

from __future__ import annotations

import re

from halfsplit.errors import LinkError

__all__ = ["PORT", "is_stream", "tidy"]

PORT = 5025
_VISA = re.compile(r"(?:TCPIP|USB|ASRL|GPIB|VICP|PRLGX)[^\s:]*::?\S+", re.IGNORECASE)
_HOST = re.compile(r"(?P<host>[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?)(?::(?P<port>[0-9]{1,5}))?")
_SERIAL = re.compile(r"COM[0-9]{1,3}|/dev/[\w./-]+", re.IGNORECASE)
_STREAM = re.compile(r"TCPIP[0-9]*::.+::SOCKET|ASRL.+", re.IGNORECASE)


def tidy(text: str) -> str:
    """``bench.local``, ``192.0.2.7:5025``, ``COM3``, ``/dev/ttyUSB0`` or a VISA name, as a VISA
    name. Raises :class:`LinkError`."""
    plain = text.strip()
    if _VISA.fullmatch(plain):
        return plain
    if _SERIAL.fullmatch(plain):
        return f"ASRL{plain}::INSTR"
    found = _HOST.fullmatch(plain)
    port = int(found["port"] or PORT) if found else 0
    if not found or not 0 < port < 65536:
        raise LinkError(
            plain[:80] or "the address", got=repr(plain[:80]),
            expected="a host such as 192.0.2.7 or 192.0.2.7:5025, a port such as COM3 or "
            "/dev/ttyUSB0, or a VISA name such as USB0::0x1234::0x5678::SERIAL::INSTR",
            do="the instrument's own menu says its address; halfsplit instruments --find looks",
        )  # fmt: skip
    return f"TCPIP::{found['host']}::{port}::SOCKET"


def is_stream(address: str) -> bool:
    """Whether bytes come without a mark of their own where a message ends."""
    return _STREAM.fullmatch(address) is not None
