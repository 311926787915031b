"""Seconds that each job of a study takes, as they were recorded before it is run."""

#: Seconds of a job or of a case's step by mesh resolution: without any flow rate, more for each.
#: Steps are without the start of their job, which is `IMPORTS`.
#: Those of steps on medium meshes are means of the demonstration's cases, those on coarse ones of
#: fifty bores at one soft rate.  Of fine meshes only the best estimate of the flow is recorded, in
#: one bore; the others are estimates, as are the extremes of the flow, and wishes and claims on
#: other than medium meshes.
SECONDS: dict[str, dict[str, tuple[float, float]]] = {
    "resolve": {"medium": (0.6, 0.0)},
    "air": {"medium": (2.5, 0.0)},
    "mesh": {"coarse": (0.8, 0.0), "medium": (0.8, 0.0), "fine": (2.2, 0.0)},
    "two_port": {"coarse": (0.4, 0.0), "medium": (0.5, 0.0), "fine": (3.2, 0.0)},
    "resonance": {"coarse": (0.4, 0.0), "medium": (0.4, 0.0)},
    "flow-estimate": {"coarse": (0.2, 2.0), "medium": (0.7, 2.7), "fine": (2.2, 13.0)},
    "flow-laminar": {"coarse": (0.2, 1.4), "medium": (0.7, 1.9), "fine": (2.2, 8.0)},
    "flow-turbulent": {"coarse": (0.2, 3.0), "medium": (0.7, 4.6), "fine": (2.2, 18.0)},
    "stream": {"coarse": (0.4, 0.0), "medium": (0.7, 0.05)},
    # With an air column behind the shank, on coarse meshes; they hardly go by the mesh.
    "loads": {"medium": (1.4, 0.0)},
    "onset": {"medium": (2.5, 0.0)},
    "tone": {"medium": (6.5, 0.0)},
    "verify_acoustics": {"coarse": (1.8, 0.0), "medium": (3.6, 0.0), "fine": (9.0, 0.0)},
    "verify_flow": {"coarse": (13.5, 0.0), "medium": (24.0, 0.0), "fine": (81.0, 0.0)},
    "verify_playing": {"coarse": (4.3, 0.0), "medium": (4.6, 0.0), "fine": (4.6, 0.0)},
    "tolerances": {"medium": (3.3, 0.0)},
    "wish": {"coarse": (5.0, 9.0), "medium": (5.0, 20.0), "fine": (10.0, 80.0)},
    "claims": {"coarse": (5.0, 0.0), "medium": (6.0, 0.0), "fine": (8.0, 0.0)},
    "collate": {"medium": (1.9, 0.0)},
    "figures": {"medium": (9.0, 0.0)},
    "report": {"medium": (3.0, 0.0)},
    "verdict": {"medium": (0.5, 0.0)},
    "benchmarks": {"medium": (0.5, 0.0)},
}
#: More seconds of a job of all cases, for each case; of figures and report up to as many cases as
#: are shown one by one.
PER_CASE = {"collate": 0.1, "figures": 0.8, "report": 0.2}
SHOWN, MOST_SHOWN = ("figures", "report"), 60
#: What Snakemake takes to start, and for each job besides, in seconds.
STARTING, EACH = 4.0, 0.3
#: What a job of cases takes to import what it computes with, in seconds.
IMPORTS = 1.2
#: A job that this table does not know.
UNKNOWN = 2.0


def shipped_seconds(rule: str, resolution: str, rates: int, cases: int = 1) -> float:
    """Seconds of a job from the shipped table.

    Parameters
    ----------
    rule : str
        Name of the rule, of a flow with its model: ``flow-estimate``.
    resolution : str
        ``coarse``, ``medium`` or ``fine``.
    rates, cases : int
        Number of flow rates and of cases.
    """
    sizes = SECONDS.get(rule)
    if sizes is None:
        return UNKNOWN
    fixed, each = sizes.get(resolution, sizes["medium"])
    if rule in SHOWN:
        cases = min(cases, MOST_SHOWN)
    return fixed + each * rates + PER_CASE.get(rule, 0.0) * cases
