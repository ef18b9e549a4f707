"""A costly smooth function asked at very many points that differ in one or two quantities, as a sweep asks.

It is computed on a lattice over the points and taken from there by cubics; in a cell where cubics and parabolas through
its neighbourhood do not agree at every point, as beside a kink, it is computed at the points themselves.
"""

from collections.abc import Callable

import numpy as np

NODES = {1: 21, 2: 18}
"""Nodes along each quantity, by how many there are; of a sweep's 41 points every second is a node."""

AGREED = 3e-4
"""Share by which the cubic and the parabola may differ; the cubic is nearer to the truth than that."""


def on_lattice(solve: Callable[[np.ndarray], np.ndarray], points: np.ndarray) -> np.ndarray:
    """`solve(points)`, shape (values, points), for points (points, quantities), the first of which is a whole number.

    Values are positive or nan. A lattice lies over those points that differ in the one or two quantities alone that
    take most values, whichever asks less of `solve`.
    """
    if len(points) <= 1.5 * NODES[1]:
        return solve(points)
    most = 1 + np.argsort([-len(np.unique(column)) for column in points.T[1:]], kind="stable")
    ways = {n: np.unique(np.delete(points, most[:n], axis=1), axis=0, return_inverse=True)[1].ravel() for n in NODES}
    group = ways[min(ways, key=lambda n: np.minimum(np.bincount(ways[n]), NODES[n] ** n).sum())]
    order = np.argsort(group, kind="stable")
    parts = np.split(order, np.flatnonzero(np.diff(group[order])) + 1)
    return np.concatenate([_of_one(solve, points[part]) for part in parts], axis=1)[:, np.argsort(order)]


def _of_one(solve: Callable[[np.ndarray], np.ndarray], points: np.ndarray) -> np.ndarray:
    low, high = points.min(axis=0), points.max(axis=0)
    changing = np.flatnonzero(high - low > 1e-9)
    count = NODES.get(len(changing), 0)
    if not count or len(points) <= 1.5 * count ** len(changing):
        return solve(points)
    grid = np.meshgrid(*(np.linspace(low[k], high[k], count) for k in changing), indexing="ij")
    nodes = np.tile(points[0], (count ** len(changing), 1))
    nodes[:, changing] = np.column_stack([axis.ravel() for axis in grid])
    with np.errstate(invalid="ignore", divide="ignore"):
        known = np.log(solve(nodes)).reshape(-1, *grid[0].shape)
    at = ((points - low) / np.where(high > low, high - low, 1.0) * (count - 1))[:, changing].T
    cubic, parabola = (_between(known, at, size) for size in (4, 3))
    unsure = _beside(np.abs(cubic - parabola).max(axis=0), np.minimum(at.astype(int), count - 2), count - 1) > AGREED
    found = np.exp(cubic)
    unsure &= (np.abs(at - np.round(at)) > 1e-6).any(axis=0)  # a node is known
    if unsure.any():
        found[:, unsure] = solve(points[unsure])
    return found


def _beside(apart: np.ndarray, cell: np.ndarray, count: int) -> np.ndarray:
    """The largest of `apart` in the cell of each point and in those around it; nan is infinite."""
    most = np.zeros((count + 2,) * len(cell))
    np.maximum.at(most, tuple(cell + 1), np.where(np.isnan(apart), np.inf, apart))
    around = [most[tuple(cell + np.array(step)[:, None])] for step in np.ndindex(*(3,) * len(cell))]
    return np.max(around, axis=0)


def _between(known: np.ndarray, at: np.ndarray, size: int) -> np.ndarray:
    """Values at places `at` (quantities, points) in steps of the lattice, by the polynomial through the `size` nearest
    nodes along each quantity."""
    first = np.clip(np.ceil(at - size / 2).astype(int), 0, known.shape[1] - size)
    total = np.zeros((len(known), at.shape[1]))
    for steps in np.ndindex(*(size,) * len(at)):
        weight = np.ones(at.shape[1])
        for left, step in zip(at - first, steps):
            for other in set(range(size)) - {step}:
                weight *= (left - other) / (step - other)
        total += weight * known[(slice(None), *(first + np.array(steps)[:, None]))]
    return total
