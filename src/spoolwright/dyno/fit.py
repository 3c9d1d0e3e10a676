"""Fitting a few named physical factors to several pulls at once.

Least squares (scipy.optimize.least_squares) of measured less predicted, each over its standard deviation, with a normal
prior on every factor and bounds. What moves all points of a rig alike (its inertia, its flow meter) is a parameter
of its own with the rig's stated uncertainty, so that it is not taken for the engine. The covariance is that of the
linear model at the solution (Jacobian of data and priors; any text on nonlinear regression); where the misfit is
larger than the noise, it is widened by chi square over freedom. A factor about which the data say little is held at
its prior and the rest is fitted again; the rest's uncertainty still counts with the held one's.

The model is any function; ``dyno.fit_engine`` gives the engine's.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from spoolwright.errors import BadInput

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEARNED: Final = 0.3  # a factor whose spread shrinks by less than this share of its prior's is not told by the data
TIED: Final = 0.95  # correlation from which two factors are called told only together
COVERAGE: Final = 0.95  # all fitted factors lie within their bands together


@dataclass(frozen=True, slots=True)
class Factor:
    """A multiplier on the model: prior 1 with standard deviation ``spread``, and bounds."""

    name: str
    meaning: str
    spread: float
    low: float
    high: float
    prior: float = 1.0


FACTORS: Final[tuple[Factor, ...]] = (
    # Priors are judgement, no source: how far bench figures, correlations and usual constants miss a given engine.
    Factor("flow", "valve flow areas", 0.06, 0.7, 1.3),
    Factor("burn", "rate of burning", 0.15, 0.5, 1.8),
    Factor("friction", "rubbing friction", 0.20, 0.4, 2.2),
    Factor("wall_heat", "heat to the walls", 0.20, 0.4, 2.2),
)


@dataclass(frozen=True, slots=True)
class Observation:
    """What was measured in one pull: columns (engine result names) at ``speeds_rpm``, with standard deviations.

    ``scale``: standard uncertainty, as a fraction, that moves a column of all pulls of one rig alike. Missing values
    are nan and count for nothing. ``conditions`` is whatever the model needs to know of the pull.
    """

    pull: str
    speeds_rpm: NDArray[np.float64]
    values: Mapping[str, NDArray[np.float64]]
    spread: Mapping[str, NDArray[np.float64]]
    scale: Mapping[str, float]
    sha256: str = ""
    conditions: object = None


Predict = Callable[[Mapping[str, float], Observation], Mapping[str, "NDArray[np.float64]"]]


@dataclass(frozen=True, slots=True)
class Fitted:
    """One factor. ``band``: half width in which all fitted factors lie together with 95 %. ``held``: kept at its prior.

    ``learned``: by which share its spread shrank against the prior's.
    """

    name: str
    meaning: str
    value: float
    spread: float
    band: float
    prior: float
    prior_spread: float
    learned: float
    held: bool
    at_bound: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Laid:
    """Measured beside predicted for one column of one pull; ``band``: two standard deviations, the model's in it."""

    pull: str
    column: str
    speeds_rpm: NDArray[np.float64]
    measured: NDArray[np.float64]
    band: NDArray[np.float64]
    before: NDArray[np.float64]
    after: NDArray[np.float64]
    held_out: bool

    def miss(self, fitted: bool = True) -> float:
        """Root mean square of predicted over measured less one."""
        share = (self.after if fitted else self.before) / self.measured - 1.0
        return float(np.sqrt(np.nanmean(share**2)))

    def inside(self) -> float:
        """Share of the points whose measured value lies within the band of the prediction."""
        good = np.isfinite(self.measured)
        return float(np.mean(np.abs(self.measured - self.after)[good] <= self.band[good]))


@dataclass(frozen=True, slots=True)
class Fit:
    """What a fit gives. ``correlations`` between all parameters in the order of ``parameters``."""

    factors: tuple[Fitted, ...]
    scales: Mapping[str, tuple[float, float]]
    parameters: tuple[str, ...]
    correlations: NDArray[np.float64]
    misfit: float
    freedom: int
    laid: tuple[Laid, ...]
    data: str
    pulls: tuple[str, ...]
    held_out: tuple[str, ...]
    sentences: tuple[str, ...]
    date: str = ""

    def value(self, name: str) -> float:
        """A factor's value."""
        return next(f.value for f in self.factors if f.name == name)

    def values(self) -> dict[str, float]:
        """Every factor's value by name."""
        return {f.name: f.value for f in self.factors}


