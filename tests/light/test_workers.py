"""Work handed to threads: every cell once, the first fault, work within work, and no thread kept from working by another."""

from __future__ import annotations

import os
import threading
from functools import partial
from itertools import pairwise

import numpy as np
import pytest
from halfgain.simulate.light.workers import in_ranges, one_a_thread, pieces_of


@pytest.mark.parametrize("threads", [1, 2, 3, 7])
@pytest.mark.parametrize("count", [0, 1, 2, 5, 64, 401])
def test_every_cell_is_done_once(count, threads):
    done = np.zeros(count, int)

    def run(low, high):
        done[low:high] += 1

    in_ranges(run, count, threads)
    assert (done == 1).all()


@pytest.mark.parametrize("count", [2, 5, 64, 401])
@pytest.mark.parametrize("threads", [2, 3, 64])
def test_pieces_follow_one_another_and_shrink_to_an_even_share(count, threads):
    pieces = pieces_of(count, threads, 4)
    assert pieces[0][0] == 0
    assert pieces[-1][1] == count
    assert all(one[1] == then[0] for one, then in pairwise(pieces))
    sizes = [high - low for low, high in pieces]
    assert min(sizes) > 0
    assert max(sizes) <= -(-count // threads)
    assert sizes == sorted(sizes, reverse=True)
    assert len(pieces) <= 5 * threads


def test_of_several_faults_that_of_the_first_cells_is_told():
    together = threading.Barrier(2, timeout=60)

    def run(low, high):
        together.wait()  # both pieces are taken before either fails
        raise ValueError(f"cell {low}")

    for _ in range(20):
        with pytest.raises(ValueError, match=r"^cell 0$"):
            in_ranges(run, 2, 2)


def test_after_a_fault_no_more_is_begun():
    begun = []

    def run(low, high):
        begun.append(low)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        in_ranges(run, 1000, 2)
    assert len(begun) <= 2


def test_two_threads_work_at_once():
    together = threading.Barrier(2, timeout=60)  # broken where one thread does both pieces
    in_ranges(lambda low, high: together.wait(), 2, 2)


def test_threads_stay_for_the_next_call():
    in_ranges(lambda low, high: None, 8, 3)
    before = threading.active_count()
    for _ in range(50):
        in_ranges(lambda low, high: None, 8, 3)
    assert threading.active_count() == before


def test_work_within_work_comes_to_an_end():
    done = np.zeros((4, 16), int)

    def add_one(cells, low, high):
        cells[low:high] += 1

    def outer(low, high):
        for row in done[low:high]:
            in_ranges(partial(add_one, row), 16, 2)

    in_ranges(outer, 4, 2)
    assert (done == 1).all()


def test_each_thread_keeps_its_scratch():
    made, seen, together = [], [], threading.Barrier(2, timeout=60)

    def make():
        made.append(threading.get_ident())
        return object()

    scratch = one_a_thread(make)

    # both threads take a piece, then this one takes all
    in_ranges(lambda low, high: (together.wait(), seen.append((threading.get_ident(), scratch()))), 2, 2)
    in_ranges(lambda low, high: seen.append((threading.get_ident(), scratch())), 8, 1)
    assert len(made) == len(set(made)) == 2
    assert len({(who, id(what)) for who, what in seen}) == 2


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
@pytest.mark.filterwarnings("ignore:This process:DeprecationWarning")  # that it has threads is the point
def test_a_forked_process_has_threads_of_its_own():
    in_ranges(lambda low, high: None, 8, 2)
    child = os.fork()
    if child == 0:
        together = threading.Barrier(2, timeout=30)
        try:
            in_ranges(lambda low, high: together.wait(), 2, 2)
        except BaseException:
            os._exit(1)
        os._exit(0)
    assert os.waitpid(child, 0)[1] == 0
