"""Contrast: WCAG 2.2, relative luminance. Colour sight: Machado, Oliveira & Fernandes 2009, severity 1."""

import numpy as np
import pytest

from mapper.draw.palette import DARK, LIGHT, PAPER

MACHADO = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
}


def _linear(colour):
    c = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def _contrast(a, b):
    y = sorted((_linear(c) @ [0.2126, 0.7152, 0.0722] for c in (a, b)), reverse=True)
    return (y[0] + 0.05) / (y[1] + 0.05)


def _lab(linear):
    xyz = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
                    [0.0193339, 0.1191920, 0.9503041]]) @ linear / [0.95047, 1.0, 1.08883]  # fmt: skip
    f = np.where(xyz > 216 / 24389, np.cbrt(np.maximum(xyz, 0)), (24389 / 27 * xyz + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_words_and_lines_stand_out(palette):
    for ink in ("ink", "soft", "row", "row_light", "row_heavy", "act", "focus"):
        assert _contrast(getattr(palette, ink), palette.ground) >= 4.0, ink
    for mark in ("burnt", "track", "fire", "water", "out", "field"):
        assert _contrast(getattr(palette, mark), palette.ground) >= 3.0, mark
    assert all(_contrast(c, palette.stubble) >= 3.0 for c in palette.points)


@pytest.mark.parametrize("sight", [None, "protan", "deutan"])
def test_paper_inks_stay_apart(sight):
    inks = [_linear(getattr(PAPER, n)) for n in ("fire", "water", "out", "care")]
    if sight:
        inks = [np.clip(np.array(MACHADO[sight]) @ c, 0, 1) for c in inks]
    labs = [_lab(c) for c in inks]
    assert min(np.hypot.reduce(a - b) for k, a in enumerate(labs) for b in labs[k + 1 :]) > 30
