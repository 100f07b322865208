"""Functions with known sensitivity through `rank`, SALib and SciPy on the same points, Morris' twenty factors."""

import warnings

import numpy as np
import pytest
from SALib.analyze import sobol as salib_sobol
from scipy import stats
from study.known_models import (
    ISHIGAMI_INPUTS,
    SOBOL_G_INPUTS,
    ishigami,
    reference,
    replace_stage,
    sobol_g,
    study_of,
    total,
)

from explorer import rank, registry
from explorer.questions.rank.first_look import first_look
from explorer.questions.rank.shares import sampled
from explorer.space import Correlation
from explorer.study.problem import problem_of

CASES = reference("sensitivity")
OWN = reference("study_uq")
FUNCTIONS = {"ishigami": (ishigami, ISHIGAMI_INPUTS), "sobol_g": (sobol_g, SOBOL_G_INPUTS)}


def names(found) -> list[tuple[str, str]]:
    return [(address, "unknown") for address in found]


def check_indices(found, addresses, first, total_, *, within: float) -> None:
    """All of them at once inside intervals at 95 % together (Bonferroni), and close enough to mean something."""
    table = found.inputs.loc[names(addresses)]
    wide = stats.t.ppf(1.0 - 0.05 / (2 * 2 * len(addresses)), 7)
    for figure, exact in (("first", first), ("total", total_)):
        error = np.abs(table[figure] - np.array(exact))
        assert np.all(error <= wide * table[f"{figure}_standard_error"] + 1e-6), (figure, error)
        assert np.all(error < within), (figure, error)
        half = stats.t.ppf(0.975, 7) * table[f"{figure}_standard_error"]
        np.testing.assert_allclose(table[f"{figure}_high"] - table[figure], half, rtol=1e-9)
        np.testing.assert_allclose(table[figure] - table[f"{figure}_low"], half, rtol=1e-9)


@pytest.mark.parametrize("case", FUNCTIONS)
def test_indices_of_known_functions(case: str) -> None:
    model, inputs = FUNCTIONS[case]
    exact = CASES[case]
    found = rank(model, inputs, target="y", rng=1, base=8192, test_guesses=False)
    assert found.shares.how == "design"
    check_indices(found, inputs, exact["first"], exact["total"], within=0.01)
    u = found.standard_uncertainty
    assert float(u) == pytest.approx(np.sqrt(exact["variance"]), abs=5.0 * u.error)
    # Most important first, by total share.
    assert found.inputs["total"].is_monotonic_decreasing


def test_ishigami_leaves_what_its_first_order_indices_say() -> None:
    exact = CASES["ishigami"]
    found = rank(ishigami, ISHIGAMI_INPUTS, target="y", rng=1, base=8192, test_guesses=False)
    left = found.inputs.loc[names(ISHIGAMI_INPUTS), "left_if_known"]
    np.testing.assert_allclose(left, np.sqrt(exact["variance"] * (1.0 - np.array(exact["first"]))), rtol=0.01)
    # x1 and x3 interact: together with x2 nothing is left, so the best pair is x1 with x2 or x3.
    pair = found.learning.pair
    assert pair is not None
    assert {row.address for row in pair.rows} == {"x1", "x2"}
    both = exact["variance"] * (1.0 - exact["first"][0] - exact["first"][1])
    assert float(pair.left.value) == pytest.approx(np.sqrt(both), rel=0.015)


def test_product_of_independents_has_goodman_s_indices() -> None:
    case = CASES["product"]
    inputs = {
        name: f"{m} ± {s}"
        for name, m, s in zip("ab", case["means"], case["standard_deviations"], strict=True)
    }
    found = rank(lambda v: {"y": v["a"] * v["b"]}, inputs, target="y", rng=1, base=16_384, test_guesses=False)
    first = np.array(case["first"])
    check_indices(found, inputs, first, first + case["interaction"], within=0.003)