def fit(
    observations: Sequence[Observation],
    predict: Predict,
    factors: Sequence[Factor] = FACTORS,
    hold_out: Sequence[Observation] = (),
) -> Fit:
    """Fit ``factors`` to ``observations``; then predict the pulls held out.

    Raises BadInput for too little data, names given twice, or a model that gives nothing for a column.
    """
    _check(observations, factors)
    problem = _Problem(observations, predict, factors)
    held: list[int] = []
    x = problem.solve(held)
    while True:
        covariance, misfit, freedom = problem.covariance(x)
        learned = 1.0 - np.sqrt(np.diag(covariance))[: len(factors)] / np.array([f.spread for f in factors])
        untold = [i for i in range(len(factors)) if i not in held and learned[i] < LEARNED]
        if not untold:
            break
        held.append(min(untold, key=lambda i: float(learned[i])))
        x = problem.solve(held)
    widen = max(1.0, misfit / max(freedom, 1)) if freedom > 0 else 1.0
    return _result(problem, x, covariance * widen, learned, held, misfit, freedom, hold_out)


def _check(observations: Sequence[Observation], factors: Sequence[Factor]) -> None:
    if not observations:
        raise BadInput("a fit needs at least one pull")
    names = [f.name for f in factors]
    if not names or len(set(names)) != len(names):
        raise BadInput("name each factor once, and at least one")
    count = sum(int(np.isfinite(v).sum()) for o in observations for v in o.values.values())
    if count < 5:
        raise BadInput(f"{count} measured points are too few to fit to; give longer or more pulls")
    for o in observations:
        for column, value in o.values.items():
            good = np.isfinite(value)
            spread = o.spread[column]
            if value.shape != o.speeds_rpm.shape or not (spread[good] > 0.0).all():
                raise BadInput(f"{o.pull}: {column} needs a value and a spread above zero at each speed")


class _Problem:
    """Residuals of data and priors over x = (factors, scales)."""

    def __init__(self, observations: Sequence[Observation], predict: Predict, factors: Sequence[Factor]) -> None:
        self.observations, self.predict, self.factors = observations, predict, factors
        columns = sorted({c for o in observations for c in o.values})
        worst = {c: max(o.scale.get(c, 0.0) for o in observations) for c in columns}
        self.scales = {c: s for c, s in worst.items() if s > 0.0}
        self.prior = np.array([f.prior for f in factors] + [0.0] * len(self.scales))
        self.sigma = np.array([f.spread for f in factors] + list(self.scales.values()))
        self.low = np.array([f.low for f in factors] + [-5.0 * s for s in self.scales.values()])
        self.high = np.array([f.high for f in factors] + [5.0 * s for s in self.scales.values()])

    def named(self, x: NDArray[np.float64]) -> dict[str, float]:
        return {f.name: float(v) for f, v in zip(self.factors, x, strict=False)}

    def predicted(self, x: NDArray[np.float64], o: Observation) -> dict[str, NDArray[np.float64]]:
        """Columns as the rig would show them: the model's, times one plus the rig's scale."""
        made = self.predict(self.named(x), o)
        shift = dict(zip(self.scales, x[len(self.factors) :], strict=True))
        out = {}
        for column in o.values:
            if column not in made:
                raise BadInput(f"{o.pull}: the model gives no {column}")
            out[column] = np.asarray(made[column], dtype=np.float64) * (1.0 + shift.get(column, 0.0))
        return out

    def data(self, x: NDArray[np.float64]) -> NDArray[np.float64]:
        parts = []
        for o in self.observations:
            made = self.predicted(x, o)
            for column, value in o.values.items():
                good = np.isfinite(value)
                if not np.isfinite(made[column][good]).all():
                    raise BadInput(
                        f"{o.pull}: the model gives no {column} at some of the speeds measured; leave those speeds out"
                    )
                parts.append((made[column][good] - value[good]) / o.spread[column][good])
        return np.concatenate(parts)

    def solve(self, held: Sequence[int]) -> NDArray[np.float64]:
        """Best x with the factors ``held`` at their priors."""
        from scipy.optimize import least_squares

        free = [i for i in range(self.prior.size) if i not in held]
        x = self.prior.copy()

        def residuals(y: NDArray[np.float64]) -> NDArray[np.float64]:
            x[free] = y
            return np.concatenate([self.data(x), (y - self.prior[free]) / self.sigma[free]])

        done = least_squares(
            residuals,
            self.prior[free],
            bounds=(self.low[free], self.high[free]),
            x_scale=self.sigma[free],
            diff_step=1e-3,
            xtol=1e-6,
            ftol=1e-8,
        )
        x[free] = done.x
        return x.copy()

    def jacobian(
        self, x: NDArray[np.float64], of: Callable[[NDArray[np.float64]], NDArray[np.float64]]
    ) -> NDArray[np.float64]:
        """Central differences over a tenth of each parameter's prior spread, inside the bounds."""
        columns = []
        for i in range(x.size):
            up, down = x.copy(), x.copy()
            up[i] = min(x[i] + 0.1 * self.sigma[i], self.high[i])
            down[i] = max(x[i] - 0.1 * self.sigma[i], self.low[i])
            columns.append((of(up) - of(down)) / (up[i] - down[i]))
        return np.array(columns).T

    def covariance(self, x: NDArray[np.float64]) -> tuple[NDArray[np.float64], float, int]:
        """Covariance of all parameters (priors in), chi square of the data, and its freedom."""
        J = self.jacobian(x, self.data)
        information = J.T @ J + np.diag(self.sigma**-2.0)
        residuals = self.data(x)
        told = float(np.trace(np.linalg.solve(information, J.T @ J)))
        return (
            np.asarray(np.linalg.inv(information)),
            float(residuals @ residuals),
            max(round(residuals.size - told), 0),
        )


