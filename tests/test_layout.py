"""What holds for the whole project: layers, public names, examples in the documentation, what lies where."""

from __future__ import annotations

import ast
import contextlib
import doctest
import importlib
import io
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import pytest

import femdrum

ROOT = Path(__file__).parents[1]
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "femdrum", "studies", "meshes", "tests", "notebooks"}
MODULES = sorted(m.name for m in pkgutil.walk_packages(femdrum.__path__, "femdrum.") if not m.name.endswith("__main__"))
SOURCES = sorted(p.relative_to(ROOT).as_posix() for p in (ROOT / "femdrum").rglob("*.py"))
MOST_LINES = 450
# the command line, and the drawing process, which tells its parent why it failed
MAY_PRINT = ("femdrum/cli/", "femdrum/report/render.py")

# written so that this file does not match itself
NOT_OURS = {
    "a path of some machine": r"(?<![\w.])/(?:wor[k]|hom[e]|roo[t]|op[t]|Use[r]s|mn[t])/\w",
    "a package registry": r"\b(?:py[p]i\.org|pythonhoste[d]|npm[j]s\.|deb\.debia[n]|(?:security|archive)\.(?:debia[n]|ubunt[u]))",
}


def files() -> list[Path]:
    """Tracked files; outside a checkout all that is neither hidden nor made by a build."""
    git = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if git.returncode == 0 and git.stdout:
        return [ROOT / name for name in git.stdout.split("\0") if name and (ROOT / name).exists()]
    made = re.compile(r"(^|/)(\.[^/]+|__pycache__|build|dist|[^/]+\.egg-info|[^/]+\.results)(/|$)")
    return [p for p in ROOT.rglob("*") if p.is_file() and not made.search(p.relative_to(ROOT).as_posix())]


def test_imports_run_downward_only() -> None:
    """The contracts of .importlinter."""
    code = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(cache_dir=None))"
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    assert "3 kept, 0 broken" in run.stdout


def test_importing_is_light() -> None:
    code = "import sys, femdrum; print(sorted({'numpy', 'scipy', 'gmsh', 'skfem', 'matplotlib', 'pyvista'} & set(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_public_names() -> None:
    assert list(femdrum.__all__) == sorted(set(femdrum.__all__))
    for name in femdrum.__all__:
        thing = getattr(femdrum, name)
        assert name in dir(femdrum)
        assert thing.__doc__, f"{name} has no documentation"
    with pytest.raises(AttributeError, match="no_such_name"):
        femdrum.no_such_name  # noqa: B018


@pytest.mark.parametrize("name", MODULES)
def test_every_module_says_what_it_offers(name: str) -> None:
    module = importlib.import_module(name)
    assert module.__doc__, "a module begins by saying what it is for"
    offered = getattr(module, "__all__", None)
    if offered is None:
        assert hasattr(module, "__path__"), "only a bare package does without __all__"
        return
    assert len(offered) == len(set(offered))
    for item in offered:
        assert getattr(module, item, None) is not None, f"{item} is in __all__ and is not there"


@pytest.mark.parametrize("name", ["femdrum", *MODULES])
def test_examples_in_docstrings(name: str) -> None:
    tests = [t for t in doctest.DocTestFinder().find(importlib.import_module(name)) if t.examples]
    runner = doctest.DocTestRunner()
    said = io.StringIO()
    for test in tests:
        assert any(example.want for example in test.examples), f"{test.name} asserts nothing"
        runner.run(test, out=said.write)
    assert runner.summarize(verbose=False).failed == 0, said.getvalue()
    if name == "femdrum":
        assert tests, "the package begins with an example"


def test_readme_session_prints_what_it_says() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    code, printed = re.search(r"```python\n(.*?)```.*?```text\n(.*?)```", text, re.DOTALL).groups()
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        exec(compile(code, "README.md", "exec"), {"__name__": "readme"})
    assert said.getvalue() == printed
    assert len([line for line in code.splitlines() if line.strip()]) == 10


def test_readme_reading_example_is_the_session() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    value, band = re.search(r"^([\d.]+) ± ([\d.]+) MPa, settled$", text, re.MULTILINE).groups()
    low, high = re.search(
        rf"^`{re.escape(value)} ± {re.escape(band)} MPa, settled` says: .* from ([\d.]+) to ([\d.]+) MPa",
        text,
        re.MULTILINE,
    ).groups()
    assert float(low) == pytest.approx(float(value) - float(band), abs=1e-6)
    assert float(high) == pytest.approx(float(value) + float(band), abs=1e-6)


def test_links_in_the_documentation_lead_somewhere() -> None:
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        for link in re.findall(r"\]\((?!http)([^)#]+)\)", text):
            assert (ROOT / link).exists(), f"{name}: {link}"
        for path in re.findall(r"`((?:femdrum|tests|studies|meshes|notebooks|\.ci)/[\w./-]+\w)`", text):
            assert (ROOT / path).exists(), f"{name}: {path}"


def test_top_level() -> None:
    tops = {p.relative_to(ROOT).parts[0] for p in files()}
    assert {t for t in tops if not t.startswith(".")} == TOP


def test_nothing_names_a_machine_or_a_registry() -> None:
    found = []
    for path in files():
        try:
            text = path.read_text(encoding="utf-8")
        except (UnicodeDecodeError, OSError):
            continue  # pictures and binary meshes
        found += [
            f"{path.relative_to(ROOT)}: {what}: {hit.group()}"
            for what, pattern in NOT_OURS.items()
            for hit in re.finditer(pattern, text)
        ]
    assert not found


@pytest.mark.parametrize("path", SOURCES)
def test_modules_stay_readable(path: str) -> None:
    text = (ROOT / path).read_text(encoding="utf-8")
    assert text.count("\n") <= MOST_LINES, "near 400 is enough: divide it"
    if not path.startswith(MAY_PRINT):
        calls = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)]
        assert all(c.func.id != "print" for c in calls), "the library never prints"


def test_what_is_installed_is_complete() -> None:
    """Templates, tables and styles travel with the package."""
    home = Path(femdrum.__file__).parent
    ours = {p.relative_to(ROOT / "femdrum") for p in files() if p.is_relative_to(ROOT / "femdrum")}
    missing = [str(p) for p in ours if not (home / p).exists()]
    assert not missing
