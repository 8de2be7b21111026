"""The cheapest set of finishes against trying every set; and what `finishes` says about a room."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from halfgain.materials.finish import Finish
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.polynomial import ContrastPolynomial, contrast_polynomial
from halfgain.simulate.answers.repaint import Allowed, cheapest_repaint, room_costs, surface_areas
from halfgain.simulate.answers.search import Option, cheapest

from tests.rooms import ANGULAR, box_object, room


def random_problem(seed: int) -> tuple[ContrastPolynomial, np.ndarray, list[list[Option]]]:
    """A polynomial with positive coefficients in four surfaces, two seats, three channels; options that cross in colour."""
    draw = np.random.default_rng(seed)
    powers = draw.integers(0, 4, (40, 4)).astype(float)
    terms = draw.random((40, 4, 3)) * 0.3
    polynomial = ContrastPolynomial(powers, terms, np.array([0.2, 0.7, 0.1]), np.array([100.0, 90.0]), np.array([0.3, 0.2]))
    fixed = draw.uniform(0.4, 0.8, (4, 3))
    options = [
        [Option("", fixed[s], 0.0)] + [Option(str(i), draw.uniform(0.02, 0.7, 3), float(draw.uniform(1, 20))) for i in range(3)]
        for s in range(4)
    ]
    return polynomial, fixed, options


@pytest.mark.parametrize("seed", range(12))
def test_no_cheaper_set_exists(seed: int) -> None:
    # Expected: every one of the 256 sets tried
    polynomial, fixed, options = random_problem(seed)
    every = list(itertools.product(*(range(len(o)) for o in options)))
    tables = np.stack([np.stack([options[s][i].reflectance for s, i in enumerate(choice)]) for choice in every])
    contrast = polynomial.contrast(tables).min(axis=1)
    cost = np.array([sum(options[s][i].cost for s, i in enumerate(choice)) for choice in every])
    for target in np.quantile(contrast, [0.1, 0.5, 0.9, 1.0]):
        found = cheapest(polynomial, fixed, range(4), options, float(target) * (1 - 1e-12))
        assert found.exact
        assert found.cost == pytest.approx(cost[contrast >= target * (1 - 1e-12)].min(), abs=1e-9)
        assert found.nodes < len(every)
    impossible = cheapest(polynomial, fixed, range(4), options, float(contrast.max()) * 1.2)
    assert impossible.choice is None or impossible.contrast.min() >= contrast.max() * 1.2


@pytest.mark.parametrize("seed", range(6))
def test_among_sets_of_one_cost_the_one_of_most_contrast_is_taken(seed: int) -> None:
    # Expected: every one of the 256 sets tried; whole prices, so that many sets cost the same
    polynomial, fixed, options = random_problem(seed)
    priced = [[Option(o.name, o.reflectance, float(round(o.cost / 7.0))) for o in of_surface] for of_surface in options]
    every = list(itertools.product(*(range(len(o)) for o in priced)))
    tables = np.stack([np.stack([priced[s][i].reflectance for s, i in enumerate(choice)]) for choice in every])
    contrast = polynomial.contrast(tables).min(axis=1)
    cost = np.array([sum(priced[s][i].cost for s, i in enumerate(choice)) for choice in every])
    for target in np.quantile(contrast, [0.5, 0.9]):
        found = cheapest(polynomial, fixed, range(4), priced, float(target))
        least = cost[contrast >= target].min()
        assert found.exact
        assert found.cost == least
        assert found.contrast.min() == pytest.approx(contrast[(cost == least) & (contrast >= target)].max(), rel=1e-12)


def test_a_search_cut_short_states_a_bound_that_holds() -> None:
    polynomial, fixed, options = random_problem(3)
    whole = cheapest(polynomial, fixed, range(4), options, 40.0)
    short = cheapest(polynomial, fixed, range(4), options, 40.0, most_nodes=1)
    assert not short.exact
    assert short.bound <= whole.cost + 1e-9


def test_the_polynomial_is_the_walk() -> None:
    answers = Answers.of(
        room(fabric=ANGULAR, left="{ reflectance = [0.5, 0.3, 0.1] }", objects=box_object("box", [1, 2, 0], [1.5, 3, 1], 0.3)),
        paths=16,
    )
    polynomial = contrast_polynomial(answers)
    for paints in ({}, {"ceiling": 0.05}, {"left": (0.1, 0.4, 0.2), "box": 0.0}):
        other = answers.with_finishes(paints)
        assert polynomial.contrast(other.reflectance[None])[0] == pytest.approx(other.quick().checkerboard[0], rel=1e-6)
    free = [answers.arrays.surfaces.index(name) for name in ("ceiling", "left")]
    folded = polynomial.folded(answers.reflectance, free)
    other = answers.with_finishes({"ceiling": 0.3, "left": 0.02})
    assert folded.contrast(other.reflectance[None]) == pytest.approx(polynomial.contrast(other.reflectance[None]), rel=1e-12)
    assert len(folded.powers) < len(polynomial.powers)


def test_the_polynomial_has_the_same_bits_at_every_call() -> None:
    """Source: the project's rule of same bits for the same scene and seed; the order of terms once followed a shared generator."""
    answers = Answers.of(room(objects=box_object("box", [1, 2, 0], [1.5, 3, 1], 0.3)), paths=4)
    first, second = contrast_polynomial(answers), contrast_polynomial(answers)
    for one, other in zip(first, second, strict=True):
        np.testing.assert_array_equal(one, other)