def _result(
    problem: _Problem,
    x: NDArray[np.float64],
    covariance: NDArray[np.float64],
    learned: NDArray[np.float64],
    held: Sequence[int],
    misfit: float,
    freedom: int,
    hold_out: Sequence[Observation],
) -> Fit:
    spread = np.sqrt(np.diag(covariance))
    free = max(len(problem.factors) - len(held), 1)
    reach = _normal(1.0 - (1.0 - COVERAGE) / free)
    correlations = covariance / np.outer(spread, spread)
    factors = tuple(
        _fitted(f, float(x[i]), float(spread[i]), reach, float(learned[i]), i in held)
        for i, f in enumerate(problem.factors)
    )
    laid = [_lay(problem, x, covariance, o, column, False) for o in problem.observations for column in o.values]
    laid += [_lay(problem, x, covariance, o, column, True) for o in hold_out for column in o.values]
    names = tuple([f.name for f in problem.factors] + [f"{c} of the rig" for c in problem.scales])
    n = len(problem.factors)
    scales = {c: (float(x[n + k]), float(spread[n + k])) for k, c in enumerate(problem.scales)}
    return Fit(
        factors,
        scales,
        names,
        correlations,
        misfit,
        freedom,
        tuple(laid),
        data_hash([*problem.observations]),
        tuple(o.pull for o in problem.observations),
        tuple(o.pull for o in hold_out),
        tuple(_sentences(factors, correlations, misfit, freedom, laid)),
    )


def _fitted(f: Factor, value: float, spread: float, reach: float, learned: float, held: bool) -> Fitted:
    at_bound = not held and min(value - f.low, f.high - value) < 0.01 * (f.high - f.low)
    if held:
        sentence = (
            f"{f.name} stays at {f.prior:g}: the data do not tell it (its spread shrinks from {f.spread:.2g} to "
            f"{spread:.2g} only)"
        )
    else:
        sentence = f"{f.name} {value:.3f} ± {reach * spread:.3f}"
        if at_bound:
            sentence += f": at its bound of {f.low:g} to {f.high:g}; the cause lies elsewhere, look for it first"
        elif abs(value - f.prior) > 2.5 * f.spread:
            sentence += ": far from what is usual; look for another cause before it is believed"
    shown = f.prior if held else value
    return Fitted(
        f.name, f.meaning, shown, spread, reach * spread, f.prior, f.spread, learned, held, at_bound, sentence
    )


