"""The turbulent flow of each case, unless the study asks for the laminar alone; its validation."""


rule closure:
    input:
        bore=rules.mesh.output.bore,
        air=input_of_air,
    output:
        results=result("cases/{case}/closure.json"),
        fields=directory(result("cases/{case}/closure")),
        meshes=[
            result(f"cases/{{case}}/mesh/turbulent-{level}.msh") for level in range(2)
        ],
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


rule closure_validation:
    output:
        checks="results/validation/closure.csv",
        segments="results/validation/closure_nozzle.csv",
        figures=directory("results/validation/closure_figures"),
        meshes=directory("results/validation/closure_meshes"),
    log:
        "results/validation/logs/closure_validation.log",
    benchmark:
        "results/validation/benchmarks/closure_validation.tsv"
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=2000,
        runtime=60,
    params:
        source=source_hash("borestudy.stages.closure_validation"),
    script:
        "../scripts/closure_validation.py"
