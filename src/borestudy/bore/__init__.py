"""The bore: its generatrix r(x) as exact segments with named parts, and its volumes."""

from borestudy.bore.bore import Bore, BoreDescription, cone, cylinder, describe
from borestudy.bore.dimensions import bore_from_dimensions
from borestudy.bore.entry import Entry
from borestudy.bore.errors import BoreError
from borestudy.bore.measured.errors import StationErrors
from borestudy.bore.measured.measurement import Measurement, Reading, measure
from borestudy.bore.passage import Passage, passage
from borestudy.bore.segment import Segment
from borestudy.bore.stations import bore_from_stations, dimensions_of_stations, measured_bore
from borestudy.bore.tolerances import ALL_DIAMETERS, Tolerance, tolerances_of
from borestudy.bore.variation import IN_SI, Dimension, places_on_wall, variation

__all__ = [
    "ALL_DIAMETERS",
    "IN_SI",
    "Bore",
    "BoreDescription",
    "BoreError",
    "Dimension",
    "Entry",
    "Measurement",
    "Passage",
    "Reading",
    "Segment",
    "StationErrors",
    "Tolerance",
    "bore_from_dimensions",
    "bore_from_stations",
    "cone",
    "cylinder",
    "describe",
    "dimensions_of_stations",
    "measure",
    "measured_bore",
    "passage",
    "places_on_wall",
    "tolerances_of",
    "variation",
]
