"""Which engine runs a plan: a cluster where one is named, else as many processes as the work is worth."""

from __future__ import annotations

import math

from ...light.workers import default_threads
from ..cost import Cost
from ..plan import PART, StudyPlan
from .engine import Engine
from .here import Here
from .local import Local

WORTH_A_PROCESS_S = 4.0  # of work; a process takes about two to start and to find its kernels


def engine_for(plan: StudyPlan, cost: Cost | None, *, workers: int | None = None, cluster: str | None = None) -> Engine:
    """The engine for a plan.

    workers  processes asked for, None: as many as this process may use and the work is worth;  cluster  a scheduler's address
    raises   StudyError where no scheduler answers there, ImportError without dask
    """
    if cluster is not None:
        from .cluster import Cluster

        return Cluster(cluster)
    if workers is not None:
        return Local(workers)
    work = math.inf if cost is None else cost.of(plan.counts)
    jobs = plan.counts.paths + plan.counts.variants // PART
    worth = int(min(default_threads(), jobs, 1 + work / WORTH_A_PROCESS_S))
    return Here() if worth < 2 else Local(worth)