def test_the_cheapest_repaint_of_a_room_is_found_and_reached() -> None:
    answers = Answers.of(room(), paths=32)
    dark, mid = Finish("dark", (0.05,) * 3), Finish("mid", (0.2,) * 3)
    allowed = [Allowed(s, f, p) for s in ("ceiling", "left", "right", "back") for f, p in ((dark, 12.0), (mid, 8.0))]
    best = answers.with_finishes(dict.fromkeys(("ceiling", "left", "right", "back"), dark)).quick().checkerboard[0].min()
    target = 0.7 * float(best)
    plan = cheapest_repaint(answers, allowed, target)
    assert plan.found.exact
    assert plan.priced
    assert min(c.value for c in plan.contrast) >= target * (1 - 1e-6)
    areas, every = surface_areas(answers), []
    for choice in itertools.product((None, dark, mid), repeat=4):
        paints = {s: f for s, f in zip(("ceiling", "left", "right", "back"), choice, strict=True) if f is not None}
        if answers.with_finishes(paints).quick().checkerboard[0].min() >= target:
            every.append(sum(areas[s] * (12.0 if f is dark else 8.0) for s, f in paints.items()))
    assert plan.found.cost == pytest.approx(min(every), rel=1e-9)
    with pytest.raises(ValueError, match="all or none"):
        cheapest_repaint(answers, [*allowed, Allowed("floor", dark, None)], target)


def test_one_light_back_wall_in_a_dark_room_is_named_first() -> None:
    # Physics: what the last light surface costs grows as the others get darker; in a light room the back wall is not first
    dark = dict.fromkeys(("front", "left", "right", "ceiling", "floor"), 0.03)
    in_dark = room_costs(Answers.of(room(back=0.7, **dark), paths=32))
    in_light = room_costs(Answers.of(room(back=0.7, front=0.05, left=0.7, right=0.7, ceiling=0.8, floor=0.3), paths=32))
    assert in_dark.surfaces[0].name == "back"
    assert in_light.surfaces[0].name != "back"
    gain = {}
    for name, costs in (("dark", in_dark), ("light", in_light)):
        back = next(s for s in costs.surfaces if s.name == "back")
        gain[name] = back.contrast_black[costs.worst].value / costs.contrast_now[costs.worst].value
        assert np.allclose(costs.together, costs.together.T)
    assert gain["dark"] > 1.5 > gain["light"] > 1.0
