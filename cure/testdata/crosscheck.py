"""Independent numbers for the full tests, by SciPy's ODE solvers, as JSON.

It shares nothing with the Go code but the published table and the formulas.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

HOUR = 3600.0
R = 8.314462618

# Two-part urea-formaldehyde, construction manual of a wooden light aircraft
# (2002): hours of pressure at a glue-line temperature in °C.
AT_C = np.array([10.0, 15.0, 20.0, 25.0, 30.0])
HOURS = np.array([np.sqrt(5.0 * 6.0), 2.75, 1.75, 1.25, 1.0])
STRAINED = 2.0


def press_time(c):
    """Seconds at c: ln(time) straight in 1/T, 60 kJ/mol outside."""
    x = 1.0 / (c + 273.15)
    xs = 1.0 / (AT_C + 273.15)
    if c < AT_C[0]:
        ln = np.log(HOURS[0]) + 60e3 / R * (x - xs[0])
    elif c > AT_C[-1]:
        ln = np.log(HOURS[-1]) + 60e3 / R * (x - xs[-1])
    else:
        ln = np.interp(x, xs[::-1], np.log(HOURS)[::-1])
    return STRAINED * HOUR * np.exp(ln)


def room(t):
    """A made-up night: around 12 °C, below 10 °C for a while."""
    return 12.0 - 4.0 * np.sin(2 * np.pi * t / (24 * HOUR)) + 0.7 * np.sin(2 * np.pi * t / (1.7 * HOUR))


def rate(t, _):
    c = room(t)
    return [0.0 if c < 10.0 else 1.0 / press_time(c)]


def progress():
    hours = [1, 3, 6, 9, 12, 15]
    s = solve_ivp(rate, (0, 40 * HOUR), [0.0], rtol=1e-10, atol=1e-12, max_step=20.0, dense_output=True)
    end = brentq(lambda t: s.sol(t)[0] - 1.0, 0, 40 * HOUR)
    return {"hours": hours, "share": [float(s.sol(h * HOUR)[0]) for h in hours], "reached_s": end}


def lag():
    """A first-order lag of two hours behind that room, from 5 °C."""
    tau = 2 * HOUR
    hours = [0.5, 2, 6, 12, 24]
    s = solve_ivp(lambda t, c: [(room(t) - c[0]) / tau], (0, 24 * HOUR), [5.0], rtol=1e-10, atol=1e-10,
                  max_step=60.0, t_eval=[h * HOUR for h in hours])
    return {"hours": hours, "c": [float(c) for c in s.y[0]]}


def slab():
    """11 mm of maple between 60 mm of extruded foam, a step of the air of 1 K,
    by the method of lines and a stiff solver; nodes on cell boundaries."""
    def layer(thickness, k, c, n):
        return [thickness / n] * n, [k] * n, [c] * n

    foam = layer(0.060, 0.032, 32 * 1450.0, 60)
    deck = layer(0.011, 0.171647, 705.6 * 1620.192, 44)
    dx = np.array(foam[0] + deck[0] + foam[0])
    k = np.array(foam[1] + deck[1] + foam[1])
    c = np.array(foam[2] + deck[2] + foam[2])
    store = np.zeros(len(dx) + 1)
    store[:-1] += c * dx / 2
    store[1:] += c * dx / 2

    def flow(_, u):
        q = np.zeros(len(u))
        f = k / dx * (u[1:] - u[:-1])
        q[:-1] += f
        q[1:] -= f
        q[0] += 8.0 * (1.0 - u[0])
        q[-1] += 8.0 * (1.0 - u[-1])
        return q / store

    bottom = 60 + 44
    shares = [0.5, float(1 - np.exp(-1)), 0.9, 0.95]
    s = solve_ivp(flow, (0, 20 * HOUR), np.zeros(len(store)), method="BDF", rtol=1e-7, atol=1e-9, dense_output=True)
    return {"share": shares, "rise_s": [brentq(lambda t, w=w: s.sol(t)[bottom] - w, 1, 20 * HOUR) for w in shares]}


if __name__ == "__main__":
    json.dump({"progress": progress(), "lag": lag(), "slab": slab()}[sys.argv[1]], sys.stdout)