def _lay(
    problem: _Problem, x: NDArray[np.float64], covariance: NDArray[np.float64], o: Observation, column: str, held: bool
) -> Laid:
    J = problem.jacobian(x, lambda y: problem.predicted(y, o)[column])
    model = np.einsum("ij,jk,ik->i", J, covariance, J)
    band = 2.0 * np.sqrt(o.spread[column] ** 2 + model)
    before = problem.predicted(problem.prior, o)[column]
    return Laid(o.pull, column, o.speeds_rpm, o.values[column], band, before, problem.predicted(x, o)[column], held)


def _sentences(
    factors: Sequence[Fitted], correlations: NDArray[np.float64], misfit: float, freedom: int, laid: Sequence[Laid]
) -> list[str]:
    out = [f.sentence for f in factors]
    out += [
        f"{factors[i].name} and {factors[j].name} are told only together (correlation {correlations[i, j]:.2f}); pulls "
        "at another spark or mixture would part them"
        for i, j in itertools.combinations(range(len(factors)), 2)
        if abs(correlations[i, j]) >= TIED and not (factors[i].held or factors[j].held)
    ]
    if freedom > 0 and misfit / freedom > 2.0:
        worst = max((one for one in laid if not one.held_out), key=lambda one: one.miss())
        out.append(
            f"the model misses the data by more than their noise (chi square {misfit:.0f} for {freedom}); worst is "
            f"{worst.column} of {worst.pull}, {100 * worst.miss():.1f} % off: bands were widened, look for a cause the "
            "factors do not cover"
        )
    out += [
        f"held out, {one.pull}, {one.column}: predicted within {100 * one.miss():.1f} % (before the fit "
        f"{100 * one.miss(fitted=False):.1f} %), {100 * one.inside():.0f} % of the points inside the band"
        for one in laid
        if one.held_out
    ]
    return out


def _normal(coverage: float) -> float:
    """Half width in standard deviations that holds this share of a normal law."""
    from scipy.special import ndtri

    return float(ndtri(0.5 + 0.5 * coverage))


def data_hash(observations: Sequence[Observation]) -> str:
    """Hash of what was fitted to: values, spreads, speeds and the raw files' own hashes."""
    made = hashlib.sha256()
    for o in observations:
        made.update(f"{o.pull}|{o.sha256}|{o.conditions!r}".encode())
        made.update(np.ascontiguousarray(o.speeds_rpm).tobytes())
        for column in sorted(o.values):
            made.update(column.encode())
            made.update(np.ascontiguousarray(o.values[column]).tobytes())
            made.update(np.ascontiguousarray(o.spread[column]).tobytes())
    return made.hexdigest()


def surface(
    predict: Predict,
    observation: Observation,
    factors: Sequence[Factor],
    centre: Mapping[str, float],
    reach: float = 0.5,
) -> Predict:
    """``predict`` for one pull as a quadratic in each factor about ``centre``, from 2 n + 1 runs ``reach`` spreads
    apart.

    For models that cost time. Factors are taken to act independently; check the answer against the model itself.
    """
    middle = {c: np.asarray(v, dtype=np.float64) for c, v in predict(centre, observation).items()}
    slopes: dict[str, list[tuple[str, NDArray[np.float64], NDArray[np.float64]]]] = {c: [] for c in middle}
    for f in factors:
        step = reach * f.spread
        low, high = centre[f.name] - step, centre[f.name] + step
        if low < f.low or high > f.high:  # at a bound: a smaller step inside it
            step = max(min(centre[f.name] - f.low, f.high - centre[f.name]), 0.1 * f.spread)
        up = predict({**centre, f.name: centre[f.name] + step}, observation)
        down = predict({**centre, f.name: centre[f.name] - step}, observation)
        for c in middle:
            first = (np.asarray(up[c]) - np.asarray(down[c])) / (2.0 * step)
            second = (np.asarray(up[c]) - 2.0 * middle[c] + np.asarray(down[c])) / step**2
            slopes[c].append((f.name, first, second))

    def quick(values: Mapping[str, float], _: Observation) -> dict[str, NDArray[np.float64]]:
        out = {}
        for c, base in middle.items():
            total = base.copy()
            for name, first, second in slopes[c]:
                d = values[name] - centre[name]
                total = total + first * d + 0.5 * second * d * d
            out[c] = total
        return out

    return quick
