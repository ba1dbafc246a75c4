"""How fast whole labels are set and proved, against plain peers of the same run."""

import json
import runpy
import subprocess
import sys
from datetime import date

from tracelabels.identifiers import IdentifierMode, LabelIdentity, format_serial
from tracelabels.labels import LabelContent, Printer, require_layout, require_sheet, typeset
from tracelabels.legibility.proof import prove
from tracelabels.paper import rasterise
from tracelabels.symbols import Symbology, read_symbols

SHEET, LAYOUT = "a4-5x13-38.1x21.2", "tube-1.5-side"


def contents(count: int):
    for number in range(count):
        yield LabelContent(
            identity=LabelIdentity(
                use_by=date(2027, 11, 30),
                prepared=date(2026, 11, 25),
                lot=f"55{number % 100:02d}",
                serial=format_serial(1, number + 1),
            ),
            mode=IdentifierMode.IN_HOUSE,
            product="Rosehip",
            item_number="R-12",
        )


def _set(count: int):
    return typeset(
        contents(count),
        layout=require_layout(LAYOUT),
        sheet=require_sheet(SHEET),
        printer=Printer(dpi=300),
        title="run",
    )


def test_a_whole_tube_label_against_the_plain_script(best_of, peer_labels, tmp_path, capsys):
    """Encode, validate, choose, fit text, draw into the PDF: at least 5 times the plain script's rate."""
    peer = runpy.run_path(str(peer_labels))["main"]
    count = 1300
    ours, theirs = best_of(lambda: _set(count), lambda: peer(count, str(tmp_path / "peer.pdf")))
    size = len(_set(count).pdf) / count
    capsys.readouterr()
    with capsys.disabled():
        print(
            f"\nwhole tube label: {theirs / ours:.1f} times the plain script "
            f"({count / ours:.0f} against {count / theirs:.0f} a second; {size:.0f} bytes a label)"
        )
    assert theirs / ours >= 5


def test_the_proof_of_a_sheet_against_bare_rasterise_and_read(best_of, capsys):
    """65 labels: within 1.5 times the time of rasterising the page and reading it with the same formats and flags.

    Formats: Data Matrix, which is what the sheet carries; flags: the reader's defaults for the bare read.
    """
    sheet = _set(65)

    def bare() -> int:
        return sum(
            len(read_symbols(page, kinds=frozenset({Symbology.DATA_MATRIX}))) for page in rasterise(sheet.pdf, dpi=300)
        )

    assert bare() == 65
    assert prove(sheet.pdf, sheet.placed, dpi=300) == ()
    ours, theirs = best_of(lambda: prove(sheet.pdf, sheet.placed, dpi=300), bare)
    with capsys.disabled():
        print(
            f"\nproof of 65 labels at 300 dpi: {ours / theirs:.2f} times bare rasterise and read (Data Matrix, default "
            f"flags); {ours * 1000:.0f} against {theirs * 1000:.0f} ms"
        )
    assert ours / theirs <= 1.5


_MEMORY = """
import json, sys
import psutil
sys.path[:0] = [{folder!r}]
import test_labels_benchmark as run
from tracelabels.legibility.proof import prove
me = psutil.Process()
warm = run._set(130)
prove(warm.pdf, warm.placed, dpi=300)
del warm
before = me.memory_info().rss
done = run._set({count})
failures = prove(done.pdf, done.placed, dpi=300)
# Not ru_maxrss: a new process on Linux takes over what the one that started it had in memory.
peak = 1024 * next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(json.dumps([len(done.placed), len(failures), (peak - before) / 1e6, len(done.pdf) / 1e6]))
"""


def test_memory_of_a_hundred_thousand_labels_with_their_proof(capsys):
    """Resident memory grows by less than 300 MB at its peak, the document and its proof included."""
    import pathlib

    script = _MEMORY.format(folder=str(pathlib.Path(__file__).parent), count=100_000)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    placed, failures, grown, size = json.loads(done.stdout)
    with capsys.disabled():
        print(
            f"\n100,000 labels with proof: {grown:.0f} MB more than before, {grown / 300:.2f} of the limit; "
            f"the PDF has {size:.0f} MB"
        )
    assert (placed, failures) == (100_000, 0)
    assert grown < 300
