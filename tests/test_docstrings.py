"""Docstrings of the layers that compute say what the signature says, and carry a unit wherever they name a number."""

import ast
import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import explorer

ROOT = Path(explorer.__file__).parent
LAYERS = ("physics", "stage", "analysis")
MODULES = [path for layer in LAYERS for path in sorted((ROOT / layer).rglob("*.py"))]
NUMBER = re.compile(
    r"\b(float|int|array_like|array|ndarray|NDArray|FloatArray|ArrayLike)\b(?! of bool|\[np\.bool_\])"
)
UNIT = re.compile(r"\[[^\]]+\]|As in `")
MODELLED = [path for path in MODULES if path.relative_to(ROOT).parts[0] in ("physics", "stage")]


def functions(tree: ast.AST) -> Iterator[ast.FunctionDef]:
    """Return the public functions of a module and the public methods of its classes."""
    for node in getattr(tree, "body", ()):
        if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
            yield from functions(node) if isinstance(node, ast.ClassDef) else [node]


def entries(docstring: str, section: str) -> Iterator[tuple[list[str], str, str]]:
    """Names, type and description of each entry in a section of a numpydoc docstring."""
    found = re.search(rf"^{section}\n-+\n(.*?)(?=^\w[^\n]*\n-+$|\Z)", docstring, re.MULTILINE | re.DOTALL)
    for head, text in re.findall(
        r"^(\S[^\n]*)\n((?:[ ]+[^\n]*\n?|\n)*)", found[1] if found else "", re.MULTILINE
    ):
        names, _, kind = head.partition(" : ")
        yield [name.strip("* ") for name in names.split(",")], kind or head, text


def faults_of_function(node: ast.FunctionDef) -> list[str]:
    """What a docstring says that the signature does not, and numbers that it names without a unit."""
    docstring = inspect.cleandoc(ast.get_docstring(node) or "")
    given = node.args
    arguments = {
        a.arg for a in (*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg) if a
    }
    faults = []
    for names, kind, text in entries(docstring, "Parameters"):
        faults += [f"{node.name}: no parameter {name}" for name in names if name not in arguments]
        if NUMBER.search(kind) and not UNIT.search(text):
            faults.append(f"{node.name}: no unit for {', '.join(names)}")
    returned = list(entries(docstring, "Returns"))
    faults += [
        f"{node.name}: no unit for what is returned"
        for _, kind, text in returned
        if NUMBER.search(kind) and not UNIT.search(text)
    ]
    number = node.returns is not None and ast.unparse(node.returns) in (
        "float",
        "FloatArray",
        "NDArray[np.float64]",
    )
    if number and not returned and not UNIT.search(docstring.partition("\n\n")[0]):
        faults.append(f"{node.name}: no unit for what is returned")
    return faults


def faults_of_fields(node: ast.ClassDef, lines: list[str]) -> list[str]:
    """Numbers among a class's fields that stand without a unit, on their line or in a comment above."""
    return [
        f"{node.name}.{ast.unparse(field.target)}: no unit"
        for field in node.body
        if isinstance(field, ast.AnnAssign)
        and re.search(r"[Ff]loat", ast.unparse(field.annotation))
        and not re.search(r"#: .*\[[^\]]+\]", "\n".join(lines[field.lineno - 2 : field.end_lineno]))
    ]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_docstrings_and_signatures_agree_and_numbers_have_units(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert [fault for node in functions(tree) for fault in faults_of_function(node)] == []


@pytest.mark.parametrize("path", MODELLED, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_fields_that_hold_numbers_carry_their_unit(path):
    source = path.read_text(encoding="utf-8")
    classes = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ClassDef)]
    assert [fault for node in classes for fault in faults_of_fields(node, source.splitlines())] == []


FAULTY = '''
def force(current: float, field: float) -> float:
    """Lorentz force on a current.

    Parameters
    ----------
    current : float
        Through the gas.
    gap : float
        [m]
    """


class Wall:
    shear: float  #: at the wall
    heat: float  #: [W/m²]
'''


def test_a_unit_left_out_and_a_name_that_is_no_parameter_are_found():
    """Must fail: what the tests above look for is there to be found."""
    function, wall = ast.parse(FAULTY).body
    assert faults_of_function(function) == [
        "force: no unit for current",
        "force: no parameter gap",
        "force: no unit for what is returned",
    ]
    assert faults_of_fields(wall, FAULTY.splitlines()) == ["Wall.shear: no unit"]


def test_the_sections_of_the_model_that_the_code_cites_exist():
    """ "MODEL.md, section 3" is a heading there; a section that isn't there would be found."""
    headings = set(
        re.findall(r"^## (\d+)\.", (ROOT / "stage/MODEL.md").read_text(encoding="utf-8"), re.MULTILINE)
    )
    cited = {
        number
        for path in (*ROOT.rglob("*.py"), *Path(__file__).parent.rglob("*.py"))
        for found in re.findall(
            r"MODEL\.md, sections? (\d+(?:(?:, | and )\d+)*)", path.read_text(encoding="utf-8")
        )
        for number in re.findall(r"\d+", found)
    }
    assert cited - headings == set()
    assert {"1", "3", "4", "7", "8"} <= cited
