"""The section of a study file on the steady flow."""

from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator

from borestudy.study import quantities
from borestudy.study.errors import KeyedError
from borestudy.study.section import Section, setting
from borestudy.units import split_list


def _as_list(value: Any) -> Any:
    return split_list(value) if isinstance(value, str) else value


class Transition(Section):
    """Where the best estimate of the flow turns turbulent."""

    from_: Literal["rule", "rim plane"] = setting(
        "rule: behind a square edge or the throat's end, at a distance by the throat's Reynolds "
        "number; rim plane: everywhere from a throat Reynolds number of 2500 on, by the rule below",
        "rule",
        default="rule",
        alias="from",
    )
    distance_factor: float = setting(
        "a number from 0.1 to 10: factor of the rule's distances",
        1.0,
        default=1.0,
        ge=0.1,
        le=10.0,
    )
    behind_edge: float = setting(
        "a number from 0.1 to 5: the rule's distance behind a square edge, in throat diameters",
        0.6,
        default=0.6,
        ge=0.1,
        le=5.0,
    )

    def settings(self) -> dict[str, Any]:
        """The values under the names of the model's options."""
        return {"start": self.from_} | self.model_dump(exclude={"from_"})


class Flow(Section):
    """Steady flow at several rates."""

    rates: Annotated[list[quantities.FlowRate], BeforeValidator(_as_list)] = setting(
        "up to 100 flow rates in ascending order, as a list or with one unit at the end",
        "0.05, 0.1, 0.2, 0.3 L/s",
        max_length=100,
        default_factory=lambda: "0.05, 0.1, 0.2, 0.3 L/s",
    )
    inlet: Literal["uniform", "developed"] = setting(
        "velocity profile at the rim plane", "uniform", default="uniform"
    )
    closure: Literal["estimate", "laminar", "turbulent", "both"] = setting(
        "what is solved: the best estimate alone, turbulent from where flow.transition says; or "
        "beside it the laminar solution, the turbulent one from a throat Reynolds number of 2500 "
        "on, or both, as extremes",
        "estimate",
        default="estimate",
    )
    transition: Transition = setting("a mapping", default_factory=Transition)
    pipe_behind: quantities.PipeLength | None = setting(
        "a length: with it the flow goes on through a straight pipe, as wide as the "
        "shank end, in which pressure is recovered; pressure drops are then to the pipe's end",
        "90 mm",
        default=None,
    )
    tolerance: quantities.Tolerance = setting(
        "numerical uncertainty wanted of the pressure drop; a rate that has more is "
        "solved on a finer mesh than mesh.resolution says, and says so if that is not enough",
        "1 %",
        default="1 %",
    )
    reference_rate: quantities.FlowRate | None = setting(
        "the rate that comparison.csv compares at; one of flow.rates, or else the lowest",
        "0.05 L/s",
        default=None,
    )
    playing_rate: quantities.FlowRate | None = setting(
        "the rate that the report's answer is given at; one of flow.rates, or else the reference "
        "rate if that is not the lowest, or else the middle one",
        "0.2 L/s",
        default=None,
    )

    def model_post_init(self, context: Any) -> None:
        """Refuse rates that do not ascend, and settle which are compared and answered at."""
        example = "for example 0.05, 0.1, 0.2, 0.3 L/s"
        if not self.rates:
            raise KeyedError("rates", f"found no rate; allowed is at least one, {example}")
        for index, (before, after) in enumerate(pairwise(self.rates), start=1):
            if after.value <= before.value:
                raise KeyedError(
                    f"rates[{index}]",
                    f"found {after!r} after {before!r}; allowed are rates in ascending order, each "
                    f"once, {example}",
                )
        reference = self.reference_rate or self.rates[0]
        louder = reference.value != self.rates[0].value
        usual = reference if louder else self.rates[len(self.rates) // 2]
        settled = {"reference_rate": reference, "playing_rate": self.playing_rate or usual}
        for key, chosen in settled.items():
            if chosen.value not in [rate.value for rate in self.rates]:
                raise KeyedError(
                    key,
                    f"found {chosen!r}; allowed is one of flow.rates ({', '.join(self.rates)}), "
                    f"for example {self.rates[0]}",
                )
            # Past validate_assignment, which would come here again.
            self.__dict__[key] = chosen
