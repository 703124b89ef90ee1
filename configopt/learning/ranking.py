"""Paired comparisons to a ranking with its uncertainty: Bradley and Terry's model, with Davidson's for "alike".

What is compared has a strength each.  The chance of a verdict depends on the difference of two strengths.  Estimate and
covariance are those of the normal curve that comes nearest to what a weak prior and the verdicts say together.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit, logsumexp, ndtr, ndtri
from scipy.stats import qmc

from configopt.errors import UsageError

Array = NDArray[np.float64]
Outcome = Literal["first", "second", "alike"]
#: Standard deviation of the prior of a strength [log odds].  The difference of two then spreads as much as a logistic
#: curve of scale 1 (pi over the root of 3), under which every chance of a preference is equally likely beforehand.
PRIOR = math.pi / math.sqrt(6.0)
#: Middle and standard deviation of the prior of the logarithm of Davidson's tie parameter, by the same reasoning: every
#: share of "alike" between equals is about equally likely beforehand.
TIE_MIDDLE, TIE_PRIOR = math.log(2.0), math.pi / math.sqrt(3.0)
#: Quantile of a two-sided 90 % interval.
NINETY = float(ndtri(0.95))
#: Nodes and weights by which a mean over a normal curve is taken (Gauss and Hermite).
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
#: Change of estimates and standard uncertainties, as a share of the latter, below which they are settled, and rounds
#: after which they are left.
_SETTLED, _ROUNDS = 1e-9, 200
#: Most things that are ranked together; the work grows with the cube.
MOST_RANKED = 500
#: Draws for the chance of being the best (a power of two), and their seed.
DRAWS, SEED = 4096, 20_231


@dataclass(frozen=True, order=True)
class Comparison:
    """One verdict: two names, which of them was better, and whose voice it is.

    ``voice`` is who spoke on which day: what one voice says about one pair counts as one verdict.
    """

    first: str
    second: str
    outcome: Outcome
    voice: tuple[str, ...] = ()

    def ordered(self) -> Comparison:
        """The same verdict with its names in alphabetical order."""
        if self.first <= self.second:
            return self
        turned: dict[Outcome, Outcome] = {"first": "second", "second": "first", "alike": "alike"}
        return Comparison(self.second, self.first, turned[self.outcome], self.voice)


@dataclass(frozen=True)
class Group:
    """What was compared with each other, directly or through others; the strongest first.

    Strengths [log odds] are differences from the mean of the group; ``covariance`` is theirs.  ``level_covariance`` is
    that of the strengths before the mean is taken off, for what a comparison with another group would teach.
    """

    names: tuple[str, ...]
    strength: Array
    covariance: Array
    level_covariance: Array
    tie: float | None
    """Davidson's tie parameter [1]; None where no verdict was "alike"."""
    chance_best: Array
    """Chance of each to be the strongest of the group [1]."""
    voices: float
    """Verdicts that count [1]."""

    @property
    def spread(self) -> Array:
        """Standard uncertainties of the strengths [log odds]."""
        return np.sqrt(np.diagonal(self.covariance))

    def between(self, first: int, second: int) -> Preference:
        """How one compares with another, by their places in the group."""
        difference = float(self.strength[first] - self.strength[second])
        variance = self.covariance[first, first] + self.covariance[second, second] - 2 * self.covariance[first, second]
        return preference(difference, math.sqrt(max(float(variance), 0.0)))


@dataclass(frozen=True)
class Preference:
    """Chance of a preference in one decided verdict, with its 90 % interval, and the chance that it is the stronger."""

    chance: float
    low: float
    high: float
    chance_ahead: float


@dataclass(frozen=True)
class Telling:
    """A comparison and the share of all uncertainty about the strengths that one more verdict takes away [1]."""

    first: str
    second: str
    share: float
    joins: bool
    """Whether the two were never compared, not even through others."""


def preference(difference: float, spread: float) -> Preference:
    """Chances that follow from a difference of strengths and its standard uncertainty [log odds].

    >>> round(preference(0.0, 1.0).chance, 3), round(preference(0.0, 1.0).chance_ahead, 3)
    (0.5, 0.5)
    """
    low, high = difference - NINETY * spread, difference + NINETY * spread
    ahead = float(ndtr(difference / spread)) if spread > 0.0 else float(difference >= 0.0)
    return Preference(float(expit(difference)), float(expit(low)), float(expit(high)), ahead)