def test_known_function_through_the_text_of_a_study(monkeypatch) -> None:
    # Goodman's product again: two inputs of a study with their units, and the model itself as a third factor.
    volt, wall = "electrodes.main.source.voltage", "channel.wall_temperature"

    def gain(v):
        return (1.0 + 0.5 * (v[volt] - 150.0)) * (2.0 + 0.05 * (v[wall] - 800.0))

    replace_stage(monkeypatch, {"thrust_gain": gain})
    study = study_of({volt: "150 ± 1 V", wall: "800 ± 10 K"}, '[model_error]\nthrust_gain = "30 %"\n')
    found = rank(study, base=16_384, test_guesses=False)
    # Y = a·b·f: E[Y²] is a product, so that every share has a closed form.
    mean = {"a": 1.0, "b": 2.0, "f": np.sqrt(1.09)}
    square = {"a": 1.25, "b": 4.25, "f": 1.09**2}
    variance = np.prod(list(square.values())) - np.prod([m**2 for m in mean.values()])
    rows = {"a": (volt, "unknown"), "b": (wall, "unknown"), "f": ("thrust_gain", "model")}
    for name, row in rows.items():
        others = [other for other in mean if other != name]
        own = square[name] - mean[name] ** 2
        first = own * np.prod([mean[o] ** 2 for o in others]) / variance
        whole = own * np.prod([square[o] for o in others]) / variance
        assert found.inputs.loc[row, "first"] == pytest.approx(first, abs=0.005)
        assert found.inputs.loc[row, "total"] == pytest.approx(whole, abs=0.005)


CORRELATED = {"x1": "0 ± 1", "x2": "0 ± 1", "x3": "0 ± 2"}
TOGETHER = [Correlation(("x2", "x3"), 6.0 / np.pi * np.arcsin(0.25))]


def test_correlated_linear_inputs_have_given_data_shares_and_no_totals() -> None:
    found = rank(total, CORRELATED, target="y", rng=1, base=16_384, correlations=TOGETHER, test_guesses=False)
    assert found.shares.how == "correlated"
    assert found.shares.indices.total is None
    table = found.inputs.loc[names(CORRELATED)]
    np.testing.assert_allclose(table["first"], CASES["correlated_linear"]["first"], atol=0.003)
    assert table[["total", "total_low", "total_high"]].isna().all(axis=None)
    assert found.inputs.index[0] == ("x3", "unknown")


def test_learning_one_correlated_input_teaches_the_other() -> None:
    found = rank(total, CORRELATED, target="y", rng=1, base=8192, correlations=TOGETHER, test_guesses=False)
    left = found.inputs.loc[names(CORRELATED), "left_if_known"]
    np.testing.assert_allclose(left**2, OWN["correlated_linear"]["variance_left"], rtol=0.015)
    variance = found.shares.indices.variance
    assert float(variance) == pytest.approx(OWN["correlated_linear"]["variance"], abs=5.0 * variance.error)


@pytest.mark.parametrize("case", FUNCTIONS)
def test_salib_and_scipy_give_the_same_on_the_points_of_the_same_run(case: str) -> None:
    model, inputs = FUNCTIONS[case]
    found = rank(model, inputs, target="y", rng=5, base=2048, test_guesses=False)
    columns = [(i,) for i in range(len(inputs))]
    outputs = sampled(problem_of(model, inputs, ["y"]), 5, 2048, groups=columns, jobs=1).outputs
    problem = {"num_vars": len(inputs), "names": list(inputs), "bounds": [[0.0, 1.0]] * len(inputs)}
    first, whole = [], []
    for block in outputs:
        with warnings.catch_warnings():
            # SALib's resampling is not compared; its estimators are.
            warnings.simplefilter("ignore")
            other = salib_sobol.analyze(
                problem,
                np.column_stack([block[0], *block[2:], block[1]]).ravel(),
                calc_second_order=False,
                num_resamples=2,
                seed=1,
            )
        scipy = stats.sobol_indices(
            func={"f_A": block[:1], "f_B": block[1:2], "f_AB": block[2:, None]},
            n=block.shape[1],
            method="saltelli_2010",
        )
        np.testing.assert_allclose(scipy.total_order, other["ST"], rtol=1e-9)
        first.append(other["S1"])
        whole.append(other["ST"])
    table = found.inputs.loc[names(inputs)]
    np.testing.assert_allclose(table["first"], np.mean(first, axis=0), atol=1e-10)
    np.testing.assert_allclose(table["total"], np.mean(whole, axis=0), atol=1e-10)


