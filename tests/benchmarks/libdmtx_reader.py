"""libdmtx as a reader to compare with, in a process of its own: it aborts on pictures that it dislikes."""

import json
import subprocess
import sys
from functools import cache

import numpy as np

MILLISECONDS = 200  # it searches on for as long as it is let; what it reads, it mostly reads in less
PROGRAM = """
import json, sys
import numpy as np
from pylibdmtx.pylibdmtx import decode
print("ready", flush=True)
while head := sys.stdin.buffer.readline():
    height, width = map(int, head.split())
    grey = np.frombuffer(sys.stdin.buffer.read(height * width), np.uint8).reshape(height, width)
    found = decode(grey, max_count=1, timeout=int(sys.argv[1]))
    print(json.dumps([one.data.hex() for one in found]), flush=True)
"""


class LibdmtxReader:
    """A process that reads one picture after the other, begun anew if it dies."""

    def __init__(self) -> None:
        self._process = None
        self._begin()

    def _begin(self):
        self._process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(MILLISECONDS)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        ready = self._process.stdout.readline() == b"ready\n"
        assert ready, self._process.stderr.read().decode()[-300:]

    def read(self, grey):
        """Return the bytes that a picture says, without what marks fields; None if it is not read."""
        try:
            self._process.stdin.write(b"%d %d\n" % grey.shape)
            self._process.stdin.write(np.ascontiguousarray(grey).tobytes())
            self._process.stdin.flush()
        except BrokenPipeError:
            answer = b""
        else:
            answer = self._process.stdout.readline()
        if not answer:
            self._process.wait()
            self._begin()
            return None
        found = json.loads(answer)
        return bytes.fromhex(found[0]).replace(b"\x1d", b"") if found else None


@cache
def libdmtx_reader():
    """Return the one reader of this process."""
    return LibdmtxReader()


def is_read_by_libdmtx(grey, text):
    """Say whether libdmtx reads a text; FNC1 and separators are left out, since it drops some of them."""
    return libdmtx_reader().read(grey) == text.replace("\x1d", "").encode()
