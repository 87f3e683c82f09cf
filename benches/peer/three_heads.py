"""The sweep of three heads in plain numerical Python: one root a case, and all cases at once in arrays.

The laws are those of docs/method.md: Darcy-Weisbach with the exact Colebrook-White factor, laminar to Re 2000, a straight
line in Re to 4000; a tap by two readings; valves by a loss coefficient; heads by a discharge coefficient. SI throughout.
"""

import math

import numpy as np
from scipy import optimize

FT, INCH, PSI, GPM = 0.3048, 0.0254, 6894.757293168361, 3.785411784e-3 / 60.0
DENSITY, VISCOSITY, ROUGHNESS = 999.1, 1.138e-3, 1.5e-6
STATIC, TAP = 58.0 * PSI, (58.0 - 44.0) * PSI / (6.0 * GPM) ** 2
LENGTH = np.array([40.0, 60.0, 80.0]) * FT
DIAMETER = np.array([0.5, 0.625, 0.625]) * INCH
NOZZLE = np.array([0.125, 0.15, 0.11]) * INCH
HEAD = DENSITY / (2.0 * (0.96 * math.pi / 4.0 * NOZZLE**2) ** 2)
VALVE_K = 2.3
LN10 = math.log(10.0)


def minor(k, diameter):
    """R in dp = R q|q| of a loss coefficient."""
    return k * DENSITY / (2.0 * (math.pi / 4.0 * diameter**2) ** 2)


# One case after another: scalars, and a root finder for general systems.


def factor(reynolds, rough):
    """The friction factor for a Reynolds number above zero."""
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    re = max(reynolds, 4000.0)
    a, b = rough / 3.7, 2.51 / re
    x = -1.8 * math.log10((rough / 3.7) ** 1.11 + 6.9 / re)
    for _ in range(20):
        arg = a + b * x
        step = (x + 2.0 * math.log10(arg)) / (1.0 + 2.0 * b / (LN10 * arg))
        x -= step
        if abs(step) < 1e-15 * x:
            break
    turbulent = 1.0 / (x * x)
    if reynolds >= 4000.0:
        return turbulent
    return 0.032 + (turbulent - 0.032) * (reynolds - 2000.0) / 2000.0


def hose(q, length, diameter):
    """Pressure loss of a hose, with the sign of the flow."""
    if q == 0.0:
        return 0.0
    speed = abs(q) / (math.pi / 4.0 * diameter * diameter)
    f = factor(DENSITY * speed * diameter / VISCOSITY, ROUGHNESS / diameter)
    return math.copysign(f * length / diameter * DENSITY * speed * speed / 2.0, q)


def one_by_one(lengths, diameters):
    """Pressure and flow of each head, case by case, each solved by `scipy.optimize.root` from the answer before it."""
    answers = np.empty((len(lengths), 6))
    guess = np.full(3, 2.0 * GPM)
    for case, (length, diameter) in enumerate(zip(lengths.tolist(), diameters.tolist())):
        valve = minor(VALVE_K, diameter)

        def residual(scaled):
            flows = [GPM * value for value in scaled.tolist()]
            total = sum(flows)
            manifold = STATIC - TAP * total * abs(total) - hose(total, length, diameter)
            return [
                (manifold - hose(q, LENGTH[i], DIAMETER[i]) - (valve + HEAD[i]) * q * abs(q)) / PSI for i, q in enumerate(flows)
            ]

        root = optimize.root(residual, guess / GPM, tol=1e-13)
        if not root.success and np.abs(root.fun).max() > 1e-9:
            raise RuntimeError(f"case {case}: {root.message}")
        guess = GPM * root.x
        answers[case, 0::2], answers[case, 1::2] = HEAD * guess**2, guess
    return answers


# All cases at once: Newton's method in arrays. The Jacobian is a diagonal and a matrix of equal rows, so its inverse is
# known in closed form (Sherman and Morrison), and the inner roots of Colebrook's equation are kept from step to step.


