"""Free diameter of a dished skin, each rule by numbers and not by a closed form.

Quadrature and root finding only: the meridian is built as a curve and its length or its surface is summed up.
"""

from math import atan2, cos, pi, sin, sqrt

from scipy.integrate import quad
from scipy.optimize import brentq

_FINE = {"epsabs": 1e-13, "epsrel": 1e-13, "limit": 400}


def _circle_through(a, h):
    """Centre height and radius of the circle through the rim (a, 0) and the bottom (0, -h)."""
    def miss(up):
        return sqrt(a * a + up * up) - (up + h)
    top = 1.0
    while miss(top) > 0:
        top *= 2
    low = -h
    centre = brentq(miss, low, top, xtol=1e-15, rtol=1e-15)
    return centre, centre + h


def _meridian(a, h, weight):
    """The sum of weight(x) ds along the circle from the bottom to the rim, by its angle."""
    centre, radius = _circle_through(a, h)
    # x = radius sin u; the rim is where the height comes to nothing.
    def height(u):
        return centre - radius * cos(u)
    rim = brentq(height, 0.0, pi / 2 if centre >= 0 else pi, xtol=1e-15) if h < a else pi / 2
    return quad(lambda u: weight(radius * sin(u)) * radius, 0.0, rim, **_FINE)[0]


def by_arc(d, h):
    """Twice the length of the arc from the bottom to the rim, as the sum of root(1 + y'^2) dx."""
    a = d / 2
    centre, radius = _circle_through(a, h)
    if h >= 0.98 * a:
        return 2 * _meridian(a, h, lambda _x: 1.0)
    def slope(x):
        return x / sqrt(radius * radius - x * x)
    return 2 * quad(lambda x: sqrt(1 + slope(x) ** 2), 0.0, a, **_FINE)[0]


def by_area(d, h):
    """Diameter of the flat disk with the surface of the dish, the surface by quadrature."""
    surface = _meridian(d / 2, h, lambda x: 2 * pi * x)
    return 2 * sqrt(surface / pi)


def by_ball(d, h, nose):
    """Twice the way from the rim, straight to where it touches the nose, then round the nose to the bottom."""
    a = d / 2
    def touch(u):
        return nose * sin(u), nose - h - nose * cos(u)
    def square(u):
        x, y = touch(u)
        return (a - x) * sin(u) - (0.0 - y) * cos(u)
    # Where the skin leaves the nose lies between its lowest point and the one that faces the rim.
    facing = atan2(a, nose - h)
    u = brentq(square, 0.0, facing, xtol=1e-15, rtol=1e-15) if square(facing) > 1e-12 * a else facing
    x, y = touch(u)
    straight = sqrt((a - x) ** 2 + y * y)
    return 2 * (straight + quad(lambda _v: nose, 0.0, u, **_FINE)[0])


def by_lifter(d, h, lifter):
    """The flat of the lifter and a straight skirt on either side, from its edge up to the rim."""
    edge, rim = complex(lifter / 2, -h), complex(d / 2, 0.0)
    return lifter + 2 * abs(rim - edge)


def free_diameter(rule, d, h, nose=None, lifter=None):
    """The free diameter by the name of its rule."""
    if rule == "ball":
        return by_ball(d, h, nose)
    if rule == "lifter":
        return by_lifter(d, h, lifter)
    return {"arc": by_arc, "area": by_area}[rule](d, h)
