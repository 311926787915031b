"""The program against measurements and handbooks: ``snakemake validation``, whatever the study.

Not a part of every study, since it asks nothing of the study's own bores or mesh settings.
"""

#: Families of flows, each a job of its own (`borestudy.validation.VALIDATIONS`).
VALIDATIONS = [
    "pipe",
    "entry",
    "orifices",
    "widening",
    "nozzle-estimate",
    "nozzle-laminar",
    "nozzle-turbulent",
    "reversed-nozzle",
    "playing",
    "bores",
]


rule solve_validation:
    output:
        results="results/validation/flows/{flow}.json",
        meshes=directory("results/validation/flows/meshes-{flow}"),
    log:
        "results/validation/logs/solve_validation-{flow}.log",
    benchmark:
        "results/validation/benchmarks/solve_validation-{flow}.tsv"
    wildcard_constraints:
        flow=r"[a-z-]+",
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=3500,
        runtime=60,
    params:
        source=source_hash(
            "borestudy.stages.validation",
            without=["borestudy.validation.figures"],
        ),
    script:
        "../scripts/solve_validation.py"


rule validation:
    input:
        [f"results/validation/flows/{flow}.json" for flow in VALIDATIONS],
    output:
        checks="results/validation/checks.csv",
        nozzle="results/validation/nozzle.csv",
        errors="results/validation/model_error.csv",
        places="results/validation/place.csv",
        differences="results/validation/differences.txt",
        figures=directory("results/validation/figures"),
    log:
        "results/validation/logs/validation.log",
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1000,
        runtime=5,
    params:
        source=source_hash("borestudy.stages.validation"),
    script:
        "../scripts/validation.py"
