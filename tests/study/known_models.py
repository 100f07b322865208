"""Callables with known answers, and a study whose stage is replaced by known functions of its inputs."""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from study.texts import PLAIN

from explorer import parse_study, run
from explorer.studyfile import Study

Floats = NDArray[np.float64]
Values = Mapping[str, Floats]

REFERENCE = Path(__file__).parents[1] / "reference"
STUDIES = Path(__file__).parents[1] / "studies"

#: So small that it counts nowhere: a study has a model error for every output.
NO_MODEL_ERROR = """
[model_error]
thrust_gain = "1e-9 %"
current = "1e-9 %"
threshold_voltage = "1e-9 %"
characteristic_velocity = "1e-9 %"
exit_pressure_change = "1e-9 %"
thrust = "1e-9 %"
"""


def reference(file: str) -> dict[str, Any]:
    return tomllib.loads((REFERENCE / f"{file}.toml").read_text(encoding="utf-8"))


def bench_text() -> str:
    return (STUDIES / "bench.toml").read_text(encoding="utf-8")


def shuffled(text: str) -> str:
    """The same study with its tables, and the keys of [gas] and [channel], in another order, and comments gone."""
    text, firing, steps = text.partition("\n[[firing]]")  # whose steps belong to the table before them
    head, *tables = text.split("\n[")
    tables = ["[" + table for table in tables]
    plain = [t for t in tables if not t.startswith("[[")]
    lists = [t for t in tables if t.startswith("[[")]
    for i, table in enumerate(plain):
        if table.startswith(("[gas]", "[channel]")):
            title, *lines = [line for line in table.splitlines() if line and not line.startswith("#")]
            plain[i] = "\n".join([title, *reversed(lines)])
    return "\n\n".join([head, *reversed(plain), *reversed(lists), f"{firing}{steps}"])


def ishigami(v: Values) -> dict[str, Floats]:
    """Ishigami's function of x1, x2, x3, each between −π and π."""
    return {"y": np.sin(v["x1"]) + 7.0 * np.sin(v["x2"]) ** 2 + 0.1 * v["x3"] ** 4 * np.sin(v["x1"])}


ISHIGAMI_INPUTS = dict.fromkeys(("x1", "x2", "x3"), "-3.141592653589793 .. 3.141592653589793")


def sobol_g(v: Values) -> dict[str, Floats]:
    """Sobol's G function of x1 … x8, each between 0 and 1."""
    a = reference("sensitivity")["sobol_g"]["a"]
    terms = [(np.abs(4.0 * v[f"x{i + 1}"] - 2.0) + a_i) / (1.0 + a_i) for i, a_i in enumerate(a)]
    return {"y": np.prod(terms, axis=0)}


SOBOL_G_INPUTS = {f"x{i}": "0 .. 1" for i in range(1, 9)}


def total(v: Values) -> dict[str, Floats]:
    """The sum of all inputs."""
    return {"y": np.sum(list(v.values()), axis=0)}


def study_of(inputs: Mapping[str, object], extra: str = NO_MODEL_ERROR, text: str = PLAIN) -> Study:
    """A plain study with some inputs made uncertain and tables added at the end."""
    return parse_study(text + extra, replacements=inputs)


def replace_stage(
    monkeypatch: pytest.MonkeyPatch,
    functions: Mapping[str, Callable[[Values], Floats]],
    outcomes: Callable[[Values], NDArray[np.int8]] | None = None,
) -> None:
    """Let studies be computed by known functions of their inputs [SI], outcomes too (all ok if left out).

    Everything else stays the study's own: text, value grammar, settings, model error, instruments, measurements.
    """

    class Known:
        def __init__(self, study: Study, quantities: tuple[str, ...], **_: object) -> None:
            self.study, self.quantities = study, tuple(quantities)

        def chunk(self, samples: Values) -> run.Evaluated:
            size = max(np.size(values) for values in samples.values())
            values = {
                address: np.broadcast_to(value, size)
                for address, value in {**self.study.central(), **samples}.items()
            }
            status = np.zeros(size, np.int8) if outcomes is None else outcomes(values)
            found = {q: np.where(status <= 1, functions[q](values), np.nan) for q in self.quantities}
            return run.Evaluated(found, status, np.zeros(size, np.uint32))

        points = chunk

    monkeypatch.setattr("explorer.study.engine.Stage", Known)
