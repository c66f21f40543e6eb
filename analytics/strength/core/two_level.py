"""Posterior of parameters of people who share a cohort, from what each one's data say.

Two levels of normals, in closed form (Gelman et al. 2013, section 15.1): no iteration.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TwoLevels:
    """Posterior of the parameters.

    Attributes
    ----------
    mean : ndarray, shape (n_people, n_parameters)
    own_cov : ndarray, shape (n_people, n_parameters, n_parameters)
        Given the cohort's parameters.
    on_common : ndarray, shape (n_people, n_parameters, n_parameters)
        How far a person's mean follows the cohort's.
    common_cov : ndarray, shape (n_parameters, n_parameters)
        Of the cohort's parameters.
    """

    mean: Floats
    own_cov: Floats
    on_common: Floats
    common_cov: Floats

    @property
    def cov(self) -> Floats:
        """Of each person's parameters, shape (n_people, n, n)."""
        follows = self.on_common
        return self.own_cov + follows @ self.common_cov @ follows.transpose(0, 2, 1)


def cohort_sums(
    information: Floats, weighted: Floats, *, person_cov: Floats
) -> tuple[Floats, Floats]:
    """Sum what people's data say of the cohort, each person integrated out.

    Parameters
    ----------
    information, weighted, person_cov : ndarray
        As of :func:`two_levels`.

    Returns
    -------
    precision : ndarray, shape (n_parameters, n_parameters)
    weighted : ndarray, shape (n_parameters,)
        Those of several groups of people add up.
    """
    # (Lambda^-1 + U)^-1 without inverting Lambda.
    shrunk = np.linalg.inv(np.eye(len(person_cov)) + information @ person_cov)
    return (
        (shrunk @ information).sum(axis=0),
        (shrunk @ weighted[..., None]).sum(axis=0)[:, 0],
    )


def two_levels(
    information: Floats,
    weighted: Floats,
    *,
    person_cov: Floats,
    common_cov: Floats,
    sums: tuple[Floats, Floats] | None = None,
) -> TwoLevels:
    """Combine what people's data say with two levels of zero-mean priors.

    Parameters
    ----------
    information : ndarray, shape (n_people, n_parameters, n_parameters)
        Precision of each person's data; may be singular or zero.
    weighted : ndarray, shape (n_people, n_parameters)
        Precision times estimate.
    person_cov, common_cov : ndarray, shape (n_parameters, n_parameters)
        Prior covariance of a person about the cohort, and of the cohort about 0.
    sums : tuple of ndarray, optional
        From :func:`cohort_sums`, where the cohort is more than these people.

    Returns
    -------
    posterior : TwoLevels
    """
    precision, of_all = sums or cohort_sums(
        information, weighted, person_cov=person_cov
    )
    common_precision = np.linalg.inv(common_cov) + precision
    common = np.linalg.inv((common_precision + common_precision.T) / 2)
    common_mean = common @ of_all
    person_precision = np.linalg.inv(person_cov)
    own = np.linalg.inv(information + person_precision)
    mean = own @ (weighted + person_precision @ common_mean)[..., None]
    return TwoLevels(
        mean=mean[..., 0],
        own_cov=own,
        on_common=own @ person_precision,
        common_cov=np.asarray(common, float),
    )
