"""The house as DEVELOPERS.md describes it: sizes, the tree of errors, the map, no strangers."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

from tracelabels import errors

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "tracelabels"
MODULES = sorted(PACKAGE.rglob("*.py"))


def _functions(tree: ast.AST):
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def test_modules_and_functions_keep_to_the_house_sizes():
    long_modules = {str(p.relative_to(ROOT)): n for p in MODULES if (n := len(p.read_text().splitlines())) > 400}
    long_functions = {
        f"{p.relative_to(ROOT)}:{f.name}": f.end_lineno - f.lineno + 1
        for p in MODULES
        for f in _functions(ast.parse(p.read_text()))
        if f.end_lineno - f.lineno + 1 > 40
    }
    assert (long_modules, long_functions) == ({}, {})


def test_half_of_all_functions_are_shorter_than_ten_lines():
    lengths = sorted(
        f.end_lineno - f.lineno + 1 for p in MODULES for f in _functions(ast.parse(p.read_text())) if f.end_lineno
    )
    assert lengths[len(lengths) // 2] < 10


def test_nothing_is_left_unfinished():
    marks = re.compile(r"\b(TODO|FIXME|XXX|HACK|NotImplementedError)\b")
    found = [f"{p.relative_to(ROOT)}: {m.group()}" for p in MODULES for m in marks.finditer(p.read_text())]
    assert found == []


def test_the_tree_of_errors_in_the_docstring_is_the_real_one():
    drawn = re.findall(r"([│ ]*)(?:├──|└──) (\w+)", errors.TracelabelsError.__doc__)
    parents = {}
    stack = [(-1, "TracelabelsError")]
    for indent, name in drawn:
        depth = len(indent)
        while stack[-1][0] >= depth:
            stack.pop()
        parents[name] = stack[-1][1]
        stack.append((depth, name))
    real = {
        name: thing.__base__.__name__
        for name, thing in vars(errors).items()
        if isinstance(thing, type) and issubclass(thing, errors.TracelabelsError) and name != "TracelabelsError"
    }
    assert parents == real


def _tracked() -> list[Path]:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout
    if not listed:
        pytest.fail("the files of the project are listed by git; run the tests in a checkout")
    return [ROOT / line for line in listed.splitlines() if (ROOT / line).is_file()]


def test_the_top_of_the_project_holds_what_is_agreed_and_nothing_else():
    agreed = {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "requirements.lock", "CHANGELOG.md",
        "templates", "fonts", "tracelabels", "tests",
    }  # fmt: skip
    top = {path.relative_to(ROOT).parts[0] for path in _tracked()}
    assert {name for name in top if not name.startswith(".")} - agreed == set()


def test_no_path_of_a_machine_and_no_registry_is_named():
    # The needles are put together here so that this file does not hold them.
    needles = ["/wo" + "rk/", "/ho" + "me/", "/ro" + "ot/", "pypi" + ".org", "pythonhosted" + ".org", "npmjs" + ".org"]
    found = [
        f"{path.relative_to(ROOT)}: {needle}"
        for path in _tracked()
        if path.suffix in {".py", ".md", ".toml", ".txt", ".lock", ".tsv", ".csv", ""} and "OFL" not in path.name
        for needle in needles
        if needle in path.read_text(encoding="utf-8", errors="replace")
    ]
    assert found == []


def test_the_map_in_developers_names_every_room_and_every_module():
    text = (ROOT / "DEVELOPERS.md").read_text()
    rooms = sorted({p.parent.name for p in MODULES if p.parent.parent == PACKAGE})
    assert [room for room in rooms if f"`{room}/`" not in text] == []
    for room in rooms:
        words = (PACKAGE / room / "__init__.py").read_text().split('"""')[1]
        modules = [p.stem for p in (PACKAGE / room).glob("*.py") if p.stem != "__init__"]
        assert [f"{room}.{name}" for name in modules if not re.search(rf"\b{name}\b", words)] == []