def counts(comparisons: Iterable[Comparison]) -> dict[tuple[str, str], tuple[float, float, float]]:
    """What counts of the verdicts on each pair: first better, second better, alike [1].

    Notes
    -----
    Verdicts of one rider on one day about one pair are one experience told several times.  Together they weigh one,
    in equal parts: equal ones count once, and a rider who says both gives half to each side.
    """
    listed = sorted(one.ordered() for one in comparisons)
    told = Counter((one.first, one.second, one.voice) for one in listed)
    parts: dict[tuple[str, str], dict[Outcome, list[float]]] = defaultdict(lambda: defaultdict(list))
    for one in listed:
        parts[one.first, one.second][one.outcome].append(1.0 / told[one.first, one.second, one.voice])
    return {
        pair: (math.fsum(found["first"]), math.fsum(found["second"]), math.fsum(found["alike"]))
        for pair, found in sorted(parts.items())
    }


def ranked(comparisons: Iterable[Comparison], *, prior: float = PRIOR, at_maximum: bool = False) -> list[Group]:
    """Rank what was compared; what was never compared with each other, not even through others, stays apart.

    Parameters
    ----------
    comparisons : verdicts; the order of rows and of the two names does not matter
    prior : standard deviation of the prior of a strength [log odds]
    at_maximum : the most probable strengths and the curvature there (Laplace) instead of the nearest normal curve; with
        a wide prior these are the estimates and standard errors of maximum likelihood

    Returns
    -------
    list of Group
        The one with most verdicts first.

    Raises
    ------
    UsageError
        More than :data:`MOST_RANKED` names.

    Notes
    -----
    With strengths s and tie parameter v, the three outcomes of a pair have chances in the ratio
    exp(s_1), exp(s_2), v exp((s_1 + s_2)/2) [1]_, [2]_.  Where nothing was "alike", v = 0, which is Bradley and
    Terry's model.  The posterior is log-concave in s and log v, so its maximum is the only one.

    Around its maximum a posterior of few verdicts is skewed: intervals from the curvature there cover 88 % instead of
    90 %.  So slope and curvature are averaged over the spread of each difference, in turns with that spread, until
    both agree: the mean and covariance of the normal curve with the least Kullback-Leibler divergence [3]_ (the tie
    parameter, which matters little, stays at its middle in these averages).  Its intervals cover 89.5 to 90 %.

    References
    ----------
    .. [1] R. A. Bradley, M. E. Terry, Rank analysis of incomplete block designs: I. The method of paired comparisons,
       Biometrika 39, 1952, pp. 324-345 (from memory).
    .. [2] R. R. Davidson, On extending the Bradley-Terry model to accommodate ties in paired comparison experiments,
       Journal of the American Statistical Association 65, 1970, pp. 317-328 (from memory).
    .. [3] M. Opper, C. Archambeau, The variational Gaussian approximation revisited, Neural Computation 21, 2009,
       pp. 786-792 (from memory).

    Examples
    --------
    >>> [group] = ranked([Comparison("a", "b", "first"), Comparison("c", "b", "second")])
    >>> group.names
    ('a', 'b', 'c')
    """
    pairs = counts(comparisons)
    names = {name for pair in pairs for name in pair}
    if len(names) > MOST_RANKED:
        raise UsageError(
            f"at most {MOST_RANKED} tires can be ranked together, these are {len(names)}; divide the table"
        )
    groups = [_group(members, pairs, prior, at_maximum) for members in connected(pairs)]
    return sorted(groups, key=lambda group: (-group.voices, min(group.names)))


def connected(pairs: Iterable[tuple[str, str]]) -> list[list[str]]:
    """Names that hang together through pairs, each set in alphabetical order.

    >>> connected([("a", "b"), ("c", "d"), ("b", "e")])
    [['a', 'b', 'e'], ['c', 'd']]
    """
    near: dict[str, set[str]] = defaultdict(set)
    for first, second in pairs:
        near[first].add(second)
        near[second].add(first)
    found, seen = [], set[str]()
    for name in sorted(near):
        if name in seen:
            continue
        members, ahead = set[str](), [name]
        while ahead:
            one = ahead.pop()
            if one not in members:
                members.add(one)
                ahead += near[one]
        seen |= members
        found.append(sorted(members))
    return found


