"""The map of a window against scikit-learn."""

import numpy as np
from sklearn.gaussian_process import GaussianProcessClassifier
from sklearn.gaussian_process.kernels import RBF, ConstantKernel
from sklearn.naive_bayes import BernoulliNB
from tests.host.graded import drawn

from snapgloss.chocolate.types import DARK
from snapgloss.quality import window as w
from snapgloss.quality.window import window_map
from snapgloss.quality.window_next import usual_place

USUAL = usual_place(DARK, "cooled")


def test_the_posterior_is_that_of_another_program() -> None:
    """Each window as a class, each batch as a feature: scikit-learn's naive Bayes gives the same
    probability of each window (its fitted figures are replaced by ours)."""
    tried = drawn(12)
    lows, works = w._ranges(w.SPREAD_C[0]), w._ranges(w.SPREAD_C[1])
    prior = np.outer(lows.share, works.share).ravel()
    kept = np.argsort(prior)[-400:]  # as many classes as it does in a moment
    inside = np.array(
        [
            np.outer(
                np.abs(lows.middle_c - (one.place.low_c - USUAL.low_c)) <= lows.half_c + 1e-9,
                np.abs(works.middle_c - (one.work_c - USUAL.work_c)) <= works.half_c + 1e-9,
            ).ravel()[kept]
            for one in tried
        ]
    )
    other = BernoulliNB(force_alpha=True).fit(np.eye(400, len(tried)), np.arange(400))
    other.feature_log_prob_ = np.log(np.where(inside.T, 0.88, 0.12))
    other.class_log_prior_ = np.log(prior[kept] / prior[kept].sum())
    theirs = other.predict_proba(np.array([[one.good for one in tried]]))[0]
    ours = window_map(USUAL, tried).share.ravel()[kept]
    np.testing.assert_allclose(ours / ours.sum(), theirs, rtol=1e-9)


def test_with_many_batches_a_classifier_of_another_kind_says_the_same() -> None:
    """scikit-learn's Gaussian process knows of no window. On 300 batches both call the same places
    good on 93 of 100 (measured: 95); it rounds off the edges, which is 0.11 on average."""
    tried = drawn(300)
    points = np.array([one.place for one in tried])
    kernel = ConstantKernel(4.0, "fixed") * RBF(0.6, "fixed")
    other = GaussianProcessClassifier(kernel, optimizer=None).fit(
        points - points.mean(axis=0), [one.good for one in tried]
    )
    low_c, work_c = np.arange(26.7, 28.8, 0.1), np.arange(30.7, 32.6, 0.1)
    right = window_map(USUAL, tried).right(low_c, work_c)
    ours = w.MISLEADING + (1 - 2 * w.MISLEADING) * right
    places = np.stack(np.meshgrid(low_c, work_c, indexing="ij"), axis=-1).reshape(-1, 2)
    theirs = other.predict_proba(places - points.mean(axis=0))[:, 1].reshape(ours.shape)
    assert np.abs(ours - theirs).mean() < 0.13
    assert ((ours > 0.5) == (theirs > 0.5)).mean() > 0.93
