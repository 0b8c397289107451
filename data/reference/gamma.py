# Makes gamma.csv: digamma, trigamma and the inverse of trigamma with mpmath at 60 digits; 40 digits are written.
#   python3 gamma.py > gamma.csv
# Columns: function, argument (a double, exactly as read), value.
import mpmath as mp
mp.mp.dps = 60
print("# made by gamma.py, mpmath " + mp.__version__ + "; columns stand there")
arguments = [1e-6, 1e-3, 0.1, 0.25, 0.5, 0.75, 1.0, 1.25, 1.4616, 1.5, 2.0, 2.5, 3.7, 5.5, 9.99, 10.01, 14.5, 33.0, 120.5,
             1e3, 1e5, 1e8, 1e12]
for x in arguments:
    print("digamma", repr(x), mp.nstr(mp.digamma(x), 40), sep=",")
for x in arguments:
    print("trigamma", repr(x), mp.nstr(mp.polygamma(1, mp.mpf(x)), 40), sep=",")
for y in [1e-15, 1e-12, 1e-9, 1e-6, 1e-4, 1e-3, 0.01, 0.05, 0.1, 0.3, 0.7, 0.99, 1.0, 1.01, 1.6449, 2.0, 4.9, 10.0, 100.0, 1e4,
          1e7, 1e10, 1e15]:
    # 1/trigamma is nearly straight, so the secant method is at home on it.
    low = 1/mp.sqrt(mp.mpf(y)) if y > 1 else 1/mp.mpf(y)
    x = mp.findroot(lambda u: 1/mp.polygamma(1, u) - 1/mp.mpf(y), (low, low*mp.mpf("1.01") + mp.mpf("1e-12")), tol=1e-80,
                    maxsteps=200, verify=False)
    assert abs(mp.polygamma(1, x)/mp.mpf(y) - 1) < mp.mpf("1e-45")
    print("inverse_trigamma", repr(y), mp.nstr(x, 40), sep=",")