def most_telling(
    groups: Sequence[Group], places: Mapping[str, frozenset[str]] | None = None, *, count: int = 3
) -> list[Telling]:
    """Which further comparisons would teach most about the strengths of all.

    Parameters
    ----------
    groups : what is known
    places : where each name that can still be compared may stand; two are compared where they have a place in common.
        Without it any two may be
    count : how many to tell

    Notes
    -----
    Own rule: the sum of the variances of all strengths, less their mean, is what is unknown.  One more decided verdict
    on a pair adds p (1 - p) to the information on its difference d, with p the estimated chance of a preference; the
    covariance S then loses S d d' S p (1-p)/(1 + p (1-p) d' S d) (Sherman and Morrison).  Two of different groups are
    taken as equal on average.
    """
    names = [name for group in groups for name in group.names]
    if len(names) < 2:
        return []
    size = len(names)
    strength = np.concatenate([group.strength for group in groups])
    group_of = np.concatenate([np.full(len(group.names), number) for number, group in enumerate(groups)])
    covariance = np.zeros((size, size))
    at = 0
    for group in groups:
        end = at + len(group.names)
        covariance[at:end, at:end] = group.level_covariance
        at = end
    centred = covariance - covariance.mean(axis=0)
    unknown = float(np.trace(centred) - centred.mean(axis=1).sum())
    gram = centred.T @ centred
    taken = gram.diagonal()[:, None] + gram.diagonal() - 2 * gram
    spread = covariance.diagonal()[:, None] + covariance.diagonal() - 2 * covariance
    chance = expit(strength[:, None] - strength)
    information = chance * (1.0 - chance)
    shares = information * taken / (1.0 + information * spread) / unknown
    where = dict.fromkeys(names, frozenset({""})) if places is None else places
    rows = [
        Telling(min(names[i], names[j]), max(names[i], names[j]), float(shares[i, j]), bool(group_of[i] != group_of[j]))
        for i in range(size)
        for j in range(i)
        if where.get(names[i], frozenset()) & where.get(names[j], frozenset())
    ]
    # What differs in the last digits only is equal, so that the order does not hang on the machine.
    return sorted(rows, key=lambda row: (-round(row.share, 9), row.first, row.second))[:count]


def _group(
    members: list[str], pairs: dict[tuple[str, str], tuple[float, float, float]], prior: float, at_maximum: bool
) -> Group:
    number = {name: at for at, name in enumerate(members)}
    mine = {pair: found for pair, found in pairs.items() if pair[0] in number}
    ends = np.array([[number[first], number[second]] for first, second in mine])
    told = np.array(list(mine.values()))
    strength, covariance, tie = _fitted(ends, told, len(members), prior, at_maximum)
    middle = np.eye(len(members)) - 1.0 / len(members)
    order = sorted(range(len(members)), key=lambda at: (-round(float(strength[at]), 9), members[at]))
    strength = (strength - strength.mean())[order]
    level = covariance[np.ix_(order, order)]
    centred = middle @ level @ middle
    return Group(
        names=tuple(members[at] for at in order),
        strength=strength,
        covariance=centred,
        level_covariance=level,
        tie=tie,
        chance_best=_chance_best(strength, centred),
        voices=float(told.sum()),
    )


