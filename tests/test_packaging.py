"""How the code hangs together: imports point one way, no unsafe calls, every command has help and a place."""

import ast
import io
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tokenize
import venv
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from tests.conftest import HANGING

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = {"model": set(), "calibration": {"model"}, "dashboard": {"calibration", "model"}}
SCREEN_LIBRARIES = {"streamlit", "plotly", "matplotlib", "rich", "typer", "typst"}
FILE_LIBRARIES = {"tomllib", "csv", "openpyxl", "pydantic", "pvlib", "pandas"}
UNSAFE = {"pickle", "shelve", "marshal", "subprocess"}
SOURCES = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))
EQUATIONS = sorted(
    path
    for folder in ("properties", "components")
    for path in (ROOT / "model" / folder).rglob("*.py")
    if path.stem != "property_cache"
)
"""Modules whose functions are equations; the cache of tables handles files."""
TESTED_BY_OTHERS = {
    "model/arrays.py",
    "calibration/files/log_layout.py",
    "calibration/files/spreadsheet_text.py",
    "calibration/fleet/journal.py",
    "calibration/fleet/simple_plans.py",
    "calibration/track/system.py",
}
"""Modules without a test file of their own: the tests of what uses them cover them."""
LOOKED_AT = (ast.Import, ast.ImportFrom, ast.Call, ast.Expr, ast.FunctionDef)
MOST_MODULES, MOST_LINES_OF_MODULE, MOST_LINES_OF_FUNCTION, MOST_ARGUMENTS = 20, 350, 40, 5
"""House rules of DEVELOPERS.md."""


