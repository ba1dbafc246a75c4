"""A part that is missing leaves a test out on a workbench, and fails it in continuous integration."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).parents[1] / "conftest.py"
TESTS = """
import pytest

@pytest.fixture(scope="session")
def service():
    pytest.skip("no service")

def test_without_a_library():
    pytest.importorskip("no_such_library")

def test_without_a_service(service): ...

@pytest.mark.skipif(True, reason="another platform")
def test_for_another_platform(): ...

@pytest.mark.skipif(False, reason="another platform")
def test_for_this_platform_without_a_service(service): ...

def test_that_passes(): ...
"""


@pytest.mark.parametrize(
    ("ci", "code", "outcomes"),
    [("", 0, "1 passed, 5 skipped"), ("true", 1, "1 failed, 1 passed, 1 skipped, 3 errors")],
    ids=["workbench", "continuous integration"],
)
def test_a_missing_part_fails_only_where_everything_must_be_checked(tmp_path, ci, code, outcomes):
    shutil.copy(CONFTEST, tmp_path)
    (tmp_path / "test_parts.py").write_text(TESTS)
    (tmp_path / "test_whole.py").write_text('import pytest\npytest.importorskip("no_such_library")\n')
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:xdist",
            "--continue-on-collection-errors",
            str(tmp_path),
        ],
        env=os.environ | {"CI": ci},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, outcomes in done.stdout) == (code, True), done.stdout
    assert ("with CI=true a missing part fails" in done.stdout) == (ci == "true")
