"""Pictures of symbols, and other readers that judge what we write."""

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, Payload

VECTORS = Path(__file__).parent.parent / "vectors"

# libdmtx aborts its process on pictures that it dislikes, so it never runs in ours. Pictures come as one .npz file.
DMTX_PROGRAM = """
import json, sys
import numpy as np
from pylibdmtx.pylibdmtx import decode
with np.load(sys.argv[1]) as pictures:
    found = [[one.data.hex() for one in decode(pictures[name], max_count=1, timeout=3000)] for name in pictures.files]
print(json.dumps(found))
"""


@pytest.fixture
def rows_of() -> Callable[[str], list[dict[str, str]]]:
    """Read a table of vectors: source on line one, names on line two, tabs between."""

    def rows(name: str) -> list[dict[str, str]]:
        source, head, *lines = (VECTORS / name).read_text(encoding="utf-8").splitlines()
        assert source.startswith("# ")
        return [dict(zip(head.split("\t"), line.split("\t"), strict=True)) for line in lines]

    return rows


@pytest.fixture
def plain() -> Callable[[str], Payload]:
    return lambda text: Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


@pytest.fixture
def gs1() -> Callable[[str], Payload]:
    return lambda text: Payload(text=text, fnc1_first=True, mode=IdentifierMode.GS1)


@pytest.fixture
def picture_of() -> Callable[..., np.ndarray]:
    """Draw a matrix of modules as a grey picture: so many pixels a module, so many light modules around it."""

    def draw(modules: np.ndarray, *, pixels: int = 4, margin: int = 10) -> np.ndarray:
        tall = np.repeat(modules, 40, axis=0) if len(modules) == 1 else modules
        grey = np.where(np.pad(tall, margin), 0, 255).astype(np.uint8)
        return np.repeat(np.repeat(grey, pixels, axis=0), pixels, axis=1)

    return draw


@pytest.fixture
def read_with_libdmtx(tmp_path: Path) -> Callable[[Sequence[np.ndarray]], list[bytes | None]]:
    """Read the Data Matrix of each picture with libdmtx, in a process of its own."""

    def read(pictures: Sequence[np.ndarray]) -> list[bytes | None]:
        file = tmp_path / "pictures.npz"
        np.savez(file, *pictures)
        done = subprocess.run(
            [sys.executable, "-c", DMTX_PROGRAM, str(file)], capture_output=True, text=True, check=False
        )
        if "ImportError" in done.stderr or "ModuleNotFoundError" in done.stderr:
            pytest.skip(f"libdmtx is not installed: {done.stderr.splitlines()[-1]}")
        assert done.returncode == 0, done.stderr
        return [bytes.fromhex(one[0]) if one else None for one in json.loads(done.stdout)]

    return read


@pytest.fixture
def read_with_zbar() -> Callable[[np.ndarray], list[bytes]]:
    """Read the QR symbols of a picture with zbar."""
    try:
        from pyzbar.pyzbar import ZBarSymbol, decode
    except ImportError as error:
        pytest.skip(f"zbar is not installed: {error}")
    return lambda picture: [one.data for one in decode(picture, symbols=[ZBarSymbol.QRCODE])]
