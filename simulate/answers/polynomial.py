"""Checkerboard contrast as a polynomial in the reflectances: thousands of repaints in a moment, for searching among them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.tint import LUMINANCE_WEIGHTS
from ..measuring.colour import luminance
from ..measuring.lens import levels_of
from ..measuring.readings import BOARD_POINTS
from ..measuring.solver import board_patches
from .answers import Answers
from .passes import hit_powers

_SEED = 20240901  # of the keys that tell monomials apart; the same keys at every call, so the same bits


class ContrastPolynomial(NamedTuple):
    """Returned light on white and on black patches, each a sum of monomials in the reflectances with coefficients >= 0.

    powers   (J, surfaces) how often each surface is hit;  terms (J, 2 T, 1 or C) coefficients [cd/m2], white then black patches
    channel  (C,) luminance weight of each channel times the cloth's tint [1]
    lit, dark  (T,) what the patches show without returned light, sums over 16 centres, ambient light included [cd/m2]
    """

    powers: np.ndarray
    terms: np.ndarray
    channel: np.ndarray
    lit: np.ndarray
    dark: np.ndarray

    def returned(self, reflectance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Sums over the white and over the black patch centres, (n, T) each [cd/m2], for reflectances (n, surfaces, C) [1].

        Source: sum over j of terms_j x product over surfaces of reflectance^powers_j; see `contrast_polynomial`.
        """
        count, channels = len(reflectance), reflectance.shape[2]
        total = np.zeros((count, self.terms.shape[1]))
        with np.errstate(divide="ignore"):
            logs = np.log(reflectance)
        logs = np.maximum(logs, -700.0)  # a black surface: e^-700 is nothing, and 0 x it still is 0
        for c in range(channels):
            products = np.exp(logs[:, :, c] @ self.powers.T)
            total += self.channel[c] * (products @ self.terms[:, :, min(c, self.terms.shape[2] - 1)])
        seats = total.shape[1] // 2
        return total[:, :seats], total[:, seats:]

    def folded(self, reflectance: np.ndarray, free: list[int]) -> ContrastPolynomial:
        """The same in the `free` surfaces alone, all others held at reflectance (surfaces, C) [1]: far fewer monomials.

        Source: the fixed factors go into the coefficients; monomials with the same free powers are one.
        """
        held = [s for s in range(self.powers.shape[1]) if s not in free]
        with np.errstate(divide="ignore"):
            logs = np.maximum(np.log(reflectance), -700.0)
        powers, term = np.unique(self.powers[:, free], axis=0, return_inverse=True)
        terms = np.empty((len(powers), self.terms.shape[1], reflectance.shape[1]))
        for c in range(reflectance.shape[1]):
            part = self.terms[:, :, min(c, self.terms.shape[2] - 1)] * np.exp(self.powers[:, held] @ logs[held, c])[:, None]
            for column in range(part.shape[1]):
                terms[:, column, c] = np.bincount(term.ravel(), part[:, column], minlength=len(powers))
        wide = np.zeros((len(powers), self.powers.shape[1]))
        wide[:, free] = powers
        return self._replace(powers=wide, terms=terms)

    def contrast(self, reflectance: np.ndarray) -> np.ndarray:
        """Checkerboard contrast (n, T) [1] for reflectances (n, surfaces, C) [1].

        Source: ISO/IEC 21118: sum over white patch centres / sum over black ones.
        """
        white, black = self.returned(reflectance)
        return (self.lit + white) / (self.dark + black)


def contrast_polynomial(answers: Answers, ambient_lx: float = 0.0) -> ContrastPolynomial:
    """The polynomial of an Answers' ledger and fabric.

    ambient_lx  even light at the screen from lamps that no repaint changes [lx]
    Source: Monte Carlo weights as products of powers (Subramaniam and Menguc 1991); paths with the same counts are one term.
    """
    facts = answers.facts
    surfaces = len(answers.arrays.surfaces)
    powers, bounced = hit_powers(facts, surfaces)
    keys = powers.astype(np.uint64) @ np.random.default_rng(_SEED).integers(1, 2**63, surfaces, dtype=np.uint64)
    _, which, term = np.unique(keys, return_index=True, return_inverse=True)
    path = np.repeat(np.arange(len(facts.hits)), facts.hits)
    start = path // int(facts.paths[0]) % len(answers.points.right)
    on_board = start < BOARD_POINTS.stop
    shown_white = np.zeros(len(answers.points.right), bool)
    shown_white[BOARD_POINTS] = board_patches()
    levels = levels_of(answers.scene)
    scale = answers.stage.ground.lux_scale(answers.arrays) / len(facts.hits) * len(answers.points.right)
    columns = []
    for c in range(facts.light.shape[0]):
        white, board = (facts.light[c, :, k] * bounced * scale for k in (0, 1))
        plain, other = levels.board_and_complement(white, board)
        both = np.where(shown_white[start], plain, other), np.where(shown_white[start], other, plain)
        columns.append(
            [
                np.bincount(term, part * facts.weight[path, t] * on_board, minlength=len(which))
                for part in both
                for t in range(facts.weight.shape[1])
            ]
        )
    seats = answers.points.seats.shape[1]
    terms = np.moveaxis(np.array(columns), 0, -1)  # (2 T', J, C')
    if facts.weight.shape[1] == 1:
        terms = np.repeat(terms, seats, axis=0)
    channels = answers.reflectance.shape[1]
    weights = np.ones(1) if channels == 1 else np.array(LUMINANCE_WEIGHTS)
    read = answers.seats(np.zeros((1, 25, 1, 1, 2, channels)), whole=False)
    white = luminance(read.direct)[BOARD_POINTS]
    even = read.even_veil(slice(None))
    ambient = read.ambient(slice(None), ambient_lx)[BOARD_POINTS]
    return ContrastPolynomial(
        powers=powers[which].astype(float),
        terms=np.ascontiguousarray(np.moveaxis(terms, 1, 0)),
        channel=weights * answers.reflectance[-1],
        lit=(ambient + white).sum(axis=0),
        dark=(ambient + white * levels.black + even * levels.veil).sum(axis=0),
    )
