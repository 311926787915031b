"""The steady flow of each case."""


rule flow:
    input:
        bore=rules.mesh.output.bore,
        meshes=rules.mesh.output.laminar,
        air=input_of_air,
    output:
        results=result("cases/{case}/flow.json"),
        fields=directory(result("cases/{case}/flow")),
    log:
        log_file("flow", "{case}"),
    benchmark:
        benchmark_file("flow", "{case}")
    # The longest jobs first, so that none is left alone at the end.
    priority: 5
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
        tolerance=STUDY.flow.tolerance.value,
        source=source_hash("borestudy.stages.flow"),
    script:
        "../scripts/flow.py"