def _fitted(
    ends: NDArray[np.int64], told: Array, size: int, prior: float, at_maximum: bool
) -> tuple[Array, Array, float | None]:
    """Strengths, their covariance, and the tie parameter."""
    ties = bool(told[:, 2].any())
    mean = np.zeros(size + ties)
    precision = np.full(size + ties, prior**-2.0)
    if ties:
        mean[-1], precision[-1] = TIE_MIDDLE, TIE_PRIOR**-2.0
    one, other = ends.T
    total = told.sum(axis=1)

    def logits(unknowns: Array, spread: Array) -> Array:
        """Logarithms of the ratio of the chances of "first", "second" and "alike", (outcome, pair, node)."""
        half = 0.5 * ((unknowns[one] - unknowns[other])[:, None] + spread[:, None] * _NODES)
        return np.stack([half, -half, np.full(half.shape, unknowns[-1] if ties else -np.inf)])

    def chances(unknowns: Array, spread: Array) -> tuple[Array, Array]:
        """Of "first" less "second", and of "alike", (pair, node)."""
        shown = logits(unknowns, spread)
        found = np.exp(shown - logsumexp(shown, axis=0))
        return found[0] - found[1], found[2]

    def value(unknowns: Array, spread: Array) -> float:
        fit = 0.5 * (told[:, 0] - told[:, 1]) @ (unknowns[one] - unknowns[other])
        fit -= total @ (logsumexp(logits(unknowns, spread), axis=0) @ _WEIGHTS)
        if ties:
            fit += told[:, 2].sum() * unknowns[-1]
        return float(0.5 * (precision * (unknowns - mean) ** 2).sum() - fit)

    def slope(unknowns: Array, spread: Array) -> Array:
        lead, alike = (part @ _WEIGHTS for part in chances(unknowns, spread))
        excess = 0.5 * (total * lead - told[:, 0] + told[:, 1])
        found: Array = precision * (unknowns - mean)
        np.add.at(found, one, excess)
        np.subtract.at(found, other, excess)
        if ties:
            found[-1] += total @ alike - told[:, 2].sum()
        return found

    def curvature(unknowns: Array, spread: Array) -> Array:
        lead, alike = chances(unknowns, spread)
        own = 0.25 * total * ((1.0 - alike - lead**2) @ _WEIGHTS)
        found: Array = np.diag(precision)
        for rows, columns, part in ((one, one, own), (other, other, own), (one, other, -own), (other, one, -own)):
            np.add.at(found, (rows, columns), part)
        if ties:
            part = 0.5 * total * ((lead * alike) @ _WEIGHTS)
            for rows, sign in ((one, -1.0), (other, 1.0)):
                np.add.at(found[-1], rows, sign * part)
                np.add.at(found[:, -1], rows, sign * part)
            found[-1, -1] += total @ ((alike * (1.0 - alike)) @ _WEIGHTS)
        return found

    spread = np.zeros(len(ends))
    found: Any = minimize(value, mean, (spread,), "trust-exact", slope, curvature, options={"gtol": 1e-6})
    best: Array = found.x
    # From there Newton's steps, in turns with the spreads: both change little.
    for _ in range(_ROUNDS):
        covariance: Array = np.linalg.inv(curvature(best, spread)).astype(np.float64)
        step = covariance @ slope(best, spread)
        best = best - step
        settled = bool(np.all(np.abs(step) <= _SETTLED * np.sqrt(np.diagonal(covariance))))
        if not at_maximum:
            before, spread = spread, _spreads(covariance, one, other)
            settled &= bool(np.all(np.abs(spread - before) <= _SETTLED * spread))
        if settled:
            break
    return best[:size], covariance[:size, :size], float(np.exp(best[-1])) if ties else None


def _spreads(covariance: Array, one: NDArray[np.int64], other: NDArray[np.int64]) -> Array:
    """Standard uncertainties of differences."""
    variance = covariance[one, one] + covariance[other, other] - 2.0 * covariance[one, other]
    return np.sqrt(np.maximum(variance, 0.0))


def _chance_best(strength: Array, covariance: Array) -> Array:
    """Chance of each to be the strongest, by draws from the normal curve around the estimate."""
    if len(strength) == 2:
        ahead = preference(
            float(strength[0] - strength[1]), math.sqrt(covariance[0, 0] + covariance[1, 1] - 2 * covariance[0, 1])
        ).chance_ahead
        return np.array([ahead, 1.0 - ahead])
    values, vectors = np.linalg.eigh(covariance)
    draws = ndtri(qmc.Sobol(len(strength), rng=SEED).random(DRAWS))
    drawn = strength + draws @ (vectors * np.sqrt(np.clip(values, 0.0, None))).T
    return np.bincount(drawn.argmax(axis=1), minlength=len(strength)) / DRAWS