@cache
def tree_of(path: Path) -> ast.Module:
    """A module as it is parsed, once for all tests."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """Everything in a module that one of the tests looks at, of one walk through its tree."""
    return tuple(node for node in ast.walk(tree_of(path)) if isinstance(node, LOOKED_AT))


@cache
def imported(path: Path) -> set[str]:
    """Top-level names that a module imports anywhere in its text."""
    names = set()
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add((node.module or "").split(".")[0])
    return names


def package_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_point_one_way(path):
    package = package_of(path)
    names = imported(path)
    foreign = (names & set(PACKAGES)) - PACKAGES[package] - {package}
    assert not foreign, f"{package} must not import {foreign}"
    if package != "dashboard":
        assert not names & SCREEN_LIBRARIES
    if package == "model":
        assert not names & FILE_LIBRARIES
    assert "tests" not in names


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_unpickles_evaluates_or_starts_a_shell(path):
    assert not imported(path) & UNSAFE
    calls = {
        node.func.id
        for node in nodes_of(path)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not calls & {"eval", "exec", "compile"}


def lines_of_code(path: Path) -> set[int]:
    """Numbers of the lines of a module that are neither blank nor comment nor docstring."""
    text = path.read_text(encoding="utf-8")
    words = {
        line
        for node in nodes_of(path)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        for line in range(node.lineno, node.end_lineno + 1)
    }
    blank = {tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT}
    tokens = tokenize.generate_tokens(io.StringIO(text).readline)
    code = {
        line
        for token in tokens
        if token.type not in blank | {tokenize.ENDMARKER}
        for line in range(token.start[0], token.end[0] + 1)
    }
    return code - words


def functions(path: Path, *, public: bool = False) -> list[ast.FunctionDef]:
    """Functions and methods of a module, with their own functions unless only public ones are asked for."""
    tree = tree_of(path)
    if not public:
        return [node for node in nodes_of(path) if isinstance(node, ast.FunctionDef)]
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and node.name[0] != "_"]
    bodies = [tree.body, *(node.body for node in classes)]
    return [
        node
        for body in bodies
        for node in body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]


def required(function: ast.FunctionDef) -> int:
    """How many arguments a caller has to give."""
    place = [*function.args.posonlyargs, *function.args.args]
    given = len(place) - len(function.args.defaults) - bool(place and place[0].arg in {"self", "cls"})
    return given + sum(default is None for default in function.args.kw_defaults)


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_modules_and_functions_stay_short(path):
    code = lines_of_code(path)
    assert len(code) <= MOST_LINES_OF_MODULE
    for function in functions(path):
        inside = code & set(range(function.body[0].lineno, function.end_lineno + 1))
        assert len(inside) <= MOST_LINES_OF_FUNCTION, function.name
    for function in functions(path, public=True):
        assert required(function) <= MOST_ARGUMENTS, function.name


def test_folders_stay_small():
    folders = Counter(path.parent for path in SOURCES if path.stem != "__init__")
    assert {str(folder): count for folder, count in folders.items() if count > MOST_MODULES} == {}


def test_no_class_has_the_name_of_another():
    homes: dict[str, list[Path]] = {}
    for path in SOURCES:
        for node in tree_of(path).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(path)
    # A crew's visit to a site is another thing than a technician's to a unit, and both trades say visit.
    assert {name: paths for name, paths in homes.items() if len(paths) > 1 and name != "Visit"} == {}


@pytest.mark.parametrize("path", EQUATIONS, ids=lambda path: path.stem)
def test_every_equation_names_its_source(path):
    found = functions(path, public=True)
    silent = [
        function.name
        for function in found
        if not re.search(r"References\n\s*-----|Source: ", ast.get_docstring(function) or "")
    ]
    assert not silent
    assert found or path.stem in {"__init__", "unit"}


@pytest.mark.parametrize(
    "path",
    [path for path in SOURCES if package_of(path) != "dashboard" and path.stem != "__init__"],
    ids=lambda path: str(path.relative_to(ROOT)),
)
def test_every_module_has_its_test_file(path):
    # A page or a command is tested by all pages and commands together, so this holds below them.
    mirror = ROOT / "tests" / path.relative_to(ROOT).with_name(f"test_{path.name}")
    assert mirror.is_file() or str(path.relative_to(ROOT)) in TESTED_BY_OTHERS


def test_no_module_hides_a_standard_one():
    # Streamlit puts the folder of its script first on the path.
    hidden = {path.stem for path in (ROOT / "dashboard" / "web").glob("*.py")} & (
        set(sys.stdlib_module_names) | set(PACKAGES)
    )
    assert not hidden


def test_every_package_is_marked_as_typed():
    for package in PACKAGES:
        assert (ROOT / package / "py.typed").is_file()


def test_every_file_that_the_contributors_are_sent_to_is_there():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:model|calibration|dashboard|tests|cases)/[\w./-]+)`", text)
    assert len(named) > 40
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_constraints_pin_versions_and_name_no_host():
    lines = [
        line
        for line in (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8").splitlines()
        if line and not line.startswith("#")
    ]
    assert lines
    for line in lines:
        assert re.fullmatch(r"[A-Za-z0-9_.-]+==[A-Za-z0-9_.+!-]+", line), line


def test_help_needs_none_of_the_heavy_libraries():
    heavy = {"numpy", "scipy", "pandas", "CoolProp", "streamlit", "plotly", "matplotlib", "rich", "pydantic"}
    program = (
        "import sys; from dashboard.cli import run; status = run(['--help']); "
        f"print(sorted({heavy!r} & set(sys.modules)), file=sys.stderr); sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=HANGING,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr.strip() == "[]"


@pytest.fixture(scope="module")
def installed(tmp_path_factory) -> Path:
    """Folder of a fresh environment that holds the built wheel; its dependencies are those of this one."""
    place = tmp_path_factory.mktemp("wheel")
    source = place / "source"
    source.mkdir()
    for name in (*PACKAGES, "cases", "pyproject.toml", "README.md", "LICENSE"):
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, source / name)
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    build = [*pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(place), str(source)]
    subprocess.run(build, check=True, timeout=HANGING)
    (wheel,) = place.glob("coiltoll-*.whl")
    shutil.rmtree(source)
    venv.create(place / "fresh", symlinks=sys.platform != "win32")
    scripts = place / "fresh" / ("Scripts" if sys.platform == "win32" else "bin")
    install = [*pip, "--python", str(scripts / "python"), "install", "--no-compile", "--no-deps"]
    install += ["--no-index", str(wheel)]
    subprocess.run(install, check=True, timeout=HANGING)
    # Dependencies come after the environment's own packages; what an editable install points to does not.
    (site,) = (place / "fresh").rglob("site-packages")
    (site / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return scripts


def bare_environment() -> dict[str, str]:
    """Variables under which nothing but the fresh environment's own packages and dependencies is found."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return kept | {"PYTHONSAFEPATH": "1"}


def test_the_wheel_runs_from_another_folder_in_a_fresh_environment(installed, tmp_path):
    environment = bare_environment()
    told = subprocess.run(
        [str(installed / "python"), "-c", "import dashboard; print(dashboard.__file__)"],
        cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=HANGING, check=True,
    ).stdout  # fmt: skip
    assert str(installed.parent) in told
    for words in (["--help"], ["--version"]):
        done = subprocess.run(
            [str(installed / "coiltoll"), *words],
            cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=HANGING, check=False,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, "")
        assert "coiltoll" in done.stdout.lower()


def test_the_wheel_carries_marks_templates_and_cases(installed, tmp_path):
    (site,) = (installed.parent).rglob("site-packages")
    for package in PACKAGES:
        assert (site / package / "py.typed").is_file()
    for folder, endings in (("dashboard", {".typ", ".css", ".svg"}), ("cases", {".toml", ".csv"})):
        for path in (ROOT / folder).rglob("*"):
            if path.suffix in endings:
                assert (site / path.relative_to(ROOT)).is_file(), path
    environment = bare_environment()
    done = subprocess.run(
        [str(installed / "coiltoll"), "measure", str(site / "cases" / "demo.toml")],
        cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=HANGING, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert "Superheat" in done.stdout
