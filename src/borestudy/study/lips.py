"""The section of a study file on the lips that are to start a tone."""

from typing import Annotated, Any

from pydantic import BeforeValidator

from borestudy.playing.lips import RANGES, Lips, lips_set
from borestudy.study.errors import KeyedError
from borestudy.study.quantities import LipsMass, LipsOpening, LipsWidth
from borestudy.study.section import Section, setting
from borestudy.study.texts import checked_line

#: What a source is where a study gives none.
INVENTED = "invented"


def _source(text: Any) -> Any:
    return checked_line(text, "is a text of up to 300 characters", "measured by ourselves")


def _counted(value: Any) -> Any:
    """YAML's yes and no are no numbers, though Python takes them for 1 and 0."""
    return str(value) if isinstance(value, bool) else value


Number = Annotated[float, BeforeValidator(_counted)]
Whole = Annotated[int, BeforeValidator(_counted)]
Source = Annotated[str, BeforeValidator(_source)]


def _source_of(what: str) -> Any:
    return setting(
        f"where {what} is from, in up to 300 characters",
        "measured by ourselves",
        default=INVENTED,
        min_length=1,
        max_length=300,
    )


class LipsSources(Section):
    """Where the properties of the study's own lips are from."""

    mass_per_area: Source = _source_of("the mass per area")
    quality_factor: Source = _source_of("the quality factor")
    width: Source = _source_of("the width")
    opening: Source = _source_of("the opening")


class LipsSection(Section):
    """Lips as a valve of one mass; their resonance frequency goes with the note."""

    mass_per_area: LipsMass = setting(
        "a mass per area from 0.1 to 100 kg/m²: over the area that the pressure works on",
        "2 kg/m²",
        default="2 kg/m²",
    )
    quality_factor: Number = setting(
        "a number from 0.5 to 50: how slowly the lips' own vibration dies away",
        7,
        default=7.0,
        ge=0.5,
        le=50.0,
    )
    width: LipsWidth = setting(
        "a length from 1 mm to 40 mm: of the opening between the lips", "8 mm", default="8 mm"
    )
    opening: LipsOpening = setting(
        "a length from 0.01 mm to 5 mm: height of the opening without pressure",
        "0.5 mm",
        default="0.5 mm",
    )
    sources: LipsSources = setting("a mapping", default_factory=LipsSources)
    set_: Whole = setting(
        "a whole number from 10 to 200: other lips, spread over what is published, that every "
        "comparison is tried with",
        50,
        default=50,
        ge=10,
        le=200,
        alias="set",
    )
    register_: Whole = setting(
        "a whole number from 1 to 12: register that the tone is computed in, by the number of its "
        "impedance peak",
        4,
        default=4,
        ge=1,
        le=12,
        alias="register",
    )
    soft: Number = setting(
        "a number from 1.01 to 5: mouth pressure of the soft tone, over the threshold",
        1.2,
        default=1.2,
        ge=1.01,
        le=5.0,
    )
    loud: Number = setting(
        "a number from 1.01 to 10, above lips.soft: mouth pressure of the loud tone, over the "
        "threshold",
        2.5,
        default=2.5,
        ge=1.01,
        le=10.0,
    )

    def model_post_init(self, context: Any) -> None:
        """Refuse a loud tone that is no louder than the soft one."""
        if self.loud <= self.soft:
            raise KeyedError(
                "loud",
                f"found {self.loud:g}; allowed is a number above lips.soft ({self.soft:g}), for "
                f"example {2 * self.soft:g}",
            )

    @property
    def register(self) -> int:
        """Register that the tone is computed in."""
        return self.register_

    def own(self) -> Lips:
        """The study's own lips."""
        return Lips(
            mass_per_area=self.mass_per_area.value,
            quality_factor=self.quality_factor,
            width=self.width.value,
            opening_at_rest=self.opening.value,
        )

    def others(self) -> tuple[Lips, ...]:
        """The set of lips that every comparison is tried with, the same in every study."""
        return lips_set(self.set_)

    def stated(self) -> list[dict[str, str]]:
        """Each property of the lips in words: the study's own and the set's, with their sources."""
        own = {
            "mass_per_area": ("mass per area", self.mass_per_area, self.sources.mass_per_area),
            "quality_factor": ("Q", f"{self.quality_factor:g}", self.sources.quality_factor),
            "width": ("width of the opening", self.width, self.sources.width),
            "opening_at_rest": ("opening at rest", self.opening, self.sources.opening),
        }
        return [
            {
                "property": own[one.name][0],
                "own_lips": str(own[one.name][1]),
                "from": own[one.name][2],
                "set_of_lips": str(one),
                "its_source": one.source,
            }
            for one in RANGES
        ]
