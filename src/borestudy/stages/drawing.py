"""A case's bore as a drawing for the workshop."""

from collections.abc import Iterator

from borestudy.bore import describe, tolerances_of
from borestudy.drills import nearest_drill
from borestudy.study import Case, Study
from borestudy.study.models import MeasuredBore
from borestudy.workshop.sheet import Sheet, Title, Toleranced, draw


def drawn_case(study: Study, case: Case) -> Sheet:
    """The drawing of a case's bore, each dimension with the study's tolerance."""
    bore = case.build_bore()
    facts = describe(bore)
    title = Title(
        study=study.name,
        bore=case.label,
        entry=str(bore.entry) if bore.entry else facts.entry or "as measured",
        tolerance=f"± {study.tolerance} where no other is given",
    )
    return draw(bore, list(_toleranced(study, case)), title)


def _toleranced(study: Study, case: Case) -> Iterator[Toleranced]:
    """Dimensions as the drawing lists them, those of a measured bore as read off it."""
    tolerance = study.tolerance.value
    dimensions = case.dimensions()
    if not isinstance(case.bore, MeasuredBore):
        errors = tolerances_of(dimensions, tolerance, study.stated_tolerances())
        for one, error in zip(dimensions, errors, strict=True):
            per = 1e3 if one.unit == "mm" else 1.0
            remark = _drill(one.value) if one.key == "throat.diameter" else ""
            yield Toleranced(one.label, per * one.value, per * error.limit, one.unit, remark)
        return
    stated = study.stated_tolerances()
    facts, bore = describe(case.build_bore()), case.build_bore()
    length = 1e3 * stated.get("length", tolerance)
    diameter = 1e3 * stated.get("diameters", tolerance)
    yield Toleranced("overall length", facts.length_mm, length)
    yield Toleranced("rim diameter", facts.rim_diameter_mm, diameter)
    yield Toleranced("cup depth", 1e3 * bore.throat_start, length)
    drill = _drill(2 * bore.throat_radius)
    yield Toleranced("throat diameter", facts.throat_diameter_mm, diameter, remark=drill)
    yield Toleranced("throat length", facts.throat_length_mm, length)
    yield Toleranced("backbore end diameter", facts.end_diameter_mm, diameter)


def _drill(diameter: float) -> str:
    """The drill nearest to a diameter [m], with its own in inches."""
    drill = nearest_drill(diameter)
    return f"nearest {drill[0]} ({drill[1] / 25.4e-3:.4f} in)" if drill else ""
