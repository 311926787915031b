"""The turbulent flow of each case, where the study asks for both solutions; its validation."""


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
        resolution=STUDY.mesh.resolution,
        source=source_hash("borestudy.stages.closure"),
    script:
        "../scripts/closure.py"


rule solutions:
    input:
        flow=of_all_cases("flow.json"),
        closure=of_all_cases("closure.json"),
    output:
        table=result("closure.csv"),
    log:
        log_file("solutions"),
    conda:
        "../envs/borestudy.yaml"
    threads: 1
    resources:
        mem_mb=500,
        runtime=5,
    params:
        cases=list(CASES),
        source=source_hash("borestudy.stages.solutions"),
    script:
        "../scripts/solutions.py"


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
