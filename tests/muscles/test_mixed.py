"""Expected values: lme4 1.1-31 (sleepstudy, Dyestuff), or lme4 as quoted in statsmodels' own tests."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels
import statsmodels.formula.api as smf

from analytics.muscles.mixed import Blocks, MixedFit, fit_mixed

HERE = Path(__file__).parent / "reference"
STATSMODELS = Path(statsmodels.__file__).parent / "regression" / "tests" / "results"

# Davies and Goldsmith 1972, yields of dyestuff from six batches (lme4's Dyestuff).
DYESTUFF = {
    "A": [1545, 1440, 1440, 1520, 1580],
    "B": [1540, 1555, 1490, 1560, 1495],
    "C": [1595, 1550, 1605, 1510, 1560],
    "D": [1445, 1440, 1595, 1465, 1545],
    "E": [1595, 1630, 1515, 1635, 1625],
    "F": [1520, 1455, 1450, 1480, 1445],
}


def blocks(frame: pd.DataFrame, y: str, fixed: list[str], block: str, terms: list[tuple]) -> Blocks:
    """One block per value of `block`; `terms` are (columns, grouping column inside the block or None)."""
    parts = [part for _, part in frame.groupby(block, sort=False)]
    rows = max(map(len, parts))
    out_y, used = np.zeros((len(parts), rows)), np.zeros((len(parts), rows), dtype=bool)
    out_x = np.zeros((len(parts), rows, len(fixed)))
    designs = []
    for columns, inner in terms:
        groups = 1 if inner is None else max(part[inner].nunique() for part in parts)
        designs.append(np.zeros((len(parts), rows, len(columns), groups)))
    for at, part in enumerate(parts):
        here = np.arange(len(part))
        used[at, here], out_y[at, here], out_x[at, here] = True, part[y], part[fixed]
        for design, (columns, inner) in zip(designs, terms, strict=True):
            group = np.zeros(len(part), int) if inner is None else pd.factorize(part[inner])[0]
            for effect, column in enumerate(columns):
                design[at, here, effect, group] = part[column]
    return Blocks(y=out_y, x=out_x, terms=tuple(designs), known=np.zeros_like(out_y), used=used)


@pytest.fixture(scope="module")
def sleepstudy() -> pd.DataFrame:
    # Belenky et al. 2003, as in lme4: 18 subjects, 10 days.
    return pd.read_csv(HERE / "sleepstudy.csv").assign(one=1.0)


@pytest.fixture(scope="module")
def dietox() -> pd.DataFrame:
    return pd.read_csv(STATSMODELS / "dietox.csv").assign(one=1.0)


@pytest.fixture(scope="module")
def slopes(sleepstudy: pd.DataFrame) -> MixedFit:
    return fit_mixed(blocks(sleepstudy, "Reaction", ["one", "Days"], "Subject", [(["one", "Days"], None)]))


def test_sleepstudy(slopes):
    assert slopes.beta == pytest.approx([251.405105, 10.467286], rel=1e-5)
    assert np.sqrt(np.diag(slopes.beta_cov)) == pytest.approx([6.824597, 1.545790], rel=1e-4)
    assert slopes.covariances[0][[0, 1], [0, 1]] == pytest.approx([612.1002, 35.07171], rel=1e-3)
    assert slopes.covariances[0][0, 1] == pytest.approx(9.604409, rel=1e-2)
    assert slopes.residual == pytest.approx(654.9400, rel=1e-3)
    assert slopes.criterion == pytest.approx(1743.6283, abs=1e-3)


@pytest.mark.parametrize(
    "subject, expected", [(0, [2.25855, 9.19898]), (1, [-40.3987, -8.6197]), (3, [23.6906, -4.8144])]
)
def test_sleepstudy_predictions(slopes, subject, expected):
    # Subjects 308, 309, 330.
    assert slopes.predictions[0][subject, 0] == pytest.approx(expected, abs=1e-2)


def test_sleepstudy_without_restriction(sleepstudy):
    data = blocks(sleepstudy, "Reaction", ["one", "Days"], "Subject", [(["one", "Days"], None)])
    fit = fit_mixed(data, restricted=False)
    assert fit.covariances[0].ravel() == pytest.approx([565.477, 11.0551, 11.0551, 32.6818], rel=1e-2)
    assert fit.residual == pytest.approx(654.946, rel=1e-3)
    assert -fit.criterion / 2 == pytest.approx(-875.9697, abs=1e-3)
    assert fit.criterion + 2 * 6 == pytest.approx(1763.9393, abs=1e-3)  # AIC, six parameters


def test_sleepstudy_intercepts_only(sleepstudy):
    fit = fit_mixed(blocks(sleepstudy, "Reaction", ["one", "Days"], "Subject", [(["one"], None)]))
    assert fit.covariances[0][0, 0] == pytest.approx(1378.1785, rel=1e-3)
    assert fit.residual == pytest.approx(960.4566, rel=1e-3)
    assert fit.criterion == pytest.approx(1786.4651, abs=1e-3)
    assert np.sqrt(np.diag(fit.beta_cov)) == pytest.approx([9.746716, 0.804221], rel=1e-4)


def test_sleepstudy_agrees_with_statsmodels(sleepstudy, slopes):
    reference = smf.mixedlm("Reaction ~ Days", sleepstudy, groups="Subject", re_formula="~Days").fit(
        reml=True
    )
    assert slopes.criterion == pytest.approx(-2 * reference.llf, abs=1e-4)
    assert slopes.covariances[0] == pytest.approx(reference.cov_re.to_numpy(), rel=1e-3)
    assert slopes.beta == pytest.approx(reference.fe_params.to_numpy(), rel=1e-6)
    expected = np.array([effects.to_numpy() for effects in reference.random_effects.values()])
    assert slopes.predictions[0][:, 0] == pytest.approx(expected, abs=1e-2)


@pytest.mark.parametrize(
    "restricted, beta, se, residual, variance, log_likelihood",
    [
        (True, [15.723523, 6.942505], [0.78805374, 0.03338727], 11.36692, 40.39395, -2404.775),
        (False, [15.723517, 6.942506], [0.7829397, 0.0333661], 11.35251, 39.82097, -2402.932),
    ],
)
def test_dietox_intercepts(dietox, restricted, beta, se, residual, variance, log_likelihood):
    fit = fit_mixed(
        blocks(dietox, "Weight", ["one", "Time"], "Pig", [(["one"], None)]), restricted=restricted
    )
    assert fit.beta == pytest.approx(beta, rel=1e-5)
    assert np.sqrt(np.diag(fit.beta_cov)) == pytest.approx(se, rel=1e-4)
    assert fit.residual == pytest.approx(residual, rel=1e-5)
    assert fit.covariances[0][0, 0] == pytest.approx(variance, rel=1e-5)
    assert -fit.criterion / 2 == pytest.approx(log_likelihood, abs=1e-3)


def test_dietox_slopes(dietox):
    fit = fit_mixed(blocks(dietox, "Weight", ["one", "Time"], "Pig", [(["one", "Time"], None)]))
    assert fit.beta == pytest.approx([15.738650, 6.939014], rel=1e-5)
    assert np.sqrt(np.diag(fit.beta_cov)) == pytest.approx([0.5501253, 0.0798254], rel=1e-3)
    assert fit.residual == pytest.approx(6.03745, rel=1e-4)
    assert fit.covariances[0].ravel() == pytest.approx(
        [19.4934552, 0.2938323, 0.2938323, 0.4160620], rel=1e-2
    )
    assert -fit.criterion / 2 == pytest.approx(-2217.047, abs=1e-3)


def test_pastes_nested():
    frame = pd.read_csv(STATSMODELS / "pastes.csv").assign(one=1.0)
    fit = fit_mixed(blocks(frame, "strength", ["one"], "batch", [(["one"], None), (["one"], "cask")]))
    assert fit.beta == pytest.approx([60.0533], abs=1e-3)
    assert np.sqrt(fit.beta_cov[0, 0]) == pytest.approx(0.6769, abs=1e-3)
    assert fit.covariances[0][0, 0] == pytest.approx(1.657, abs=2e-3)
    assert fit.residual == pytest.approx(0.678, abs=1e-3)
    assert -fit.criterion / 2 == pytest.approx(-123.49, abs=1e-2)


def test_dyestuff():
    frame = pd.DataFrame(
        [(batch, float(y), 1.0) for batch, yields in DYESTUFF.items() for y in yields],
        columns=["batch", "yield", "one"],
    )
    fit = fit_mixed(blocks(frame, "yield", ["one"], "batch", [(["one"], None)]))
    assert fit.beta == pytest.approx([1527.5], rel=1e-6)
    assert np.sqrt(fit.beta_cov[0, 0]) == pytest.approx(19.38341, rel=1e-4)
    assert fit.covariances[0][0, 0] == pytest.approx(1764.050, rel=1e-4)
    assert fit.residual == pytest.approx(2451.250, rel=1e-4)
    assert fit.criterion == pytest.approx(319.6543, abs=1e-3)


def test_known_variances_add_to_the_residual(sleepstudy):
    # Law: a residual variance known beforehand and one estimated as zero beside it are the same model.
    data = blocks(sleepstudy, "Reaction", ["one", "Days"], "Subject", [(["one"], None)])
    free = fit_mixed(data)
    half = Blocks(
        y=data.y, x=data.x, terms=data.terms, known=np.full_like(data.y, free.residual / 2), used=data.used
    )
    fit = fit_mixed(half)
    assert fit.residual == pytest.approx(free.residual / 2, rel=1e-3)
    assert fit.criterion == pytest.approx(free.criterion, abs=1e-6)
