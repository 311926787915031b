r"""Pressures and velocities measured in the open nozzle benchmark, and its throat friction.

A pipe of 12 mm, a square edge (z = 0), a throat of 4 mm by 40 mm, a cone of 20° and the pipe.
Pressures are those of taps in the wall, in units of the throat's dynamic pressure q.

Between two taps that are both far downstream of the edge and in the throat, the pressure falls by
friction alone, so that over a length :math:`L` of a throat of diameter :math:`D`

.. math:: f = \frac{\Delta p}{q} \frac{D}{L}

is the friction factor there; over that of smooth turbulent pipes, :math:`0.3164\,Re^{-1/4}`
(Blasius 1913), it is the friction after a square edge relative to that of a developed flow.
"""

from fluids.friction import Blasius

SOURCE = (
    "Hariharan et al. 2011, J. Biomech. Eng. 133:041002; Stewart et al. 2012, 2013; data "
    "doi:10.17917/C78G69, a work of the US government (Food and Drug Administration) in the public "
    "domain"
)
#: Diameter of the throat [mm].
THROAT_DIAMETER = 4.0
#: Pressure at the first tap less that at the second [q] by throat Reynolds number, taps at z [mm]:
#: mean of the laboratories' sets without the outlying one, least, greatest.
TAP_DROPS: dict[float, dict[tuple[float, float], tuple[float, float, float]]] = {
    2000.0: {
        (-32.0, 2.03): (2.093, 1.97, 2.18),
        (-32.0, 10.0): (1.685, 1.58, 1.74),
        (-32.0, 40.0): (2.129, 2.02, 2.19),
        (10.0, 40.0): (0.444, 0.438, 0.457),
        (40.0, 90.0): (0.01, -0.07, 0.11),
        (-32.0, 90.0): (2.14, 1.95, 2.29),
    },
    3500.0: {
        (-32.0, 2.03): (2.375, 2.33, 2.44),
        (-32.0, 10.0): (1.603, 1.58, 1.63),
        (-32.0, 40.0): (2.024, 1.97, 2.07),
        (10.0, 40.0): (0.421, 0.39, 0.44),
        (40.0, 90.0): (-0.407, -0.47, -0.30),
        (-32.0, 90.0): (1.618, 1.58, 1.67),
    },
    5000.0: {
        (-32.0, 2.03): (2.473, 2.45, 2.51),
        (-32.0, 10.0): (1.553, 1.54, 1.57),
        (-32.0, 40.0): (1.967, 1.93, 2.01),
        (10.0, 40.0): (0.414, 0.395, 0.44),
        (40.0, 90.0): (-0.557, -0.60, -0.50),
        (-32.0, 90.0): (1.410, 1.38, 1.44),
    },
}
#: Taps between which the throat's friction is read, 2.5 and 10 diameters from the edge; the
#: Reynolds number at which the flow there was seen to be turbulent.
FRICTION_TAPS = (10.0, 40.0)
FRICTION_REYNOLDS = 5000.0


#: Mean, least and greatest of the laboratories' sets.
Triple = tuple[float, float, float]
JET_SOURCE = (
    "Hariharan et al. 2011, J. Biomech. Eng. 133:041002; Stewart et al. 2012, doi:10.1007/"
    "s13239-012-0087-5; sets as in public repositories of the data doi:10.17917/C78G69"
)
#: The nozzle the other way round, cone first: velocity on the axis over the throat's mean, by
#: throat Reynolds number and distance from the sudden expansion [throat diameters].  At 500 one
#: laboratory's set, which has no range; at 2000 and 15 diameters without a set that repeats one of
#: another Reynolds number.
JET_VELOCITY: dict[float, dict[float, Triple]] = {
    500.0: {
        place: (speed, speed, speed)
        for place, speed in (
            (-5.0, 1.657), (-2.0, 1.794), (0.0, 1.810), (2.0, 1.765), (4.0, 1.723), (6.0, 1.635),
            (8.0, 1.579), (10.0, 1.538), (12.0, 1.518), (15.0, 1.417), (20.0, 1.068),
        )
    },
    2000.0: {8.0: (1.460, 1.403, 1.514), 15.0: (0.911, 0.474, 1.150)},
    3500.0: {
        2.0: (1.370, 1.339, 1.404),
        4.0: (1.360, 1.321, 1.401),
        6.0: (1.354, 1.324, 1.380),
        8.0: (1.209, 1.117, 1.260),
        15.0: (0.206, 0.184, 0.216),
        20.0: (0.131, 0.130, 0.131),
    },
}  # fmt: skip


def friction_over_blasius() -> tuple[float, float, float]:
    """Throat friction after the square edge over Blasius': mean, least and greatest set."""
    first, last = FRICTION_TAPS
    slenderness = (last - first) / THROAT_DIAMETER
    smooth = float(Blasius(FRICTION_REYNOLDS)) * slenderness
    mean, least, greatest = TAP_DROPS[FRICTION_REYNOLDS][FRICTION_TAPS]
    return mean / smooth, least / smooth, greatest / smooth