class Pipe:
    """Hoses of one place in all cases."""

    def __init__(self, length, diameter):
        area = math.pi / 4.0 * diameter**2
        self.per_flow = DENSITY * diameter / (VISCOSITY * area)
        self.scale = length / diameter * DENSITY / (2.0 * area**2)
        self.a = ROUGHNESS / diameter / 3.7
        self.x = np.full_like(np.broadcast_to(self.a, np.broadcast_shapes(np.shape(length), np.shape(diameter))), 6.0)
        self.fresh = True

    def loss(self, q):
        """Loss and its slope, for flows above zero."""
        reynolds = self.per_flow * q
        re = np.maximum(reynolds, 4000.0)
        b = 2.51 / re
        for _ in range(3 if self.fresh else 2):
            arg = self.a + b * self.x
            self.x -= (self.x + (2.0 / LN10) * np.log(arg)) / (1.0 + (2.0 / LN10) * b / arg)
        self.fresh = False
        x = self.x
        turbulent = 1.0 / (x * x)
        arg = self.a + b * x
        # x' = (2/ln10) (b x / Re) / arg / (1 + (2/ln10) b / arg), and f' = -2 x' / x^3.
        steep = (2.0 / LN10) * b / arg
        slope = -2.0 * turbulent * steep / (1.0 + steep) / re
        if reynolds.min() < 4000.0:
            share = (turbulent - 0.032) / 2000.0
            between = reynolds < 4000.0
            laminar = reynolds <= 2000.0
            safe = np.maximum(reynolds, 1e-300)
            turbulent = np.where(laminar, 64.0 / safe, np.where(between, 0.032 + share * (reynolds - 2000.0), turbulent))
            slope = np.where(laminar, -64.0 / safe**2, np.where(between, share, slope))
        square = self.scale * q * q
        return turbulent * square, 2.0 * self.scale * q * turbulent + square * slope * self.per_flow


def all_at_once(lengths, diameters, block=4096):
    """Pressure and flow of each head, all cases of a block together."""
    answers = np.empty((len(lengths), 6))
    for first in range(0, len(lengths), block):
        part = slice(first, first + block)
        solve_block(lengths[part], diameters[part], answers[part])
    return answers


def solve_block(lengths, diameters, out):
    feed = Pipe(lengths, diameters)
    branches = [Pipe(LENGTH[i], np.full_like(diameters, DIAMETER[i])) for i in range(3)]
    valve = minor(VALVE_K, diameters)
    resistance = [valve + HEAD[i] for i in range(3)]
    q = [np.full_like(lengths, 2.0 * GPM) for _ in range(3)]
    for _ in range(30):
        total = q[0] + q[1] + q[2]
        loss, slope = feed.loss(total)
        manifold = STATIC - TAP * total * total - loss
        common = 2.0 * TAP * total + slope
        residuals, inverses = [], []
        for i in range(3):
            loss, slope = branches[i].loss(q[i])
            residuals.append(manifold - loss - resistance[i] * q[i] * q[i])
            inverses.append(1.0 / (slope + 2.0 * resistance[i] * q[i]))
        # (D + c 1 1^T) step = residual
        plain = [r * d for r, d in zip(residuals, inverses)]
        pull = common * (plain[0] + plain[1] + plain[2]) / (1.0 + common * (inverses[0] + inverses[1] + inverses[2]))
        largest = 0.0
        for i in range(3):
            step = plain[i] - pull * inverses[i]
            largest = max(largest, float(np.max(np.abs(step / q[i]))))
            q[i] = np.maximum(q[i] + step, 0.05 * q[i])
        if largest < 1e-9:
            break
    else:
        raise RuntimeError("no steady state after 30 steps")
    for i in range(3):
        out[:, 2 * i] = HEAD[i] * q[i] * q[i]
        out[:, 2 * i + 1] = q[i]
