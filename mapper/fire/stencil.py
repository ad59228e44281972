"""The moves of fire over a grid: to 32 neighbours, the cells they pass, and the triangles between them."""

import itertools
import math

import numpy as np

# march.py compiles these in and keeps what it compiled: after a change here, change it too.
# Moves to 32 neighbours, by angle.
MOVES = sorted(
    {
        (sr * a, sc * b)
        for p, q in ((1, 0), (1, 1), (2, 1), (3, 1), (3, 2))
        for a, b in ((p, q), (q, p))
        for sr in (1, -1)
        for sc in (1, -1)
    },
    key=lambda m: math.atan2(*m),
)
N = len(MOVES)
DR = np.array([m[0] for m in MOVES])
DC = np.array([m[1] for m in MOVES])
LONG = np.hypot(DR, DC)


def _passed(dr: int, dc: int) -> list[tuple[int, int, float]]:
    """Cells that a move from (0, 0) passes, both ends among them, and the share of it in each."""
    cuts = {0.0, 1.0}
    for d in (abs(dr), abs(dc)):
        cuts |= {(k + 0.5) / d for k in range(d)}
    at = sorted(cuts)
    found = []
    for a, b in itertools.pairwise(at):
        if b - a > 1e-9:
            mid = (a + b) / 2
            found.append((round(mid * dr), round(mid * dc), b - a))
    return found


PASSED = [_passed(r, c) for r, c in MOVES]
PASS_N = np.array([len(p) for p in PASSED])
PASS_R, PASS_C, PASS_W = (
    np.array([[cell[i] for cell in p] + [0] * (PASS_N.max() - len(p)) for p in PASSED]) for i in range(3)
)
# Between move k and the next: side of the triangle, its height over that side, and where the foot lies from move k.
NEXT = np.roll(np.arange(N), -1)
ER, EC = DR[NEXT] - DR, DC[NEXT] - DC
SIDE = np.hypot(ER, EC)
HEIGHT = np.abs(DR * EC - DC * ER) / SIDE
FOOT = (DR * ER + DC * EC) / SIDE
# The angle of move k, clockwise from east as columns and rows count, and how far round the next move lies.
ANGLE = np.arctan2(DR, DC)
TURN = (ANGLE[NEXT] - ANGLE) % (2 * np.pi)
