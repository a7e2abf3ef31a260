"""Which nodes hang together, by SciPy's connected components."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components


def islands(nodes: int, links: Sequence[tuple[int, int]]) -> NDArray[np.int32]:
    """The number of the island of each node; ``links``: the two nodes of what conducts."""
    a, b = np.array(links, dtype=np.intp).reshape(-1, 2).T
    graph = coo_array((np.ones(len(links)), (a, b)), shape=(nodes, nodes))
    labels: NDArray[np.int32] = connected_components(graph, directed=False)[1]
    return labels