def morris_1991(v):
    """Twenty factors: 1–10 matter, 8–10 linearly, 11–20 hardly; constants recalled from the paper."""
    x = np.stack([v[f"x{i}"] for i in range(1, 21)], axis=1)
    w = 2.0 * (x - 0.5)
    for i in (2, 4, 6):
        w[:, i] = 2.0 * (1.1 * x[:, i] / (x[:, i] + 0.1) - 0.5)
    # The paper draws the small coefficients from a standard normal; alternating signs are a usual stand-in.
    single = np.array([20.0] * 10 + [(-1.0) ** i for i in range(11, 21)])
    pairs = np.array([[(-1.0) ** (i + j) for j in range(1, 21)] for i in range(1, 21)])
    pairs[:6, :6] = -15.0
    y = w @ single + np.einsum("ri,rj,ij->r", w, w, np.triu(pairs, 1))
    for i in range(5):
        for j in range(i + 1, 5):
            for k in range(j + 1, 5):
                y -= 10.0 * w[:, i] * w[:, j] * w[:, k]
    return {"y": y + 5.0 * np.prod(w[:, :4], axis=1)}


MORRIS_INPUTS = {f"x{i}": "0 .. 1" for i in range(1, 21)}


#: Inputs of a study that stand for the twenty factors, each anywhere within one per cent of its value.
FACTORS = (
    *(
        f"gas.{key}"
        for key in ("mixture_ratio", "seed_fraction", "seed_water", "seed_vaporized", "chamber_pressure")
    ),
    *(f"gas.{key}" for key in ("combustion_efficiency", "conductivity_factor", "nozzle_lag")),
    *(f"nozzle.{key}" for key in ("throat_diameter", "discharge_coefficient")),
    *(f"channel.{key}" for key in ("gap_in", "gap_out", "wall_temperature", "friction_coefficient")),
    *("channel.heat_transfer_factor", "magnet.field"),
    *(
        f"electrodes.main.{key}"
        for key in ("voltage_drop", "drop_resistance", "arc_voltage", "leak_conductance")
    ),
)


def test_morris_factors_come_out_in_their_classes_by_elementary_effects(monkeypatch) -> None:
    central = study_of({}).central()

    def factors(v):
        shares = {f"x{i}": 0.5 + 50.0 * (v[a] / central[a] - 1.0) for i, a in enumerate(FACTORS, start=1)}
        return morris_1991(shares)["y"]

    replace_stage(monkeypatch, {"thrust_gain": factors})
    ranges = {}
    for address in FACTORS:
        unit = registry.quantity(address).unit
        ends = (f"{f * central[address]!r}" for f in (0.99, 1.01))
        ranges[address] = " .. ".join(ends) + ("" if unit == "1" else f" {unit}")
    found = first_look(study_of(ranges))
    sizes = {i: found.table.loc[(address, "unknown")] for i, address in enumerate(FACTORS, start=1)}
    matter, hardly = [sizes[i] for i in range(1, 11)], [sizes[i] for i in range(11, 21)]
    # Paper, figure 1: the first ten stand clear of the rest; 8–10 have a large mean and a small spread.
    assert min(row["mean_size"] for row in matter) > 2.0 * max(row["mean_size"] for row in hardly)
    linear, curved = [sizes[i] for i in (8, 9, 10)], [sizes[i] for i in range(1, 8)]
    assert max(row["spread"] for row in linear) < 0.5 * min(row["spread"] for row in curved)
    for row in linear:
        assert row["mean"] == pytest.approx(row["mean_size"], rel=1e-9)
    assert found.lost == 0


def test_morris_factors_come_out_in_their_classes_by_variance_too() -> None:
    found = rank(morris_1991, MORRIS_INPUTS, target="y", rng=1, base=1024, test_guesses=False)
    table = found.inputs
    assert set(table.index[:10]) == set(names(f"x{i}" for i in range(1, 11)))
    linear = table.loc[names(f"x{i}" for i in (8, 9, 10))]
    share = (linear["total"] - linear["first"]).abs()
    assert np.all(share < 0.03)
    opinion = found.learning.second_opinion
    assert opinion.leading.address in {f"x{i}" for i in range(1, 11)}
