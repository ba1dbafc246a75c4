"""How long --help takes, against bare Python."""

import subprocess
import sys


def test_help_against_bare_python(best_of, capsys):
    """Within 0.2 s of ``python -c pass``, the limit of a command that feels immediate."""

    def run(*arguments: str) -> None:
        subprocess.run([sys.executable, *arguments], check=True, capture_output=True)

    run("-m", "tracelabels", "--help")
    shown, bare = best_of(lambda: run("-m", "tracelabels", "--help"), lambda: run("-c", "pass"), rounds=7)
    with capsys.disabled():
        print(f"\n--help: {(shown - bare) / 0.2:.2f} of the 0.2 s allowed beyond bare Python ({shown * 1000:.0f} ms)")
    assert (shown - bare) / 0.2 <= 1


def test_help_loads_nothing_heavy():
    script = (
        "import sys\nfrom tracelabels.cli.root import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'PIL', 'cv2', 'reportlab', 'pypdfium2', 'zxingcpp', 'sqlalchemy', 'rich', 'msgspec'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
