#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A sparse BDF in an interpreted scientific stack, for the table in bench/README.md.

Reads the system that `bench_morning --dump FILE` writes: the network of heat five minutes after key on, its
coefficients and flows frozen, so that dy/dt = f0 + J (y - y0). Integrates ten minutes of it by SciPy's BDF with the
sparse Jacobian given, beside the exact answer by the matrix exponential. Ends 77 when SciPy is not there.
"""
import sys
import time

try:
    import numpy
    import scipy.integrate
    import scipy.sparse
    import scipy.sparse.linalg
except ImportError:
    print("SciPy is not installed: skipped")
    sys.exit(77)

SPAN_S = 600.0


def read(path):
    with open(path, encoding="ascii") as text:
        n, count = (int(word) for word in text.readline().split())
        pairs = numpy.array([[float(w) for w in text.readline().split()] for _ in range(n)])
        entries = numpy.array([[float(w) for w in text.readline().split()] for _ in range(count)])
    rows, columns = entries[:, 0].astype(int), entries[:, 1].astype(int)
    return pairs[:, 0], pairs[:, 1], scipy.sparse.csc_matrix((entries[:, 2], (rows, columns)), shape=(n, n))


def main():
    if len(sys.argv) != 2:
        print("usage: bdf_reference.py FILE (from bench_morning --dump FILE)")
        return 2
    y0, f0, jacobian = read(sys.argv[1])
    n = len(y0)
    # The constant slope becomes one more unknown, so that the exponential gives it too.
    whole = scipy.sparse.bmat([[jacobian, scipy.sparse.csc_matrix(f0.reshape(n, 1))], [None, numpy.zeros((1, 1))]])
    start = numpy.zeros(n + 1)
    start[n] = 1.0
    exact = scipy.sparse.linalg.expm_multiply(whole.tocsc() * SPAN_S, start)[:n]
    for tolerance_k in (1e-1, 1e-2, 1e-3, 1e-4):
        began = time.process_time()
        solution = scipy.integrate.solve_ivp(
            lambda _t, z: f0 + jacobian @ z, (0.0, SPAN_S), numpy.zeros(n), method="BDF", jac=jacobian,
            rtol=1e-12, atol=tolerance_k)
        took = time.process_time() - began
        error = numpy.sqrt(numpy.mean((solution.y[:, -1] - exact) ** 2))
        print(f"tolerance {tolerance_k:g} K: {1e3 * took:.1f} ms, {solution.nfev} slopes, {solution.nlu} factorisations, "
              f"rms error {error:.2e} K")
    return 0


sys.exit(main())
