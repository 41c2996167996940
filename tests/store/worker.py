"""A program that records snapshots until it is stopped: FOLDER MACHINE COUNT [settle].

Prints `ready`, then each id as soon as it is recorded; the class of the error that stopped it, if any.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime

from profilekeeper.errors import StoreError
from profilekeeper.store import Author, Change, Store


def main(folder: str, machine: str, count: int, settle: bool) -> None:
    print("ready", flush=True)
    try:
        with Store.open(folder) as store:
            for n in range(count):
                now = datetime.now(UTC)
                change = Change(
                    files={f"quayside/{machine}/profile.yaml": f"# {now} {n}\n".encode() * 150},
                    message=f"as-found {n}",
                    trailers={"Kind": "as-found"},
                    author=Author(name="Ada", email="ada@quayside.invalid"),
                    at=now,
                )
                print(store.write(change), flush=True)
                if settle:
                    store.settle()
    except StoreError as error:
        print("error", type(error).__name__, getattr(error, "revision", ""), flush=True)


main(sys.argv[1], sys.argv[2], int(sys.argv[3]), sys.argv[4:] == ["settle"])
