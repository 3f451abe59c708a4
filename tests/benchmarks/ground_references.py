"""Reference interpolators, each as a function from shots (n, 3) and targets (m, 2) to heights (m,).

They are measured against only; none of them is needed to use the tool. Each asks for its library with
`pytest.importorskip`, so that a missing one skips its row.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

Array = NDArray[np.float64]
Reference = Callable[[Array, Array], Array]


def scipy_linear(shots: Array, targets: Array) -> Array:
    from scipy.interpolate import LinearNDInterpolator

    return np.asarray(LinearNDInterpolator(shots[:, :2], shots[:, 2])(targets))


def scipy_thin_plate(shots: Array, targets: Array) -> Array:
    from scipy.interpolate import RBFInterpolator

    centre, scale = shots[:, :2].mean(axis=0), shots[:, :2].std()
    plate = RBFInterpolator((shots[:, :2] - centre) / scale, shots[:, 2], kernel="thin_plate_spline")
    return np.asarray(plate((targets - centre) / scale))


def gaussian_process(shots: Array, targets: Array) -> Array:
    return gaussian_process_with_deviation(shots, targets)[0]


def gaussian_process_with_deviation(shots: Array, targets: Array) -> tuple[Array, Array]:
    """scikit-learn's Gaussian process about a plane, Matern 1.5 and white noise, by maximum likelihood."""
    fitted, there, plane = _gaussian_process(shots, targets)
    height, deviation = fitted.predict(there, return_std=True)
    return height + np.column_stack([np.ones(len(there)), there]) @ plane, deviation


def gaussian_process_of_mean(shots: Array, targets: Array) -> tuple[float, float]:
    """Mean height over the targets and its deviation, from the same process's joint covariance."""
    fitted, there, plane = _gaussian_process(shots, targets)
    height, joint = fitted.predict(there, return_cov=True)
    mean = height + np.column_stack([np.ones(len(there)), there]) @ plane
    return float(mean.mean()), float(np.sqrt(max(joint.mean(), 0.0)))


def _gaussian_process(shots: Array, targets: Array) -> tuple[Any, Array, Array]:
    """The fitted process, the targets in its frame, and the plane that was taken off the shots."""
    process = pytest.importorskip("sklearn.gaussian_process")
    kernels = pytest.importorskip("sklearn.gaussian_process.kernels")
    centre, scale = shots[:, :2].mean(axis=0), shots[:, :2].std()
    places = (shots[:, :2] - centre) / scale
    terms = np.column_stack([np.ones(len(places)), places])
    plane = np.linalg.lstsq(terms, shots[:, 2], rcond=None)[0]
    kernel = kernels.ConstantKernel(1.0, (1e-4, 1e4)) * kernels.Matern(0.5, (0.02, 20.0), nu=1.5)
    kernel += kernels.WhiteKernel(1e-3, (1e-8, 1.0))
    fitted = process.GaussianProcessRegressor(kernel, normalize_y=True, n_restarts_optimizer=1, random_state=0)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of bounds that it rests on
        fitted.fit(places, shots[:, 2] - terms @ plane)
    return fitted, (targets - centre) / scale, plane


def pykrige_ordinary(shots: Array, targets: Array) -> Array:
    return pykrige_with_deviation(shots, targets)[0]


def pykrige_with_deviation(shots: Array, targets: Array, backend: str = "vectorized") -> tuple[Array, Array]:
    """PyKrige's ordinary kriging, spherical variogram of 12 lags."""
    library = pytest.importorskip("pykrige.ok")
    kriging = library.OrdinaryKriging(*shots.T, variogram_model="spherical", nlags=12)
    height, variance = kriging.execute("points", targets[:, 0], targets[:, 1], backend=backend)
    return np.asarray(height), np.sqrt(np.maximum(np.asarray(variance), 0.0))


def gstools_ordinary(shots: Array, targets: Array) -> Array:
    return _gstools(shots, targets, "Ordinary")


def gstools_universal(shots: Array, targets: Array) -> Array:
    return _gstools(shots, targets, "Universal")


def _gstools(shots: Array, targets: Array, kind: str) -> Array:
    """GSTools kriging with a variogram fitted by least squares, in places and heights of size one."""
    library = pytest.importorskip("gstools")
    centre, scale = shots.mean(axis=0), shots.std(axis=0).clip(1e-12)
    scale[:2] = scale[:2].max()
    unit = (shots - centre) / scale
    places, heights = unit[:, :2].T, unit[:, 2]
    model = library.Spherical(dim=2) if kind == "Ordinary" else library.Matern(dim=2, nu=1.5)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fixed = {} if kind == "Ordinary" else {"nu": False}
        model.fit_variogram(*library.vario_estimate(places, heights), max_eval=20_000, **fixed)
    if kind == "Ordinary":
        kriging = library.krige.Ordinary(model, places, heights)
    else:
        kriging = library.krige.Universal(model, places, heights, drift_functions="linear")
    there = ((targets - centre[:2]) / scale[:2]).T
    return np.asarray(kriging(there, return_var=False)) * scale[2] + centre[2]


def verde_spline(shots: Array, targets: Array) -> Array:
    """verde's linear trend and damped spline."""
    library = pytest.importorskip("verde")
    chain = library.Chain([("trend", library.Trend(1)), ("spline", library.Spline())])
    chain.fit((shots[:, 0], shots[:, 1]), shots[:, 2])
    return np.asarray(chain.predict((targets[:, 0], targets[:, 1])))


REFERENCES: dict[str, Reference] = {
    "scipy, linear": scipy_linear,
    "scipy, thin plate": scipy_thin_plate,
    "scikit-learn, Gaussian process": gaussian_process,
    "PyKrige, ordinary": pykrige_ordinary,
    "GSTools, ordinary": gstools_ordinary,
    "GSTools, universal": gstools_universal,
    "verde, trend and spline": verde_spline,
}
