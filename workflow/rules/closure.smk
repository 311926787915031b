"""The turbulent flow of each case, unless the study asks for the laminar alone; its validation."""

#: Families of flows that the closure is held against (`borestudy.validation`).
CLOSURE_FLOWS = ["pipe", "entry", "widening", "nozzle", "bores"]


rule closure:
    input:
        bore=rules.mesh.output.bore,
        air=input_of_air,
    output:
        results=result("cases/{case}/closure.json"),
        fields=directory(result("cases/{case}/closure")),
        meshes=mesh_files(TURBULENT.names),
    log:
        log_file("closure", "{case}"),
    benchmark:
        benchmark_file("closure", "{case}")
    priority: 4
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1500,
        runtime=60,
    params:
        rates_m3_per_s=[float(rate) for rate in STUDY.flow_rates()],
        inlet=STUDY.flow.inlet,
        pipe_behind_m=float(STUDY.pipe_behind()),
        resolution=STUDY.mesh.resolution,
        source=source_hash("borestudy.stages.closure"),
    script:
        "../scripts/closure.py"


rule solve_closure_validation:
    output:
        results="results/validation/closure/{flow}.json",
        meshes=directory("results/validation/closure/meshes-{flow}"),
    log:
        "results/validation/logs/closure_validation-{flow}.log",
    benchmark:
        "results/validation/benchmarks/closure_validation-{flow}.tsv"
    wildcard_constraints:
        flow=r"\w+",
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=3500,
        runtime=60,
    params:
        source=source_hash(
            "borestudy.stages.closure_validation",
            without=["borestudy.validation.figures"],
        ),
    script:
        "../scripts/solve_closure_validation.py"


rule closure_validation:
    input:
        [f"results/validation/closure/{flow}.json" for flow in CLOSURE_FLOWS],
    output:
        checks="results/validation/closure.csv",
        segments="results/validation/closure_nozzle.csv",
        figures=directory("results/validation/closure_figures"),
    log:
        "results/validation/logs/closure_validation.log",
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=1000,
        runtime=5,
    params:
        source=source_hash("borestudy.stages.closure_validation"),
    script:
        "../scripts/closure_validation.py"
