"""Starting the page: a server, on this machine alone unless asked otherwise, and the browser."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import secrets
import socket
import sys
import webbrowser
from pathlib import Path

from halfsplit.bench import CASE_VARIABLE, NETWORK_VARIABLE
from halfsplit.cli.arguments import USUAL_PORT
from halfsplit.cli.command import SCHEMA, Answer, UsageError
from halfsplit.errors import CaseError

__all__ = ["serve"]

_HOST, _EVERYWHERE = "127.0.0.1", "0.0.0.0"
_APP = "halfsplit.web.app:create_app"
"""Named as text: the page and the command line do not import each other."""


def serve(case: Path, args: argparse.Namespace) -> Answer:
    """Show the page of a case until it is stopped from the keyboard. Prints the address."""
    try:
        import uvicorn
    except ImportError as error:
        raise UsageError(
            f"the page needs the package uvicorn, which is missing ({error})"
        ) from error

    os.environ[CASE_VARIABLE] = str(case.absolute())
    listening = _listen(args.port, _EVERYWHERE if args.network else _HOST)
    number = listening.getsockname()[1]
    address = f"http://{_HOST}:{number}/"
    said = {"schema": SCHEMA, "address": address, "case": str(case)}
    os.environ.pop(NETWORK_VARIABLE, None)
    if args.network:
        code, far = f"{secrets.randbelow(10**8):08d}", f"http://{_own_address()}:{number}/"
        os.environ[NETWORK_VARIABLE] = f"{code} {far}"
        said |= {"network_address": far, "code": code}
    if args.json:
        print(json.dumps(said))
    else:
        shown = case if case.is_file() else f"the folder {case.absolute().name}"
        print(f"{shown} is open at {address}")
        if args.network:
            print(f"From a phone: {far} with the code {code[:4]} {code[4:]}")
            print("Whoever is on this network may listen in; use one that you trust.")
        print("Stop with Ctrl-C; every reading is kept.")
    sys.stdout.flush()
    if not args.no_browser:
        with contextlib.suppress(webbrowser.Error):
            webbrowser.open(address)
    config = uvicorn.Config(
        _APP, factory=True, log_level="warning", timeout_graceful_shutdown=1, lifespan="auto"
    )
    with contextlib.suppress(KeyboardInterrupt), listening:
        uvicorn.Server(config).run(sockets=[listening])
    return Answer()


def _own_address() -> str:
    """This machine's address on the local network: where a packet to it would leave. None is
    sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.168.0.1", 9))
        except OSError:
            return socket.gethostname()
        return str(probe.getsockname()[0])


def _listen(wanted: int | None, host: str) -> socket.socket:
    """A socket that listens already, so that the browser may call before the server is up."""
    for number in [USUAL_PORT, 0] if wanted is None else [wanted]:
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, number))
            listening.listen(64)
        except OSError as error:
            listening.close()
            if wanted is not None:
                raise CaseError(
                    f"port {wanted} cannot be had ({error.strerror}); choose another, or --port 0"
                ) from error
            continue
        return listening
    raise CaseError(f"no port of {host} can be had; is the network of this machine up?")
