"""Benchmarks print ratios to a peer or a limit from the same run; seconds are printed beside them and never judged."""

import gc
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PEER_LABELS = ROOT.parent / "shared" / "baselines" / "plain_labels.py"

# Test folders are no packages: the parts of a trial find each other by path, which the pools' processes inherit.
sys.path[:0] = [str(ROOT / "tests" / folder) for folder in ("benchmarks", "legibility", "scanning")]


@pytest.fixture
def best_of() -> Callable[..., list[float]]:
    """Time several calls in turns and return the best seconds of each, so that both meet the same machine."""

    def run(*calls: Callable[[], object], rounds: int = 5) -> list[float]:
        best = [float("inf")] * len(calls)
        for _ in range(rounds):
            for place, call in enumerate(calls):
                gc.collect()
                start = time.perf_counter()
                call()
                best[place] = min(best[place], time.perf_counter() - start)
        return best

    return run


@pytest.fixture
def peer_labels() -> Path:
    """Return the plain script that label speed is compared with."""
    if not PEER_LABELS.is_file():
        pytest.skip(f"the peer's script is not beside the project ({PEER_LABELS.name})")
    return PEER_LABELS
