"""A published measurement, computed as a study: ``snakemake validation``, whatever the study.

Not a part of every study, since it asks nothing of the study's own bores or mesh settings.
"""

BENCHMARK = "configs/nozzle-benchmark"


rule solve_validation:
    input:
        study=workflow.source_path(f"../../{BENCHMARK}.yaml"),
        stations=workflow.source_path(f"../../{BENCHMARK}.csv"),
    output:
        results="results/validation/flow.json",
        bore="results/validation/bore.json",
    log:
        "results/validation/logs/solve_validation.log",
    benchmark:
        "results/validation/benchmarks/solve_validation.tsv"
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=2000,
        runtime=30,
    params:
        source=source_hash("borestudy.stages.validation"),
    script:
        "../scripts/solve_validation.py"


rule validation:
    input:
        results=rules.solve_validation.output.results,
        bore=rules.solve_validation.output.bore,
    output:
        table="results/validation/validation.csv",
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
