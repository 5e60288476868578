"""A program to be killed: adds events to a case and prints each number once it is acknowledged.

Arguments: the file, a word to put into each event, how many events (0: until killed), and ``make``
to make the case, ``add`` to add to it, or ``wait`` to add once a line comes in.
"""

import os
import sys
import time
from itertools import count
from pathlib import Path

from halfsplit.store.log import CaseLog

AT = "2024-02-29T12:00:00.000Z"


def body(word: str, i: int) -> dict[str, str | int]:
    """Data of many sizes, so that some events take one page of the file and some take many."""
    return {"word": word, "i": i, "text": "x" * (37 * i % 997 * (30 if i % 7 == 0 else 1))}


def main() -> None:
    """Run until done or killed."""
    path, word, most, how = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), sys.argv[4]
    with CaseLog.create(path, at=AT) if how == "make" else CaseLog.open(path, wait=30) as log:
        if how == "make":
            os.write(1, b"0\n")
        if how == "wait":
            os.write(1, b"ready\n")
            sys.stdin.readline()
        for i in range(most) if most else count():
            event = log.append("reading", body(word, i), at=AT)
            os.write(1, f"{event.number}\n".encode())
            if how == "wait":
                # Lets the other program in, so that the two take turns.
                time.sleep(0.001 * (i % 3))


if __name__ == "__main__":
    main()
